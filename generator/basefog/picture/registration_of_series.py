"""Registers the scans of a whole series: which need it, one after another, and what the tester is told of it.

This is a step of its own between reading and planning. Which views a test has, and in which sizes, must be known
before any page is planned, and both hang on the pixels: a scan that can't be aligned has no view. So the scans are
looked at first, small, and the series comes back with each scan's registration in its record; planning then stays
what it was, a pure function of the records. `register_scan` is the unit of work: it depends on two files and two
records alone, so that its result may be kept by their digests, and its result is a dozen numbers.

A scan is read once more when its views are cut. Of a negative that is a few strips or tiles of the file (`regions`);
a print's views of tone need all of it, in a compressed file for a second time. The other way, cutting at once what
was just decoded, would hold every picture of the site in memory until it is written, and keep the work from the jobs.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from basefog.picture.registration import Reference, align_sketch, make_reference
from basefog.picture.sketches import Sketch, read_sketch
from basefog.picture.views import choose_scan, first_scan, needs_registration, nominal_ratio, plan_view
from basefog.records.content import Scan, Series, Test
from basefog.records.problem import Problem, remark_at
from basefog.records.registration import Alignment, Refusal


def register_series(series: Series, series_folder: Path) -> Series:
    """Return the series with every scan registered that has to be, and with remarks on what was found.

    Scans that carry a registration already are left as they are; one that can't be decoded is left without, for
    cutting it will tell.
    """
    reference = series.reference_stock.current_test
    if reference is None:
        return series
    references: dict[str, Reference | None] = {}

    def register(test: Test) -> Test:
        return _register_test(test, reference, series, series_folder, references)

    stocks = tuple(replace(stock, tests=tuple(map(register, stock.tests))) for stock in series.stocks)
    told = {remark for stock in stocks for test in stock.tests for remark in remarks_of_views(test, reference, series)}
    remarks = sorted({*series.remarks, *told}, key=lambda remark: remark.sort_key)
    return replace(series, stocks=stocks, remarks=tuple(remarks))


def register_scan(reference: Reference, path: Path, *, scan: Scan, reference_scan: Scan) -> Alignment | Refusal:
    """Return how one scan lies against the reference's. Raises ValueError or OSError where it can't be decoded."""
    return align_sketch(reference, _read(path, scan), scan_px_per_reference_px=nominal_ratio(scan, reference_scan))


def remarks_of_views(test: Test, reference: Test, series: Series) -> Iterator[Problem]:
    """Tell which views of a test are missing and why, and what its scans are that the reference's are not."""
    for scan in test.scans:
        waiting = [
            view
            for view in series.views
            if choose_scan(test, view) == scan and needs_registration(view, scan, first_scan(reference, view))
        ]
        if not waiting or scan.registration is None:
            continue
        found = scan.registration
        name = scan.path.removeprefix(f"stocks/{test.key}/")
        if isinstance(found, Alignment) and (found.is_inverted or found.is_mirrored):
            yield _remark_of_side(scan, name, found)
        missing = [view.id for view in waiting if plan_view(scan, first_scan(reference, view), view) is None]
        if missing:
            why = found.message if isinstance(found, Refusal) else "does not show all of them"
            listed = ", ".join(missing)
            yield remark_at(
                scan.place,
                f"scan {name} {why}; missing views: {listed}",
                f"Scan it again as the reference's was, or give each box by hand below 'file: {name}': "
                f"views: {{{missing[0]}: [x, y, w, h]}}, as fractions of this scan's width and height.",
            )


def _remark_of_side(scan: Scan, name: str, found: Alignment) -> Problem:
    if found.is_mirrored:
        what = "mirrored" + (", and light and dark are exchanged" if found.is_inverted else "")
        mend = "Scan it from the other side; its views are turned round as they are cut."
    else:
        what, mend = "light and dark exchanged", "Scan it with the same setting; its views show what was scanned."
    return remark_at(scan.place, f"scan {name} is {what} against the reference's", mend)


def _register_test(
    test: Test, reference: Test, series: Series, folder: Path, references: dict[str, Reference | None]
) -> Test:
    chosen = {}
    for view in series.views:
        scan, first = choose_scan(test, view), first_scan(reference, view)
        if scan is not None and first is not None and needs_registration(view, scan, first):
            chosen[scan.path] = first
    scans = tuple(
        _register(scan, chosen[scan.path], folder, references)
        if scan.path in chosen and scan.registration is None
        else scan
        for scan in test.scans
    )
    return replace(test, scans=scans)


def _register(scan: Scan, first: Scan, folder: Path, references: dict[str, Reference | None]) -> Scan:
    if first.path not in references:
        references[first.path] = _read_reference(folder / first.path, first)
    reference = references[first.path]
    if reference is None:
        return scan
    try:
        return replace(scan, registration=register_scan(reference, folder / scan.path, scan=scan, reference_scan=first))
    except (ValueError, OSError):
        return scan


def _read(path: Path, scan: Scan) -> Sketch:
    return read_sketch(path, width_px=scan.width_px, height_px=scan.height_px)


def _read_reference(path: Path, scan: Scan) -> Reference | None:
    try:
        return make_reference(_read(path, scan))
    except (ValueError, OSError):
        return None
