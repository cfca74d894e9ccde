"""Which views a scan shows, how it is registered for them, and what the tester is told of it."""

from collections.abc import Iterator

from basefog.picture.registration import Reference, align_sketch
from basefog.picture.sketches import Sketch
from basefog.picture.views import choose_scan, first_scan, needs_registration, nominal_ratio, plan_view
from basefog.records.content import Scan, Series, Test, View
from basefog.records.problem import Problem, remark_at
from basefog.records.registration import Alignment, Refusal


def views_of_scan(test: Test, scan: Scan, series: Series) -> tuple[View, ...]:
    """Return the views of the series that are cut from a scan of a test."""
    chosen = ((view, choose_scan(test, view)) for view in series.views)
    return tuple(view for view, found in chosen if found is not None and found.path == scan.path)


def register_scan(reference: Reference, sketch: Sketch, *, scan: Scan, reference_scan: Scan) -> Alignment | Refusal:
    """Return how one scan lies against the reference's."""
    return align_sketch(
        reference,
        sketch,
        scan_px_per_reference_px=nominal_ratio(scan, reference_scan),
        sideways_px_per_reference_px=nominal_ratio(scan, reference_scan, is_sideways=True),
    )


def remarks_of_views(test: Test, reference: Test, series: Series) -> Iterator[Problem]:
    """Tell which views of a test are missing and why, and what its scans are that the reference's are not."""
    for scan in test.scans:
        views = views_of_scan(test, scan, series)
        waiting = [view for view in views if needs_registration(view, scan, first_scan(reference, view))]
        if not waiting or scan.registration is None:
            continue
        found = scan.registration
        name = scan.path.removeprefix(f"stocks/{test.key}/")
        if isinstance(found, Alignment) and (found.is_inverted or found.is_mirrored):
            yield _remark_of_side(scan, name, found)
        missing = [view.id for view in waiting if plan_view(scan, first_scan(reference, view), view) is None]
        if missing:
            refusal = found if isinstance(found, Refusal) else Refusal(message="does not show all of them")
            listed = ", ".join(missing)
            yield remark_at(
                scan.place,
                f"scan {name} {refusal.message}; missing views: {listed}",
                f"{refusal.mend}, or give each box by hand below 'file: {name}': "
                f"views: {{{missing[0]}: [x, y, w, h]}}, as fractions of this scan's width and height.",
            )


def _remark_of_side(scan: Scan, name: str, found: Alignment) -> Problem:
    if found.is_mirrored:
        what = "mirrored" + (", and light and dark are exchanged" if found.is_inverted else "")
        mend = "Scan it from the other side; its views are turned round as they are cut."
    else:
        what, mend = "light and dark exchanged", "Scan it with the same setting; its views show what was scanned."
    return remark_at(scan.place, f"scan {name} is {what} against the reference's", mend)
