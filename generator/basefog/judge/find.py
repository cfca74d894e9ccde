"""From a series, and what its scans showed, to its findings: measuring, then judging."""

from collections.abc import Mapping
from dataclasses import replace

from basefog.judge.groups import current_group
from basefog.judge.series import judge_series
from basefog.measure import Measure, measure_grain_of_test, measure_here, measure_series, spectrum_of_test
from basefog.measure.resampling import NORMAL_FACTOR
from basefog.records.content import Series
from basefog.records.findings import ErrorParts, Findings, MeasuredTest, Quantity, ScannedTest
from basefog.records.scan_figures import EdgeSharpness, NotSeen, TestFigures

NO_SCANS = TestFigures(
    grain=NotSeen(why="no negative was scanned"),
    print_grain=NotSeen(why="no print was scanned"),
    edge=NotSeen(why="no negative was scanned"),
)
"""What the scans of a test without any show."""


def find_findings(series: Series, figures: Mapping[str, TestFigures], *, measure: Measure = measure_here) -> Findings:
    """Return the findings of a whole series.

    Arguments: `figures`, what the scans showed, by `stock/test`; a test that is not among them has none; `measure`, who
    measures the readings, as in `measure_series`.
    """
    group = current_group(series.reference_stock)
    current = series.reference_stock.current_test
    ordered = tuple(sorted(group, key=lambda test: (test != current, test.id)))
    measured = measure_series(series, ordered, measure)
    white = _white_of_paper(series)
    scanned = {key: _scan(test, figures.get(key, NO_SCANS), white) for key, test in measured.items()}
    return judge_series(series, measured, scanned)


def _scan(test: MeasuredTest, figures: TestFigures, paper_white: float | None) -> ScannedTest:
    base = test.measures["base_plus_fog"].value
    found = measure_grain_of_test(figures, base_density=base, paper_white=paper_white)
    return ScannedTest(
        measures={name: _with_parts(quantity) for name, quantity in found.items()},
        spectrum=spectrum_of_test(figures, base_density=base),
        edge_response=figures.edge.response if isinstance(figures.edge, EdgeSharpness) else None,
    )


def _with_parts(quantity: Quantity) -> Quantity:
    """Return a figure of a scan with its sampling error, which no other test shares, as its only part."""
    if quantity.half_width is None or quantity.parts is not None:
        return quantity
    return replace(quantity, parts=ErrorParts(unshared=(quantity.half_width / NORMAL_FACTOR) ** 2))


def _white_of_paper(series: Series) -> float | None:
    """Return the least density of the series' paper, None where it has no curve or there are several."""
    name = series.enlarging.paper
    papers = [paper for key, paper in sorted(series.papers.items()) if name in {None, key}]
    return float(papers[0].density.min()) if len(papers) == 1 else None
