"""One pass over the scans of a series: each is decoded once, and all that is made of it is made while it is open.

A scan is made small, laid on the reference's, its views are planned, its grain and sharpness measured and its pictures
encoded; then it is closed, and what is left of it is a dozen numbers, its figures, and small files that go to whoever
keeps them. The reference's scans come first, for the others are laid on them. The pass knows no reading: what is stated
at a net density is made of its figures afterwards. It comes before planning, because which views a test has must be
known before any page is planned, and hangs on the pixels: a scan that can't be aligned has no view.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path

from basefog.picture.cuts import encode_cut, region_of_cut
from basefog.picture.registration import Reference, make_reference
from basefog.picture.registration_of_scans import find_counterpart, register_scan, remarks_of_views, views_of_scan
from basefog.picture.sketches import Sketch, read_sketch
from basefog.picture.texture import (
    ScanSeen,
    ScanWork,
    gather_figures,
    measure_regions,
    plan_scan_work,
    regions_of_work,
)
from basefog.picture.views import ViewPlan, first_scan, plan_view
from basefog.records.content import Scan, Series, Test, View
from basefog.records.problem import Place, Problem, problem_at
from basefog.records.scan_figures import TestFigures
from basefog.scanfiles import OpenedScan, open_scan

Check = Callable[[Scan], None]
"""Called before a scan is opened; stops the pass by raising."""

Keep = Callable[[Test, str, bytes], None]
"""Takes an encoded picture: of which test, its view and suffix, its bytes."""

Progress = Callable[[int, int], None]
"""Told how many scans are done, of how many."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SeenScans:
    """What the scans showed: the series with registrations and remarks, and by `stock/test` grain and sharpness.

    `problems` are of scans whose pixels can't be read; what hangs on them is then missing from the other two.
    """

    series: Series
    figures: Mapping[str, TestFigures]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Use:
    """What one test has of a scan file; `counterpart` is the reference's scan that it still has to be laid on."""

    test: Test
    scan: Scan
    views: tuple[View, ...]
    counterpart: Scan | None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Task:
    """What is made of a scan for one test: views to cut, and what to measure."""

    test: Test
    plans: tuple[ViewPlan, ...]
    work: ScanWork | None


