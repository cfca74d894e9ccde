"""One scan file: decoded once, and all that is made of it is made while it is open.

It is made small, laid on the reference's, its views are planned, its grain and sharpness measured and its pictures
encoded; then it is closed, and what is left of it is a dozen numbers, its figures, and small files.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from basefog.picture.cuts import encode_cut, region_of_cut
from basefog.picture.registration import Pyramid, Reference, make_pyramid
from basefog.picture.registration_of_scans import register_scan
from basefog.picture.scan_use import ScanUse
from basefog.picture.sketches import Sketch, read_sketch
from basefog.picture.texture.scan_measures import plan_scan_work
from basefog.picture.texture.scan_work import ScanSeen, ScanWork, measure_regions, regions_of_work
from basefog.picture.views import ViewPlan, plan_view
from basefog.records.content import Scan
from basefog.records.registration import Alignment, Refusal
from basefog.records.vocabulary import ViewSubject
from basefog.scanfiles import OpenedScan, RegionCodes, open_scan

References = Mapping[ViewSubject, Reference]
"""The reference's scans that others are laid on, by kind; one that can't be read is not there."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class UseSeen:
    """What a scan file showed of one use: how it lies, where it had to be laid, and what was measured."""

    registration: Alignment | Refusal | None
    measured: ScanSeen | None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ScanFileSeen:
    """What was made of a scan file, by the order of its uses.

    `pictures` are encoded, by view id and suffix. `pyramid` is for laying others on it, None where it was not wanted.
    """

    uses: tuple[UseSeen, ...]
    pictures: tuple[Mapping[str, bytes], ...]
    pyramid: Pyramid | None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Task:
    """What is made of a scan for one use: views to cut, and what to measure."""

    scan: Scan
    plans: tuple[ViewPlan, ...]
    work: ScanWork | None


def see_scan_file(
    path: Path,
    *,
    width_px: int,
    height_px: int,
    uses: Sequence[ScanUse],
    references: References,
    is_first: bool,
    encode: bool,
) -> ScanFileSeen:
    """Return all that is made of a scan file; it is decoded once.

    Args:
        path: the scan.
        width_px: width that the upright scan is known to have.
        height_px: its height.
        uses: what is wanted of it.
        references: what its uses are laid on; where it is not there, the scan is taken as it lies.
        is_first: whether others are to be laid on it.
        encode: whether pictures are made; what they are made from is decoded in either case.

    Raises ValueError where the scan can't be decoded or is not of that size, OSError where it can't be read,
    NoScratchError where its codes can't be kept.
    """
    is_laid = any(use.is_to_lay and use.scan.of in references for use in uses)
    is_kept = is_first or is_laid
    with open_scan(path, width_px=width_px, height_px=height_px, is_kept=is_kept) as opened:
        sketch = read_sketch(opened) if is_kept else None
        tasks = [_plan(_register(use, sketch, references), use) for use in uses]
        measured, pictures = _carry_out(tasks, opened, encode=encode)
    return ScanFileSeen(
        uses=tuple(
            UseSeen(registration=task.scan.registration, measured=seen)
            for task, seen in zip(tasks, measured, strict=True)
        ),
        pictures=pictures,
        pyramid=make_pyramid(sketch) if is_first and sketch is not None else None,
    )


def _register(use: ScanUse, sketch: Sketch | None, references: References) -> Scan:
    if sketch is None or use.first is None or not use.is_to_lay or use.scan.of not in references:
        return use.scan
    found = register_scan(references[use.scan.of], sketch, scan=use.scan, reference_scan=use.first)
    return replace(use.scan, registration=found)


def _plan(scan: Scan, use: ScanUse) -> _Task:
    plans = (plan_view(scan, use.first, view) for view in use.views)
    return _Task(scan=scan, plans=tuple(plan for plan in plans if plan is not None), work=plan_scan_work(use, scan))


def _carry_out(
    tasks: Sequence[_Task], opened: OpenedScan, *, encode: bool
) -> tuple[list[ScanSeen | None], tuple[Mapping[str, bytes], ...]]:
    """Read region after region, measure some of them, encode the others; none is held longer than it is needed."""
    measured = [region for task in tasks if task.work is not None for region in regions_of_work(task.work)]
    cut = [region_of_cut(plan) for task in tasks for plan in task.plans]
    regions = opened.read([*measured, *cut])
    seen = [None if task.work is None else _measure(task.work, regions) for task in tasks]
    return seen, tuple(_encode(task.plans, regions, encode=encode) for task in tasks)


def _measure(work: ScanWork, regions: Iterator[RegionCodes]) -> ScanSeen:
    codes = (region.codes for region in islice(regions, len(regions_of_work(work))))
    return measure_regions(codes, work)


def _encode(plans: Sequence[ViewPlan], regions: Iterator[RegionCodes], *, encode: bool) -> dict[str, bytes]:
    """Return the files of views; where none are wanted the regions are read all the same, so that damage is seen."""
    made: dict[str, bytes] = {}
    for plan in plans:
        read = next(regions)
        if encode:
            made |= encode_cut(plan, read)
    return made
