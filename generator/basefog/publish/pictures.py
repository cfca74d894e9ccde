"""The pictures of a site and what the scans show, made in one pass over the scans."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from basefog.picture import NoScratchError, SeenScans, ViewPlan, plan_views, see_scans
from basefog.publish.addresses import address_of_view
from basefog.records.content import Scan, Series, Test
from basefog.records.problem import Problem
from basefog.records.scan_figures import TestFigures
from basefog.site import InputPath, NoRoom, Progress, PublishError, Steps, check_input


class UnreadableScan(PublishError):  # noqa: N818
    """The pixels of scans can't be decoded, though their headers can be read."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        told = (
            (f"{one.path}:{one.line}:{one.column}: {one.level}: {one.message}", f"    {one.mend}") for one in problems
        )
        super().__init__(*(line for lines in told for line in lines))


def check_scans(series: Series, series_folder: Path, *, progress: Progress | None = None) -> SeenScans:
    """Return what the scans show, and what is wrong with them; no picture is made.

    Raises ContentChanged where a scan is no longer the one that was read, NoRoom where a large one can't be kept.
    """
    return _see(series, series_folder, None, {}, progress)


@dataclass(frozen=True, kw_only=True, slots=True)
class PicturesSeen:
    """What the scans showed, and their pictures: the sha256 by address, kept in the store of the steps."""

    series: Series
    figures: Mapping[str, TestFigures]
    pictures: Mapping[str, str]


def make_pictures(
    series: Series, series_folder: Path, steps: Steps, *, progress: Progress | None = None
) -> PicturesSeen:
    """Return what the scans show, and the pictures of all views.

    Raises ContentChanged where a scan is no longer the one that was read, UnreadableScan where pixels can't be read
    (their size was, from the header), NoRoom where pictures can't be kept.
    """
    pictures: dict[str, str] = {}
    seen = _see(series, series_folder, steps, pictures, progress)
    if seen.problems:
        raise UnreadableScan(seen.problems)
    return PicturesSeen(series=seen.series, figures=seen.figures, pictures=pictures)


def _see(
    series: Series,
    series_folder: Path,
    steps: Steps | None,
    pictures: dict[str, str],
    progress: Progress | None,
) -> SeenScans:
    def check(scan: Scan) -> None:
        check_input(scan.path, InputPath(path=str(series_folder / scan.path), sha256=scan.sha256))

    def keep(test: Test, name: str, data: bytes) -> None:
        if steps is not None:
            pictures[address_of_view(test, name, "")] = steps.store.put_file(data) or ""

    try:
        return see_scans(
            series, series_folder, check=check, keep=keep if steps is not None else None, progress=progress
        )
    except NoScratchError as error:
        raise NoRoom(str(error)) from error


def plan_all_views(series: Series) -> dict[str, tuple[ViewPlan, ...]]:
    """Return the views of every test by `stock/test`, each against the reference's current test."""
    reference = series.reference_stock.current_test
    return {test.key: plan_views(test, reference, series.views) for stock in series.stocks for test in stock.tests}
