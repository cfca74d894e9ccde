"""Grain and sharpness of a series: which scans are measured, and how what they show is put among the findings.

`plan_scan_work` says what is to be measured from which scan, `scan_work.measure_scan` measures one, `put_into_findings`
puts all of it into the findings, against the reference and against the replaced test. `measure_scans` is the three in
one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from basefog.measure.intervals import missing, not_measured
from basefog.measure.scatter import pool_scatter
from basefog.measure.verdicts import compare_measures
from basefog.picture.texture.scan_work import Region, ScanFindings, ScanWork, measure_scan
from basefog.picture.views import ViewPlan, pixel_box, plan_views
from basefog.records.content import Scan, Series, Test
from basefog.records.findings import Comparison, Findings, Quantity, Scatter, TestFindings
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES

SCAN_MEASURES = ("rms_granularity", "grain_correlation", "print_graininess", "mtf50")


@dataclass(frozen=True, kw_only=True, slots=True)
class PlannedScan:
    """One scan of one test, and what is to be measured from it. `test` is `stock/test`."""

    test: str
    scan: Scan
    work: ScanWork


def measure_scans(series: Series, findings: Findings, series_folder: Path) -> Findings:
    """Return findings with what the series' calibrated scans show of grain and sharpness.

    Raises ValueError where a scan can't be decoded.
    """
    planned = plan_scan_work(series, findings)
    found = [measure_scan(series_folder / one.scan.path, one.work) for one in planned]
    return put_into_findings(series, findings, planned, found)


def plan_scan_work(series: Series, findings: Findings) -> tuple[PlannedScan, ...]:
    """Return what is to be measured from which scan, in the series' order; no file is opened.

    A test's grain is measured in the first view of the series that shows grain, of the negative and of the print
    each, its sharpness in the first view of the negative that shows it: the same views for every stock.
    """
    reference = series.reference_stock.current_test
    planned = []
    for test in (test for stock in series.stocks for test in stock.tests):
        chosen = _choose_plans(plan_views(test, reference, series.views))
        for scan in test.scans:
            grain, edge = (_region_of(chosen.get((scan.of, shows)), scan) for shows in ("grain", "sharpness"))
            if grain is not None or edge is not None:
                work = _work_of(test, scan, series, findings, grain=grain, edge=edge)
                planned.append(PlannedScan(test=test.key, scan=scan, work=work))
    return tuple(planned)


def put_into_findings(
    series: Series, findings: Findings, planned: tuple[PlannedScan, ...], found: list[ScanFindings]
) -> Findings:
    """Return findings with the scans' measures, their verdicts, their movements, and the scatter of repeats in both.

    Arguments: `found`, one for each of `planned`, in its order.
    """
    tests = {key: _say_why_not(test, series, findings.tests[key]) for key, test in _tests_of(series).items()}
    for one, scan in zip(planned, found, strict=True):
        tests[one.test] = _put_scan(tests[one.test], scan)
    measures = {key: {name: test.measures[name] for name in SCAN_MEASURES} for key, test in tests.items()}
    scatter = {**findings.scatter, **pool_scatter(series.stocks, measures, SCAN_MEASURES)}
    replaces = {key: test.replaces for key, test in _tests_of(series).items()}
    return replace(
        findings,
        tests={key: _judge(test, measures, scatter, replaces[key]) for key, test in tests.items()},
        scatter={measure.id: scatter[measure.id] for measure in MEASURES if measure.id in scatter},
    )


def find_whole_box(plan: ViewPlan) -> Region:
    """Return the whole box of a view about the centre of what is published of it.

    The published cut is bounded in size; what is measured is not. The centre is the plan's, so that a view which was
    found elsewhere on this scan is measured there.
    """
    scan, view = plan.scan, plan.view
    _, _, width, height = pixel_box(scan.boxes.get(view.id, view.box), scan.width_px, scan.height_px)
    left = plan.left_px + plan.width_px // 2 - width // 2
    top = plan.top_px + plan.height_px // 2 - height // 2
    left, top = max(left, 0), max(top, 0)
    return Region(
        left_px=left,
        top_px=top,
        width_px=min(width, scan.width_px - left),
        height_px=min(height, scan.height_px - top),
    )


def _choose_plans(plans: tuple[ViewPlan, ...]) -> dict[tuple[str, str], ViewPlan]:
    chosen: dict[tuple[str, str], ViewPlan] = {}
    for plan in plans:
        chosen.setdefault((plan.view.of, plan.view.shows), plan)
    return chosen


def _region_of(plan: ViewPlan | None, scan: Scan) -> Region | None:
    return find_whole_box(plan) if plan is not None and plan.scan.path == scan.path else None


def _work_of(
    test: Test, scan: Scan, series: Series, findings: Findings, *, grain: Region | None, edge: Region | None
) -> ScanWork:
    of_print = scan.of == "print"
    return ScanWork(
        seed=test.key,
        of=scan.of,
        width_px=scan.width_px,
        height_px=scan.height_px,
        code_density=scan.code_density,
        pixels_per_mm=scan.pixels_per_mm,
        grain=grain,
        edge=None if of_print else edge,
        base_density=_white_of_paper(series) if of_print else findings.tests[test.key].measures["base_plus_fog"].value,
        magnification=series.enlarging.magnification if of_print else None,
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
    negatives = [scan for scan in test.scans if scan.of == "negative"]
    prints = [scan for scan in test.scans if scan.of == "print"]
    shown = {(view.of, view.shows) for view in series.views}
    no_negative = "no negative was scanned"
    grain = "no view of the negative shows grain" if negatives else no_negative
    edge = "no view of the negative shows sharpness" if negatives else no_negative
    if prints and ("print", "grain") not in shown:
        of_print = "no view of the print shows grain"
    else:
        of_print = "no print was scanned"
    whys = {"rms_granularity": grain, "grain_correlation": grain, "print_graininess": of_print, "mtf50": edge}
    return _with_measures(found, {name: missing(why, MEASURE_BY_ID[name].unit) for name, why in whys.items()})


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
        against = compare_measures(own, measures[test.reference], scatter)
    movement = {} if replaced is None else compare_measures(own, measures[f"{test.stock}/{replaced}"], scatter)
    return replace(
        test,
        against_reference=_in_order({**test.against_reference, **against}),
        movement=_in_order({**test.movement, **movement}),
    )


def _in_order(comparisons: Mapping[str, Comparison]) -> dict[str, Comparison]:
    return {measure.id: comparisons[measure.id] for measure in MEASURES if measure.id in comparisons}
