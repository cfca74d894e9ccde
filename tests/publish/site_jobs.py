"""The jobs of a whole site, its scans looked at first, as the commands do it."""

from pathlib import Path

from basefog.publish import KeptPictures, make_pictures, plan_site
from basefog.records.content import Series
from basefog.records.findings import Findings
from basefog.site.job import Job

THEME = Path(__file__).parents[2] / "themes" / "neutral"


def plan_whole_site(series: Series, findings: Findings, series_folder: Path, scratch: Path) -> tuple[Job, ...]:
    """Return every job of a site with the findings as given; its pictures are kept in a new folder `scratch`."""
    scratch.mkdir(parents=True)
    pictures = KeptPictures(scratch)
    seen = make_pictures(series, series_folder, pictures)
    return plan_site(seen.series, findings, pictures=pictures, series_folder=series_folder, theme_folder=THEME)
