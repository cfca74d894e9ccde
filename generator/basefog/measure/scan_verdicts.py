"""What scans showed, put among the findings of readings: measures, verdicts and movements of grain and sharpness."""

from collections.abc import Mapping
from dataclasses import replace

from basefog.measure.grain import SCAN_MEASURES, measure_grain_of_test, spectrum_of_test
from basefog.measure.intervals import not_measured
from basefog.measure.scatter import pool_scatter
from basefog.measure.verdicts import compare_measures
from basefog.records.content import Series
from basefog.records.findings import Comparison, Findings, Quantity, Scatter, TestFindings
from basefog.records.scan_figures import EdgeSharpness, TestFigures
from basefog.records.vocabulary import MEASURES


def put_into_findings(series: Series, findings: Findings, figures: Mapping[str, TestFigures]) -> Findings:
    """Return findings with the scans' measures, their verdicts, their movements, and the scatter of repeats in both.

    Arguments: `findings` of the readings; `figures` by `stock/test`, what the scans showed.
    """
    white = paper_white(series)
    tests = {key: _put(found, figures[key], white) for key, found in findings.tests.items()}
    measures = {key: {name: test.measures[name] for name in SCAN_MEASURES} for key, test in tests.items()}
    scatter = {**findings.scatter, **pool_scatter(series.stocks, measures, SCAN_MEASURES)}
    replaces = {test.key: test.replaces for stock in series.stocks for test in stock.tests}
    return replace(
        findings,
        tests={key: _judge(test, measures, scatter, replaces[key]) for key, test in tests.items()},
        scatter={measure.id: scatter[measure.id] for measure in MEASURES if measure.id in scatter},
    )


def paper_white(series: Series) -> float | None:
    """Return the least density of the series' paper, None where it has no curve or there are several."""
    name = series.enlarging.paper
    papers = [paper for key, paper in sorted(series.papers.items()) if name in {None, key}]
    return float(papers[0].density.min()) if len(papers) == 1 else None


def _put(test: TestFindings, figures: TestFigures, white: float | None) -> TestFindings:
    """Return a test's findings with the measures and curves of its scans, in the order that they had."""
    base = test.measures["base_plus_fog"].value
    measures = measure_grain_of_test(figures, base_density=base, paper_white=white)
    return replace(
        test,
        measures={name: measures.get(name, quantity) for name, quantity in test.measures.items()},
        spectrum=spectrum_of_test(figures, base_density=base),
        edge_response=figures.edge.response if isinstance(figures.edge, EdgeSharpness) else None,
    )


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
