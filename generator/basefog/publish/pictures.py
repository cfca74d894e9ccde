"""The pictures of a site, and what else the scans of its series show: one step a scan file."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from basefog.picture import SeenScans, ViewPlan, plan_views, put_together
from basefog.picture.scan_uses import UsedScan, list_used_scans
from basefog.picture.texture.scan_measures import MOST_PX
from basefog.publish.addresses import address_of_view
from basefog.publish.scan_steps import LIBRARIES, ROOMS, ScanFileKept, ScanSource, do_scan_step
from basefog.records.content import Series
from basefog.records.problem import Problem
from basefog.records.scan_figures import TestFigures
from basefog.records.vocabulary import ViewSubject
from basefog.site import InputPath, Progress, PublishError
from basefog.site.digest import digest_of_code
from basefog.site.steps import Step, Steps

_WORK_BYTES: Final = 95_000_000
_MEASURED_PX_BYTES: Final = 55
_HELD_BYTES: Final = 64_000_000
_WHOLE_PX_BYTES: Final[Mapping[str, int]] = {".jpg": 2, ".jpeg": 2, ".webp": 5}
"""Estimates: beside the codes; of a measured pixel; codes in memory at most; what is decoded whole, of a pixel."""


class UnreadableScan(PublishError):  # noqa: N818
    """The pixels of scans can't be decoded, though their headers can be read."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        told = (
            (f"{one.path}:{one.line}:{one.column}: {one.level}: {one.message}", f"    {one.mend}") for one in problems
        )
        super().__init__(*(line for lines in told for line in lines))


@dataclass(frozen=True, kw_only=True, slots=True)
class PicturesSeen:
    """What the scans showed: the series as they lie, figures by `stock/test`, and all pictures of views.

    `pictures` are by address the sha256 that the steps' store keeps each under.
    """

    series: Series
    figures: Mapping[str, TestFigures]
    pictures: Mapping[str, str]


def check_scans(series: Series, series_folder: Path, steps: Steps, *, progress: Progress | None = None) -> SeenScans:
    """Return what the scans show, and what is wrong with them; no picture is made.

    Raises ContentChanged where a scan is no longer the one that was read, NoRoom where a large one can't be kept.
    """
    return _seen(series, _see(series, series_folder, steps, encode=False, progress=progress))


def make_pictures(
    series: Series, series_folder: Path, steps: Steps, *, progress: Progress | None = None
) -> PicturesSeen:
    """Return what the scans show, and the pictures of all views, which the steps' store then has.

    Raises ContentChanged where a scan is no longer the one that was read, UnreadableScan where pixels can't be read
    (their size was, from the header), NoRoom where pictures can't be kept.
    """
    made = _see(series, series_folder, steps, encode=True, progress=progress)
    seen = _seen(series, made)
    if seen.problems:
        raise UnreadableScan(seen.problems)
    tests = {test.key: test for stock in series.stocks for test in stock.tests}
    pictures = {
        address_of_view(tests[key], name, ""): sha256
        for used, kept in made
        for key, pictures in zip(used.tests, kept.pictures, strict=True)
        for name, sha256 in pictures.items()
    }
    return PicturesSeen(series=seen.series, figures=seen.figures, pictures=pictures)


def plan_all_views(series: Series) -> dict[str, tuple[ViewPlan, ...]]:
    """Return the views of every test by `stock/test`, each against the reference's current test."""
    reference = series.reference_stock.current_test
    return {test.key: plan_views(test, reference, series.views) for stock in series.stocks for test in stock.tests}


def step_of_scan(
    used: UsedScan, folder: Path, references: Mapping[ViewSubject, InputPath], *, encode: bool
) -> Step[ScanFileKept]:
    """Return the step of one scan file; `references` are the kept files of what it is laid on, by kind."""
    return Step(
        name=used.path,
        call=do_scan_step,
        inputs={
            "source": ScanSource(name=used.path, file=InputPath(path=str(folder / used.path), sha256=used.sha256)),
            "width_px": used.width_px,
            "height_px": used.height_px,
            "uses": used.uses,
            "references": {of: references[of] for of in sorted(used.firsts) if of in references},
            "is_first": used.is_first,
            "encode": encode,
        },
        result=ScanFileKept,
        code=digest_of_code(ROOMS, LIBRARIES),
        peak_bytes=estimate_peak_bytes(used),
    )


def estimate_peak_bytes(used: UsedScan) -> int:
    """Return about how much memory a scan's step needs at its peak, beside the process itself."""
    pixels = used.width_px * used.height_px
    codes = min(_HELD_BYTES, pixels * -(-used.bits // 8))
    whole = pixels * _WHOLE_PX_BYTES.get(Path(used.path).suffix.lower(), 0)
    boxes = (use.scan.boxes.get(view.id, view.box) for use in used.uses for view in use.views if view.shows != "tone")
    measured = max((min(MOST_PX, pixels * box.w * box.h) for box in boxes), default=0)
    work = _WORK_BYTES + int(_MEASURED_PX_BYTES * measured)
    if used.is_first or used.firsts:
        # Its codes are kept, and what was decoded whole is gone before it is looked at.
        return codes + max(whole, work)
    return whole + work


_Made = list[tuple[UsedScan, ScanFileKept]]


def _seen(series: Series, made: _Made) -> SeenScans:
    return put_together(series, ((used, kept.uses if kept.problem is None else kept.problem) for used, kept in made))


def _see(series: Series, folder: Path, steps: Steps, *, encode: bool, progress: Progress | None) -> _Made:
    """Do the step of every scan file, first of those that others are laid on."""
    scans = list_used_scans(series)
    total = len(scans)
    loose, bound = [scan for scan in scans if not scan.firsts], [scan for scan in scans if scan.firsts]

    def do(part: Sequence[UsedScan], references: Mapping[ViewSubject, InputPath], before: int) -> _Made:
        planned = (_choose_step(scan, folder, references, steps, encode=encode) for scan in part)
        made: _Made = []
        for kept in steps.run(planned, files_of=lambda kept: kept.files if encode else kept.files_for_others):
            made.append((part[len(made)], kept))
            if progress is not None:
                progress(before + len(made), total)
        return made

    made = do(loose, {}, 0)
    if not all(steps.store.get_file(sha256) for _, kept in made for sha256 in kept.files_for_others):
        # A damaged one is gone from the store once it was read, and is made again.
        made = do(loose, {}, 0)
    pyramids = {used.path: kept.pyramid for used, kept in made if kept.pyramid is not None}
    firsts = {of: path for scan in bound for of, path in scan.firsts.items()}
    references = {of: _kept_file(steps, pyramids[path]) for of, path in firsts.items() if path in pyramids}
    return made + do(bound, references, len(made))


def _choose_step(
    scan: UsedScan, folder: Path, references: Mapping[ViewSubject, InputPath], steps: Steps, *, encode: bool
) -> Step[ScanFileKept]:
    """Return the step that makes pictures where they are wanted, or were made before."""
    whole = step_of_scan(scan, folder, references, encode=True)
    if encode or steps.store.get(steps.key_of(whole)) is not None:
        return whole
    return step_of_scan(scan, folder, references, encode=False)


def _kept_file(steps: Steps, sha256: str) -> InputPath:
    return InputPath(path=str(steps.store.path_of_file(sha256)), sha256=sha256)
