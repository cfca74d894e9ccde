"""Grain and sharpness of a series' scans: what is measured of which scan, and what each test's scans showed together.

`plan_scan_work` says what is to be measured from a scan, `scan_work` measures it, `gather_figures` puts together what
was seen of each test, or why nothing was. Nothing here knows a reading.
"""

import math
from collections.abc import Sequence

from basefog.picture.scan_use import ScanUse
from basefog.picture.texture.scan_work import ScanSeen, ScanWork
from basefog.picture.views import PixelBox, box_on_scan, choose_scan, first_scan
from basefog.records.content import Scan, Series, Test, View
from basefog.records.scan_figures import GrainFigures, NotSeen, TestFigures
from basefog.records.vocabulary import ViewShows, ViewSubject
from basefog.scanfiles import Region

MOST_PX = 4_000_000
"""Largest area that is measured: thousands of apertures, and a bound for the time and room that it takes (project)."""


def plan_scan_work(use: ScanUse, scan: Scan) -> ScanWork | None:
    """Return what is to be measured from a scan of a test, None where it shows nothing that is measured.

    A test's grain is measured in every view of the series that shows grain, its sharpness in the first view of the
    negative that shows it: the same views for every stock. Where a view lies on a scan its registration says. Of a view
    beyond `MOST_PX` the middle is measured.

    Arguments: `use`, what the test has of the scan; `scan`, that of the use as it is registered.
    """
    boxes = ((view, box_on_scan(view, scan, use.first)) for view in use.views)
    regions = [(view, _region_of(box)) for view, box in boxes if box is not None]
    grain = tuple((view.id, region) for view, region in regions if view.shows == "grain")
    edge = next((region for view, region in regions if view.id == use.edge), None)
    if not grain and edge is None:
        return None
    return ScanWork(
        seed=use.seed,
        of=scan.of,
        code_density=scan.code_density,
        pixels_per_mm=scan.pixels_per_mm,
        grain=grain,
        edge=edge,
        magnification=use.magnification,
        lossy=use.lossy,
    )


def choose_edge_view(series: Series) -> View | None:
    """Return the view whose sharpness is measured: the first of the negative that shows it."""
    return next(iter(_views(series, "negative", "sharpness")), None)


def gather_figures(series: Series, seen: Sequence[tuple[str, ScanSeen]]) -> dict[str, TestFigures]:
    """Return by test what all its scans showed, and of what they did not, why.

    Arguments: `series`, its scans registered; `seen`, what each scan showed, with the key of its test.
    """
    of_test: dict[str, list[ScanSeen]] = {}
    for key, scan in seen:
        of_test.setdefault(key, []).append(scan)
    tests = (test for stock in series.stocks for test in stock.tests)
    return {test.key: _figures_of(test, of_test.get(test.key, []), series) for test in tests}


def _grain_views(series: Series, of: ViewSubject) -> tuple[View, ...]:
    """Return the views that show grain of the negative, or of the print."""
    return _views(series, of, "grain")


def _views(series: Series, of: ViewSubject, shows: ViewShows) -> tuple[View, ...]:
    return tuple(view for view in series.views if (view.of, view.shows) == (of, shows))


def _figures_of(test: Test, seen: Sequence[ScanSeen], series: Series) -> TestFigures:
    edge_view = choose_edge_view(series)
    edge_views = () if edge_view is None else (edge_view,)
    edge = next((scan.edge for scan in seen if scan.edge is not None), None)
    return TestFigures(
        grain=_grain_of(test, seen, series, "negative"),
        print_grain=_grain_of(test, seen, series, "print"),
        edge=edge or NotSeen(why=_why_nothing(test, edge_views, series, "negative", "sharpness")),
    )


def _grain_of(
    test: Test, seen: Sequence[ScanSeen], series: Series, of: ViewSubject
) -> tuple[GrainFigures, ...] | NotSeen:
    """Return what the scans of one kind showed of grain, in the order of the views, or why there is nothing."""
    views = _grain_views(series, of)
    by_view = {one.view: one for scan in seen for one in scan.grain}
    grain = tuple(by_view[view.id] for view in views if view.id in by_view)
    return grain or NotSeen(why=_why_nothing(test, views, series, of, "grain"))


def _find_view(test: Test, view: View, series: Series) -> tuple[Scan | None, PixelBox | None]:
    """Return the scan that shows a view, and where the whole of it lies there: not only what is published of it."""
    scan = choose_scan(test, view)
    if scan is None:
        return None, None
    return scan, box_on_scan(view, scan, first_scan(series.reference_stock.current_test, view))


def _region_of(box: PixelBox) -> Region:
    """Return a box as a region, of a larger one the middle part of its shape that has so many pixels."""
    left, top, width, height = box
    share = min(1.0, math.sqrt(MOST_PX / (width * height)))
    across, down = max(1, int(width * share)), max(1, int(height * share))
    return Region(
        left_px=left + (width - across) // 2, top_px=top + (height - down) // 2, width_px=across, height_px=down
    )


def _why_nothing(test: Test, views: Sequence[View], series: Series, of: ViewSubject, shows: ViewShows) -> str:
    if not any(scan.of == of for scan in test.scans):
        return f"no {of} was scanned"
    if not views:
        return f"no view of the {of} shows {shows}"
    if all(_find_view(test, view, series)[1] is None for view in views):
        return f"the view {views[0].id} was not found on the scan"
    return "it was not measured"