@dataclass(kw_only=True, slots=True)
class _Found:
    """What the pass has found so far: references by path, registered scans by test and path."""

    references: dict[str, Reference] = field(default_factory=dict)
    scans: dict[tuple[str, str], Scan] = field(default_factory=dict)
    measured: list[tuple[str, ScanSeen]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def see_scans(
    series: Series,
    series_folder: Path,
    *,
    check: Check | None = None,
    keep: Keep | None = None,
    progress: Progress | None = None,
) -> SeenScans:
    """Return the series as its scans lie, and what they show; each scan that shows anything is decoded once.

    Args:
        series: as read. Scans that carry a registration already are not laid on the reference's again.
        series_folder: where the scans' paths begin.
        check: called with each scan before it is opened.
        keep: takes the pictures as they are made; None where none is wanted, and then none is encoded.
        progress: told after each scan.

    Raises what `check` and `keep` raise, NoScratchError where a large scan's codes can't be kept.
    """
    files = _list_files(series)
    firsts = {use.counterpart.path for uses in files for use in uses if use.counterpart is not None}
    # What shows no view, and has nothing laid on it, is left alone.
    files = [uses for uses in files if uses[0].scan.path in firsts or any(use.views for use in uses)]
    found = _Found()
    for done, uses in enumerate(files, 1):
        scan = uses[0].scan
        if check is not None:
            check(scan)
        try:
            _see_file(uses, series, series_folder, found, is_first=scan.path in firsts, keep=keep)
        except (ValueError, OSError) as error:
            found.problems.append(
                problem_at(Place(path=scan.path), str(error), "Save the scan again as TIFF or PNG, or scan it anew.")
            )
        if progress is not None:
            progress(done, len(files))
    return _put_together(series, found)


def _list_files(series: Series) -> list[tuple[_Use, ...]]:
    """Return all scan files, each with all its uses: the reference's first, then in the series' order."""
    reference = series.reference_stock.current_test
    tests = [test for stock in series.stocks for test in stock.tests]
    tests.sort(key=lambda test: test is not reference)
    files: dict[str, list[_Use]] = {}
    for test in tests:
        for scan in test.scans:
            counterpart = None if scan.registration is not None else find_counterpart(test, scan, reference, series)
            views = views_of_scan(test, scan, series)
            files.setdefault(scan.path, []).append(_Use(test=test, scan=scan, views=views, counterpart=counterpart))
    return [tuple(uses) for uses in files.values()]


def _see_file(
    uses: tuple[_Use, ...],
    series: Series,
    folder: Path,
    found: _Found,
    *,
    is_first: bool,
    keep: Keep | None,
) -> None:
    scan = uses[0].scan
    # Where the reference's scan was unreadable there is nothing to lay others on.
    is_laid = any(use.counterpart is not None and use.counterpart.path in found.references for use in uses)
    is_kept = is_first or is_laid
    size = {"width_px": scan.width_px, "height_px": scan.height_px}
    with open_scan(folder / scan.path, **size, is_kept=is_kept) as opened:
        sketch = read_sketch(opened) if is_kept else None
        if is_first and sketch is not None:
            found.references[scan.path] = make_reference(sketch)
        tasks = [_plan(_register(use, sketch, found), use, series) for use in uses]
        _carry_out(tasks, opened, found, keep)


def _register(use: _Use, sketch: Sketch | None, found: _Found) -> Scan:
    if use.counterpart is None or sketch is None or use.counterpart.path not in found.references:
        return use.scan
    reference = found.references[use.counterpart.path]
    registration = register_scan(reference, sketch, scan=use.scan, reference_scan=use.counterpart)
    scan = replace(use.scan, registration=registration)
    found.scans[use.test.key, scan.path] = scan
    return scan


def _plan(scan: Scan, use: _Use, series: Series) -> _Task:
    reference = series.reference_stock.current_test
    plans = (plan_view(scan, first_scan(reference, view), view) for view in use.views)
    test = replace(use.test, scans=tuple(scan if one.path == scan.path else one for one in use.test.scans))
    return _Task(
        test=test,
        plans=tuple(plan for plan in plans if plan is not None),
        work=plan_scan_work(test, scan, series),
    )


def _carry_out(tasks: list[_Task], opened: OpenedScan, found: _Found, keep: Keep | None) -> None:
    """Read region after region, measure some of them, encode the others; none is held longer than it is needed."""
    measured = [region for task in tasks if task.work is not None for region in regions_of_work(task.work)]
    cut = [region_of_cut(plan) for task in tasks for plan in task.plans]
    regions = opened.read([*measured, *cut])
    for task in tasks:
        if task.work is not None:
            count = len(regions_of_work(task.work))
            codes = (region.codes for region in islice(regions, count))
            found.measured.append((task.test.key, measure_regions(codes, task.work)))
    for task in tasks:
        for plan in task.plans:
            read = next(regions)
            if keep is not None:
                for name, data in encode_cut(plan, read).items():
                    keep(task.test, name, data)


def _put_together(series: Series, found: _Found) -> SeenScans:
    reference = series.reference_stock.current_test

    def registered(test: Test) -> Test:
        return replace(test, scans=tuple(found.scans.get((test.key, scan.path), scan) for scan in test.scans))

    stocks = tuple(replace(stock, tests=tuple(map(registered, stock.tests))) for stock in series.stocks)
    seen = replace(series, stocks=stocks)
    told = set(_remarks_of(seen, reference)) if reference is not None else set()
    remarks = tuple(sorted({*series.remarks, *told}, key=lambda remark: remark.sort_key))
    seen = replace(seen, remarks=remarks)
    return SeenScans(
        series=seen,
        figures=gather_figures(seen, found.measured),
        problems=tuple(sorted(found.problems, key=lambda problem: problem.sort_key)),
    )


def _remarks_of(series: Series, reference: Test) -> Iterator[Problem]:
    for stock in series.stocks:
        for test in stock.tests:
            yield from remarks_of_views(test, reference, series)
