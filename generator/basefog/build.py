"""The whole way from a content folder to a site, for commands, preview and tests alike."""

import gc
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final

from basefog.bundled import bundled_folder
from basefog.site import (
    FileIndex,
    KeptLost,
    Progress,
    PublishReport,
    Steps,
    check_target,
    compute_origin,
    find_standing_site,
    room_of,
)
from basefog.telling import format_problem

if TYPE_CHECKING:
    from basefog.records.content import Series
    from basefog.records.findings import Findings
    from basefog.records.problem import Problem

CACHE: Final = "BASEFOG_CACHE"
"""Environment variable that names the folder where results are kept; beside the site where it is not set."""

LIBRARIES: Final = (
    "imagecodecs",
    "jinja2",
    "markdown",
    "markupsafe",
    "matplotlib",
    "nh3",
    "numpy",
    "opencv-python-headless",
    "pillow",
    "rjsmin",
    "scipy",
)
"""What the files of a site hang on beside this program."""

_COLLECT_AFTER: Final = (100_000, 20, 100)

ShowProgress = Callable[[str], AbstractContextManager[Progress | None]]
"""Given what is being done, gives what is told how far it is."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Built:
    """What a build came to: the report of the publish, None where the content has problems and nothing was made.

    `stands` where there was nothing to do.
    """

    report: PublishReport | None
    stands: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class How:
    """How a build is done; none of it shows in the site.

    `cache` is where results are kept, beside the site where it is None; `processes` how many work at once, as many as
    there are cores where it is None; `afresh`: every file is read, whatever is known of it. `tell` is given the
    problems and remarks as they are found, `warn` lines about the cache, `progress` what is being done.
    """

    cache: Path | None = None
    processes: int | None = None
    afresh: bool = False
    tell: Callable[[Iterable["Problem"]], None] = lambda _: None
    warn: Callable[[str], None] = lambda _: None
    progress: ShowProgress = lambda _: nullcontext()


def cache_of_environment(environment: Mapping[str, str] = os.environ) -> Path | None:
    """Return the folder that BASEFOG_CACHE names, or None."""
    named = environment.get(CACHE)
    return Path(named) if named else None


def build(series_folder: Path, site: Path, how: How) -> Built:
    """Read a series, compute it, and replace the site whole, or not at all; do nothing where nothing has changed.

    Raises what `publish_site` raises, UnreadableScan, and ThemeError.
    """
    with _collecting_rarely():
        return _build(series_folder, site, how)


@contextmanager
def _collecting_rarely() -> Iterator[None]:
    """Let Python look for waste in circles less often: a series is large, and almost none of it is waste."""
    usual = gc.get_threshold()
    gc.set_threshold(*_COLLECT_AFTER)
    try:
        yield
    finally:
        gc.set_threshold(*usual)


def _build(series_folder: Path, site: Path, how: How) -> Built:
    theme = bundled_folder("themes") / "neutral"
    # An unsafe target is told before the work, not after it.
    room = room_of(check_target(site, series_folder))
    with _open_index(how.cache / "files.json" if how.cache else room.index, afresh=how.afresh) as index:

        def origin() -> str | None:
            return compute_origin((series_folder, theme), index)

        made_from = origin()
        if made_from is not None:
            standing = find_standing_site(site, series_folder=series_folder, origin=made_from, index=index)
            if standing is not None:
                return Built(report=standing, stands=True)
        work = _Work(
            series_folder=series_folder,
            site=site,
            theme=theme,
            index=index,
            how=how,
            origin=lambda: made_from if origin() == made_from else None,
        )
        return work.do(how.cache / "kept" if how.cache else room.kept)


@contextmanager
def _open_index(path: Path, *, afresh: bool) -> Iterator[FileIndex]:
    index = FileIndex.load(path, afresh=afresh)
    try:
        yield index
    finally:
        index.save()


@dataclass(frozen=True, kw_only=True, slots=True)
class _Work:
    """One build that has something to do."""

    series_folder: Path
    site: Path
    theme: Path
    index: FileIndex
    how: How
    origin: Callable[[], str | None]
    told: "list[Problem]" = field(default_factory=list)

    def do(self, kept: Path) -> Built:
        """Read, and make the site of it; once more where what was kept was lost meanwhile."""
        from basefog.read import read_series
        from basefog.site import open_steps

        reading = read_series(self.series_folder, digest_of=self.index.digest)
        self._tell(reading.problems)
        if reading.series is None:
            return Built(report=None)
        with open_steps(kept, processes=self.how.processes, report=self.how.warn) as steps:
            try:
                return Built(report=self._make(reading.series, steps))
            except KeptLost:
                # Where one file was damaged others may be.
                steps.store.check_files()
                return Built(report=self._make(reading.series, steps))

    def _make(self, series: "Series", steps: Steps) -> PublishReport:
        from basefog.judge import find_findings
        from basefog.publish import STATES, make_pictures, measure_by, plan_site
        from basefog.site import InputPath, digest_of_code, publish_site

        with self.how.progress("looking at scans") as progress:
            seen = make_pictures(series, self.series_folder, steps, progress=progress)
        findings = find_findings(seen.series, seen.figures, measure=measure_by(steps))
        # Reading has told its own; what registration and the numbers show comes after.
        self._tell(all_remarks(seen.series, findings))
        jobs = plan_site(
            seen.series,
            findings,
            pictures={
                address: InputPath(path=str(steps.store.path_of_file(sha256)), sha256=sha256)
                for address, sha256 in seen.pictures.items()
            },
            series_folder=self.series_folder,
            theme_folder=self.theme,
        )
        with self.how.progress("publishing") as progress:
            return publish_site(
                jobs,
                self.site,
                series_folder=self.series_folder,
                steps=steps,
                code=digest_of_code(("",), LIBRARIES, digest_file=self.index.digest),
                files=seen.pictures,
                index=self.index,
                address=series.address,
                states=STATES,
                origin=self.origin,
                told=[format_problem(problem) for problem in self.told],
                progress=progress,
            )

    def _tell(self, problems: "Iterable[Problem]") -> None:
        known = set(self.told)
        new = [problem for problem in problems if problem not in known]
        self.told.extend(new)
        self.how.tell(new)


def check(series_folder: Path, how: How) -> "tuple[tuple[Problem, ...], tuple[str, ...]]":
    """Return every problem and remark of a series, and what repeats would settle, a line each."""
    from basefog.judge import find_findings
    from basefog.publish import check_scans, measure_by, say_repeats
    from basefog.read import read_series
    from basefog.site import open_steps

    reading = read_series(series_folder)
    if reading.series is None:
        return reading.problems, ()
    kept = how.cache / "kept" if how.cache else None
    with (
        how.progress("looking at scans") as progress,
        open_steps(kept, processes=how.processes, report=how.warn) as steps,
    ):
        seen = check_scans(reading.series, series_folder, steps, progress=progress)
        findings = find_findings(seen.series, seen.figures, measure=measure_by(steps))
    told = {*seen.problems, *all_remarks(seen.series, findings)}
    return tuple(sorted(told, key=lambda problem: problem.sort_key)), say_repeats(seen.series, findings)


def all_remarks(series: "Series", findings: "Findings") -> "tuple[Problem, ...]":
    """Return what was remarked of a series by reading, by registration and by its numbers, sorted by place."""
    from basefog.publish import remarks_of

    return tuple(sorted({*series.remarks, *remarks_of(series, findings)}, key=lambda remark: remark.sort_key))
