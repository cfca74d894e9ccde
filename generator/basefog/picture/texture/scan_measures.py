"""Grain and sharpness of a series: what is measured of which scan, and how that is put among the findings.

`plan_scan_work` says what is to be measured from a scan, `scan_work` measures it, `put_into_findings` puts all of it
into the findings, against the reference and against the replaced test.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from basefog.measure.intervals import missing, not_measured
from basefog.measure.scatter import pool_scatter
from basefog.measure.verdicts import compare_measures
from basefog.picture.regions import Region
from basefog.picture.texture.scan_work import ScanFindings, ScanWork
from basefog.picture.views import PixelBox, box_on_scan, choose_scan, first_scan
from basefog.records.content import Scan, Series, Test, View
from basefog.records.findings import Comparison, Findings, Quantity, Scatter, TestFindings
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES

SCAN_MEASURES = ("rms_granularity", "grain_correlation", "print_graininess", "mtf50")

LOSSY_ENDINGS = (".jpg", ".jpeg", ".webp")

MOST_PX = 4_000_000
"""Largest area that is measured: thousands of apertures, and a bound for the time and room that it takes (project)."""

GROWTH_WITH_DENSITY = 0.85
"""d log sigma / d log D of opaque discs dropped at random, at D = 1.0 (from their exact variance)."""

WHY_DENSITIES = (
    "read at net densities of {} and {}: granularity grows with density, and they differ by no more than that may make"
)
"""Why two granularities have no verdict, for their two densities."""


def plan_scan_work(test: Test, scan: Scan, series: Series, findings: Findings) -> ScanWork | None:
    """Return what is to be measured from a scan of a test, None where it shows nothing that is measured.

    A test's grain is measured in the first view of the series that shows grain, of the negative and of the print
    each, its sharpness in the first view of the negative that shows it: the same views for every stock. Where a view
    lies on a scan its registration says, so that the test's scans have to be registered. Of a view beyond
    `MOST_PX` the middle is measured.
    """
    regions: dict[str, Region] = {}
    for view in _measured_views(series):
        chosen, box = _find_view(test, view, series)
        if chosen is not None and chosen.path == scan.path and box is not None:
            regions[view.shows] = _region_of(box)
    return _work_of(test, scan, series, findings, regions) if regions else None


def put_into_findings(series: Series, findings: Findings, measured: Sequence[tuple[str, ScanFindings]]) -> Findings:
    """Return findings with the scans' measures, their verdicts, their movements, and the scatter of repeats in both.

    Arguments: `measured`, what each scan showed, with the key of its test.
    """
    tests = {key: _say_why_not(test, series, findings.tests[key]) for key, test in _tests_of(series).items()}
    for key, scan in measured:
        tests[key] = _put_scan(tests[key], scan)
    measures = {key: {name: test.measures[name] for name in SCAN_MEASURES} for key, test in tests.items()}
    scatter = {**findings.scatter, **pool_scatter(series.stocks, measures, SCAN_MEASURES)}
    replaces = {key: test.replaces for key, test in _tests_of(series).items()}
    return replace(
        findings,
        tests={key: _judge(test, measures, scatter, replaces[key]) for key, test in tests.items()},
        scatter={measure.id: scatter[measure.id] for measure in MEASURES if measure.id in scatter},
    )


def _measured_views(series: Series) -> tuple[View, ...]:
    """Return the first view of each kind that is measured."""
    kinds = (("negative", "grain"), ("negative", "sharpness"), ("print", "grain"))
    first = [next((view for view in series.views if (view.of, view.shows) == kind), None) for kind in kinds]
    return tuple(view for view in first if view is not None)


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


def _work_of(test: Test, scan: Scan, series: Series, findings: Findings, regions: Mapping[str, Region]) -> ScanWork:
    of_print = scan.of == "print"
    return ScanWork(
        seed=test.key,
        of=scan.of,
        width_px=scan.width_px,
        height_px=scan.height_px,
        code_density=scan.code_density,
        pixels_per_mm=scan.pixels_per_mm,
        grain=regions.get("grain"),
        edge=regions.get("sharpness"),
        base_density=_white_of_paper(series) if of_print else findings.tests[test.key].measures["base_plus_fog"].value,
        magnification=series.enlarging.magnification if of_print else None,
        lossy=scan.path.lower().endswith(LOSSY_ENDINGS),
    )


def _white_of_paper(series: Series) -> float | None:
    """Return the least density of the series' paper, None where it has no curve or there are several."""
    name = series.enlarging.paper
    papers = [paper for key, paper in sorted(series.papers.items()) if name in {None, key}]
    return float(papers[0].density.min()) if len(papers) == 1 else None


