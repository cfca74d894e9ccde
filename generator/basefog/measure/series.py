"""A series in, findings out: measure every test, set each against the reference, and retests against the replaced.

The order of work; nothing here reads a file or computes a formula:

1. every test's curve and its own measures (`measure_work`);
2. what a test shows only beside others: bracket, print, development (`beside`);
3. the scatter of repeats over the whole series, then verdicts and movements, in which it counts.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from basefog.measure.batches import compare_batches
from basefog.measure.beside import Beside, Layout, judge_beside, lay_out, measure_beside
from basefog.measure.curve_fit import FittedCurve, NoCurve, fit_test_curve
from basefog.measure.curve_measures import measure_curve, remark_on_curve, tabulate_curve
from basefog.measure.intervals import missing, widen
from basefog.measure.resampling import DRAWS
from basefog.measure.scatter import pool_scatter
from basefog.measure.speed import measure_speed_from_reference
from basefog.measure.verdicts import compare_measures, compare_with_reference, why_tests_differ
from basefog.measure.work import Work
from basefog.records.content import Series, Test
from basefog.records.findings import Comparison, Findings, Quantity, Scatter, StepFinding, TestFindings
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES

WHY_NOT = {
    "rms_granularity": "no calibrated negative scan",
    "grain_correlation": "no calibrated negative scan",
    "print_graininess": "no calibrated print scan",
    "mtf50": "no calibrated negative scan of the edge",
}
"""Why the measures of scans are missing here: the picturing room adds them where there is a scan."""


def measure_series(series: Series) -> Findings:
    """Return the findings of a whole series: every test of every stock, by `stock/test`."""
    works = {test.key: measure_work(test, series) for stock in series.stocks for test in stock.tests}
    current = series.reference_stock.current_test
    layout = lay_out(series, works, None if current is None else works[current.key])
    besides = {key: measure_beside(work, layout) for key, work in works.items()}
    measures = {key: _list_measures(work, layout.reference, besides[key]) for key, work in works.items()}
    scatter = pool_scatter(series.stocks, measures, [measure.id for measure in MEASURES])
    stops = {key: beside.stops_from_grey for key, beside in besides.items()}
    whole = _Whole(
        layout=layout,
        besides=besides,
        measures={key: _widen_comparative(found, scatter) for key, found in measures.items()},
        scatter=scatter,
        patch_scatter=pool_scatter(series.stocks, stops, [patch.id for patch in series.patches]),
    )
    return Findings(
        tests={key: whole.find(work) for key, work in works.items()},
        reference=None if layout.reference is None else layout.reference.test.key,
        batches=compare_batches(series.batches),
        scatter=scatter,
        patch_scatter=whole.patch_scatter,
    )


def measure_work(test: Test, series: Series) -> Work:
    """Return a test with its fitted curve, its base plus fog, and the measures of the curve alone."""
    fitted = fit_test_curve(test, series)
    base = fitted.base_plus_fog
    return Work(
        test=test,
        curve=fitted if isinstance(fitted, FittedCurve) else None,
        curve_why=fitted.why if isinstance(fitted, NoCurve) else None,
        base_plus_fog=np.full(1 + DRAWS, np.nan) if base is None else base,
        measures=measure_curve(fitted),
    )


def _list_measures(work: Work, reference: Work | None, beside: Beside) -> dict[str, Quantity]:
    """Return every measure of the contract, in its order; those that can't be had here say why."""
    found = {
        **work.measures,
        **beside.measures,
        "speed_from_reference": _speed_from_reference(work, reference),
        **{name: missing(why, MEASURE_BY_ID[name].unit) for name, why in WHY_NOT.items()},
    }
    return {measure.id: found[measure.id] for measure in MEASURES}


def _speed_from_reference(work: Work, reference: Work | None) -> Quantity:
    point = work.measures["speed_point"]
    if reference is None:
        return missing("the reference has no current test: all its tests are withdrawn", "stops")
    if reference.test.key == work.test.key and point.value is not None:
        return Quantity(value=0.0, low=0.0, high=0.0, unit="stops", note="zero by definition: this is the reference")
    return measure_speed_from_reference(point, reference.measures["speed_point"], why_tests_differ(work, reference))


def _widen_comparative(measures: Mapping[str, Quantity], scatter: Mapping[str, Scatter]) -> dict[str, Quantity]:
    """Return the measures with the scatter of repeats in those that are themselves differences to the reference.

    What is zero by definition stays so.
    """
    return {
        name: widen(quantity, scatter.get(name))
        if MEASURE_BY_ID[name].comparative and quantity.low != quantity.high
        else quantity
        for name, quantity in measures.items()
    }


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Whole:
    """All of a series while its findings are put together: what verdicts and movements look up, by test key."""

    layout: Layout
    besides: Mapping[str, Beside]
    measures: Mapping[str, Mapping[str, Quantity]]
    scatter: Mapping[str, Scatter]
    patch_scatter: Mapping[str, Scatter]

    def find(self, work: Work) -> TestFindings:
        """Return the findings of one test."""
        test, reference, beside = work.test, self.layout.reference, self.besides[work.test.key]
        of_reference = None if reference is None else self.measures[reference.test.key]
        return TestFindings(
            stock=test.stock,
            test=test.id,
            current=self.layout.series.stock(test.stock).current == test.id,
            reference=None if reference is None else reference.test.key,
            measures=self.measures[test.key],
            against_reference=compare_with_reference(
                work, reference, self.measures[test.key], of_reference, self.scatter
            ),
            curve=None if work.curve is None else tabulate_curve(work.curve),
            curve_why=work.curve_why,
            steps=_list_steps(test),
            frames=beside.frames,
            patches=judge_beside(work, self.besides, self.layout, self.patch_scatter),
            movement=self.movement(work),
            tone_reproduction=beside.tone_reproduction,
            contrast_time=beside.contrast_time,
            remarks=remark_on_curve(work.curve) + beside.remarks,
        )

    def movement(self, work: Work) -> dict[str, Comparison]:
        """Return new less old for a test that replaces another; empty where it replaces none."""
        if work.test.replaces is None:
            return {}
        replaced = self.layout.works[f"{work.test.stock}/{work.test.replaces}"]
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
