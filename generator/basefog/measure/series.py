"""A series in, findings out: measure every test, set each against the reference, and retests against the replaced.

Every function is pure; nothing here reads a file. The order of work, and who hands what to whom:

1. `measure_work(test, series)` for each test: the curve and its own measures (`curve_fit`, `speed`, `contrast`).
2. With the `Work` of the reference's current test in hand (None where all are withdrawn), the modules of the bracket,
   the print and the development add theirs; each takes `Work`s and the series and returns quantities by measure id.
3. `pool_scatter` over all tests, then the verdicts and the movements (`verdicts`).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from basefog.measure.curve_fit import NoCurve, fit_test_curve
from basefog.measure.curve_measures import measure_curve, tabulate_curve
from basefog.measure.intervals import missing
from basefog.measure.scatter import pool_scatter
from basefog.measure.speed import measure_speed_from_reference
from basefog.measure.verdicts import compare_measures, compare_with_reference, why_tests_differ
from basefog.measure.work import Work
from basefog.records.content import Series, Test
from basefog.records.findings import Comparison, Findings, Quantity, Scatter, StepFinding, TestFindings
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES

WHY_NOT = {
    "speed_from_reference": "the reference has no current test",
    "shadow_match": "no bracket was read",
    "print_exposure": "no exposure of the reference's print is known",
    "rms_granularity": "no calibrated negative scan",
    "grain_correlation": "no calibrated negative scan",
    "print_graininess": "no calibrated print scan",
    "mtf50": "no calibrated negative scan of the edge",
    "print_shadow_contrast": "no paper curve is given",
    "print_middle_contrast": "no paper curve is given",
    "print_highlight_contrast": "no paper curve is given",
    "matching_time": "no test of other development times",
}
"""Why a measure that no module has added is missing."""


def measure_series(series: Series) -> Findings:
    """Return the findings of a whole series: every test of every stock, by `stock/test`."""
    works = {test.key: measure_work(test, series) for stock in series.stocks for test in stock.tests}
    current = series.reference_stock.current_test
    reference = None if current is None else works[current.key]
    measures = {key: _complete(work, reference) for key, work in works.items()}
    scatter = pool_scatter(series.stocks, measures, [measure.id for measure in MEASURES])
    whole = _Whole(series=series, works=works, reference=reference, measures=measures, scatter=scatter)
    return Findings(
        tests={key: whole.find(work) for key, work in works.items()},
        reference=None if reference is None else reference.test.key,
        scatter=scatter,
    )


def measure_work(test: Test, series: Series) -> Work:
    """Return a test with its fitted curve and the measures of that curve alone."""
    fitted = fit_test_curve(test, series)
    curve, why = (None, fitted.why) if isinstance(fitted, NoCurve) else (fitted, None)
    return Work(test=test, curve=curve, curve_why=why, measures=measure_curve(curve, why))


def _complete(work: Work, reference: Work | None) -> dict[str, Quantity]:
    """Return every measure of the contract, in its order; those that nothing gave carry why."""
    found = dict(work.measures)
    if reference is not None:
        found["speed_from_reference"] = _speed_from_reference(work, reference)
    return {
        name: found.get(name) or missing(WHY_NOT.get(name, "it was not measured"), measure.unit)
        for name, measure in MEASURE_BY_ID.items()
    }


def _speed_from_reference(work: Work, reference: Work) -> Quantity:
    if work.test.key == reference.test.key and work.measures["speed_point"].value is not None:
        return Quantity(value=0.0, low=0.0, high=0.0, unit="stops", note="the reference itself")
    return measure_speed_from_reference(
        work.curve, work.measures["speed_point"], reference.curve, reference.measures["speed_point"]
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Whole:
    """All tests of a series while their findings are put together: what verdicts and movements look up."""

    series: Series
    works: Mapping[str, Work]
    reference: Work | None
    measures: Mapping[str, Mapping[str, Quantity]]
    scatter: Mapping[str, Scatter]

    def find(self, work: Work) -> TestFindings:
        """Return the findings of one test."""
        test, reference = work.test, self.reference
        own = self.measures[test.key]
        of_reference = None if reference is None else self.measures[reference.test.key]
        return TestFindings(
            stock=test.stock,
            test=test.id,
            current=self.series.stock(test.stock).current == test.id,
            reference=None if reference is None else reference.test.key,
            measures=own,
            against_reference=compare_with_reference(work, reference, own, of_reference, self.scatter),
            curve=None if work.curve is None else tabulate_curve(work.curve),
            curve_why=work.curve_why,
            steps=_list_steps(test),
            frames=(),
            patches={},
            movement=self.movement(work),
        )

    def movement(self, work: Work) -> dict[str, Comparison]:
        """Return new less old for a test that replaces another; empty where it replaces none."""
        if work.test.replaces is None:
            return {}
        replaced = self.works[f"{work.test.stock}/{work.test.replaces}"]
        return compare_measures(
            self.measures[work.test.key],
            self.measures[replaced.test.key],
            self.scatter,
            axes_differ=why_tests_differ(work, replaced),
        )


def _list_steps(test: Test) -> tuple[StepFinding, ...]:
    if test.wedge is None:
        return ()
    return tuple(
        StepFinding(
            step=step.step,
            log_exposure=step.log_exposure,
            density=float(np.mean(step.readings)),
            readings=len(step.readings),
        )
        for step in test.wedge.steps
        if step.readings
    )