def _tests_of(series: Series) -> dict[str, Test]:
    return {test.key: test for stock in series.stocks for test in stock.tests}


def _say_why_not(test: Test, series: Series, found: TestFindings) -> TestFindings:
    """Return a test's findings with the measures of scans missing, each for its own reason."""
    views: dict[tuple[str, str], View] = {(view.of, view.shows): view for view in _measured_views(series)}
    whys = {
        name: _why_no_region(test, views.get((of, shows)), series, of, shows)
        for name, of, shows in (
            ("rms_granularity", "negative", "grain"),
            ("grain_correlation", "negative", "grain"),
            ("print_graininess", "print", "grain"),
            ("mtf50", "negative", "sharpness"),
        )
    }
    return _with_measures(found, {name: missing(why, MEASURE_BY_ID[name].unit) for name, why in whys.items()})


def _why_no_region(test: Test, view: View | None, series: Series, of: str, shows: str) -> str:
    if not any(scan.of == of for scan in test.scans):
        return f"no {of} was scanned"
    if view is None:
        return f"no view of the {of} shows {shows}"
    if _find_view(test, view, series)[1] is None:
        return f"the view {view.id} was not found on the scan"
    return "it was not measured"


def _put_scan(test: TestFindings, scan: ScanFindings) -> TestFindings:
    put = _with_measures(test, scan.measures)
    return replace(
        put,
        spectrum=scan.spectrum or test.spectrum,
        edge_response=scan.edge_response or test.edge_response,
    )


def _with_measures(test: TestFindings, measures: Mapping[str, Quantity]) -> TestFindings:
    return replace(test, measures={name: measures.get(name, quantity) for name, quantity in test.measures.items()})


def _judge(
    test: TestFindings,
    measures: Mapping[str, Mapping[str, Quantity]],
    scatter: Mapping[str, Scatter],
    replaced: str | None,
) -> TestFindings:
    """Return a test's findings with the verdicts and movements of its scans' measures."""
    own = measures[test.key]
    against: Mapping[str, Comparison] = {}
    if test.reference is None:
        why = "the reference has no current test: all its tests are withdrawn"
        against = {name: not_measured(why, quantity.unit) for name, quantity in own.items()}
    elif test.reference != test.key:
        against = compare_scan_measures(own, measures[test.reference], scatter)
    movement = {} if replaced is None else compare_scan_measures(own, measures[f"{test.stock}/{replaced}"], scatter)
    return replace(
        test,
        against_reference=_in_order({**test.against_reference, **against}),
        movement=_in_order({**test.movement, **movement}),
    )


def compare_scan_measures(
    own: Mapping[str, Quantity], others: Mapping[str, Quantity], scatter: Mapping[str, Scatter]
) -> dict[str, Comparison]:
    """Return this less other; a granularity whose verdict hangs on the densities of the two views has none.

    Granularity grows with net density, by its square root where grains hardly overlap (H. Siedentopf 1937)
    and by its 0.85th power at 1.0 for opaque discs. A verdict that would turn if the other were brought to this one's
    density by the latter is not given (project).
    """
    plain = compare_measures(own, others, scatter)
    brought = {name: _bring_to_density(others[name], own[name].at_density) for name in others}
    turned = compare_measures(own, brought, scatter)
    return {
        name: comparison
        if comparison.verdict == turned[name].verdict
        else not_measured(
            WHY_DENSITIES.format(f"{own[name].at_density:.2f}", f"{others[name].at_density:.2f}"),
            comparison.unit,
        )
        for name, comparison in plain.items()
    }


def _bring_to_density(quantity: Quantity, density: float | None) -> Quantity:
    if density is None or quantity.at_density is None or quantity.value is None:
        return quantity
    factor = (density / quantity.at_density) ** GROWTH_WITH_DENSITY
    low, high = (None if end is None else end * factor for end in (quantity.low, quantity.high))
    return replace(quantity, value=quantity.value * factor, low=low, high=high)


def _in_order(comparisons: Mapping[str, Comparison]) -> dict[str, Comparison]:
    return {measure.id: comparisons[measure.id] for measure in MEASURES if measure.id in comparisons}
