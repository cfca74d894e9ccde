"""The jobs of a whole site, its scans looked at first, as the commands do it."""

from dataclasses import dataclass
from pathlib import Path

from basefog.publish import make_pictures, plan_site
from basefog.records.content import Series
from basefog.records.findings import Findings
from basefog.site import InputPath, PublishReport, Steps, publish_site
from basefog.site.job import Job
from basefog.site.pool import Pool
from basefog.site.store import Store
from small_sites import make_all

THEME = Path(__file__).parents[2] / "themes" / "neutral"


@dataclass(frozen=True, kw_only=True, slots=True)
class PlannedSite:
    """The jobs of a site, the sha256 of its pictures by address, and the steps whose store has those."""

    series: Series
    jobs: tuple[Job, ...]
    pictures: dict[str, str]
    steps: Steps

    @property
    def addresses(self) -> list[str]:
        """Return the address of every file."""
        return [*self.pictures, *(address for job in self.jobs for address in job.outputs)]

    def files(self) -> dict[str, bytes]:
        """Return every file by address."""
        pictures = {address: self.steps.store.get_file(sha256) for address, sha256 in self.pictures.items()}
        return {address: data for address, data in pictures.items() if data is not None} | make_all(self.jobs)

    def publish(self, target: Path, series_folder: Path) -> PublishReport:
        """Publish the site."""
        return publish_site(
            self.jobs,
            target,
            series_folder=series_folder,
            steps=self.steps,
            files=self.pictures,
            address=self.series.address,
        )


def steps_in(folder: Path) -> Steps:
    """Return steps that are done in this process and kept in a folder."""
    return Steps(Store(folder), Pool(workers=1, memory_bytes=0))


def plan_whole_site(series: Series, findings: Findings, series_folder: Path, kept: Path) -> PlannedSite:
    """Return all that a site is made of with the findings as given; its pictures are kept in a folder."""
    steps = steps_in(kept)
    seen = make_pictures(series, series_folder, steps)
    pictures = {
        address: InputPath(path=str(steps.store.path_of_file(sha256)), sha256=sha256)
        for address, sha256 in seen.pictures.items()
    }
    jobs = plan_site(seen.series, findings, pictures=pictures, series_folder=series_folder, theme_folder=THEME)
    return PlannedSite(series=series, jobs=jobs, pictures=dict(seen.pictures), steps=steps)
