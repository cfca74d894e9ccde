"""All tests of a series at once: figures in, findings out. The one place where verdicts are made.

The order of work: every figure is gathered, with the scatter of its measure and the means over repeats (`figures`);
every measure is judged over all stocks at once (`verdicts`); every test is told by what that found; retests and repeats
are set against the test before them.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from basefog.judge.comparative import NO_REFERENCE, why_curves_differ
from basefog.judge.compare import compare, not_measured
from basefog.judge.figures import SeriesFigures, gather_measures, gather_patches
from basefog.judge.groups import current_group, find_predecessor
from basefog.judge.patches import GREY_IS_ZERO, compare_with_eye
from basefog.judge.remarks import remark_on_contradictions
from basefog.judge.traits import ON_THE_AXIS, has_difference
from basefog.judge.verdicts import Judge, find_judge, rule_of
from basefog.measure import compare_batches
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import (
    Comparison,
    Findings,
    MeasuredTest,
    PatchFinding,
    ScannedTest,
    TestFindings,
)
from basefog.records.vocabulary import MEASURES


def judge_series(series: Series, measured: Mapping[str, MeasuredTest], scanned: Mapping[str, ScannedTest]) -> Findings:
    """Return the findings of a whole series.

    Arguments: what readings and scans gave, both by `stock/test`, for every test of the series.
    """
    measures, patches = gather_measures(series, measured, scanned), gather_patches(series, measured)
    names = [measure.id for measure in MEASURES if has_difference(measure.id)]
    judged_patches = [patch.id for patch in series.patches if patch.id != series.protocol.grey_patch]
    court = _Court(
        series=series,
        measured=measured,
        scanned=scanned,
        measures=measures,
        patches=patches,
        judges=_find_judges(series, measured, measures, names),
        patch_judges=_find_judges(series, measured, patches, judged_patches),
    )
    reference = series.reference_stock.current_test
    return Findings(
        tests={test.key: court.find(stock, test) for stock in series.stocks for test in stock.tests},
        reference=None if reference is None else reference.key,
        batches=compare_batches(series.batches),
        scatter=measures.scatter,
        patch_scatter=patches.scatter,
        factors={name: judge.factors for name, judge in court.judges.items()},
        patch_factors={name: judge.factors for name, judge in court.patch_judges.items()},
    )


def _find_judges(
    series: Series, measured: Mapping[str, MeasuredTest], figures: SeriesFigures, names: list[str]
) -> dict[str, Judge]:
    """Return what judges each measure or patch, empty without a reference."""
    reference = series.reference_stock.current_test
    if reference is None:
        return {}
    others = [
        (stock, current)
        for stock in series.stocks
        if stock.slug != reference.stock and (current := stock.current_test) is not None
    ]
    of_reference = measured[reference.key].curve
    judges: dict[str, Judge] = {}
    for name in names:
        at_reference = figures.of_stock(reference.stock, reference.key, name)
        if at_reference is None:
            continue
        of_stocks = {
            stock.slug: figure
            for stock, current in others
            if (figure := figures.of_stock(stock.slug, current.key, name)) is not None
            and not (name in ON_THE_AXIS and why_curves_differ(measured[current.key].curve, of_reference))
        }
        judges[name] = find_judge(name, of_stocks, at_reference, figures.scatter.get(name))
    return judges


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Court:
    """All that judging one test looks up."""

    series: Series
    measured: Mapping[str, MeasuredTest]
    scanned: Mapping[str, ScannedTest]
    measures: SeriesFigures
    patches: SeriesFigures
    judges: Mapping[str, Judge]
    patch_judges: Mapping[str, Judge]

    def find(self, stock: Stock, test: Test) -> TestFindings:
        """Return the findings of one test."""
        measured, scanned = self.measured[test.key], self.scanned[test.key]
        is_current = stock.current == test.id
        before = find_predecessor(stock, test)
        group = current_group(stock) if is_current else ()
        movement = {} if before is None else self._move(self.measures, test, before)
        return TestFindings(
            stock=test.stock,
            test=test.id,
            current=is_current,
            reference=None if self._reference is None else self._reference.key,
            measures=self.measures.tests[test.key],
            pooled=self.measures.pooled.get(stock.slug, {}) if is_current else {},
            group=tuple(one.id for one in group) if len(group) > 1 else (),
            against_reference=self._judge(test, is_current=is_current),
            curve=measured.curve,
            curve_why=measured.curve_why,
            steps=measured.steps,
            frames=measured.frames,
            patches=self._judge_patches(test, is_current=is_current),
            movement=movement,
            patch_movement=self._move(self.patches, test, before) if before and test.bracket and before.bracket else {},
            moved_from=None if before is None else before.id,
            bracket=measured.bracket,
            exposures_repeat_stops=measured.exposures_repeat_stops,
            tone_reproduction=measured.tone_reproduction,
            contrast_time=measured.contrast_time,
            spectrum=scanned.spectrum,
            edge_response=scanned.edge_response,
            remarks=(
                *measured.remarks,
                *scanned.remarks,
                *remark_on_contradictions(
                    self.measures.tests[test.key],
                    None if before is None else self.measures.tests[before.key],
                    movement,
                    test,
                ),
            ),
        )

    @property
    def _reference(self) -> Test | None:
        return self.series.reference_stock.current_test

    def _judge(self, test: Test, *, is_current: bool) -> dict[str, Comparison]:
        """Return a test's verdicts: the stock's figures on its current test, else its own; none on the reference's."""
        own = self.measures.tests[test.key]
        names = [name for name in own if has_difference(name)]
        if self._reference is None:
            return {name: not_measured(NO_REFERENCE, own[name].unit) for name in names}
        if test.stock == self._reference.stock:
            return {}
        why = why_curves_differ(self.measured[test.key].curve, self.measured[self._reference.key].curve)
        pooled = self.measures.pooled.get(test.stock, {}) if is_current else {}
        slug = test.stock if is_current else None
        return {
            name: self.judges[name].judge(
                pooled.get(name, own[name]), stock=slug, axes_differ=why if name in ON_THE_AXIS else ""
            )
            for name in names
        }

    def _judge_patches(self, test: Test, *, is_current: bool) -> dict[str, PatchFinding]:
        """Return the findings of a test's patches; empty without a bracket."""
        own = self.patches.tests[test.key]
        pooled = self.patches.pooled.get(test.stock, {}) if is_current else {}
        grey = next((patch for patch in self.series.patches if patch.id == self.series.protocol.grey_patch), None)
        if grey is None or test.bracket is None:
            return {}
        found: dict[str, PatchFinding] = {}
        for patch in self.series.patches:
            figure = pooled.get(patch.id, own[patch.id])
            rule = rule_of(patch.id, self.patches.scatter.get(patch.id), firm=None)
            found[patch.id] = PatchFinding(
                patch=patch.id,
                stops_from_grey=own[patch.id],
                pooled=pooled.get(patch.id),
                against_eye=compare_with_eye(rule, figure, patch, grey),
                against_reference=self._judge_patch(test, patch.id, is_current=is_current),
            )
        return found

    def _judge_patch(self, test: Test, patch: str, *, is_current: bool) -> Comparison:
        if patch == self.series.protocol.grey_patch:
            return not_measured(GREY_IS_ZERO, "stops")
        if self._reference is None:
            return not_measured(NO_REFERENCE, "stops")
        if test.stock == self._reference.stock:
            return not_measured("this is the reference", "stops")
        if patch not in self.patch_judges:
            return not_measured("not measured on the reference", "stops")
        pooled = self.patches.pooled.get(test.stock, {}) if is_current else {}
        figure = pooled.get(patch, self.patches.tests[test.key][patch])
        return self.patch_judges[patch].judge(figure, stock=test.stock if is_current else None)

    def _move(self, figures: SeriesFigures, test: Test, before: Test) -> dict[str, Comparison]:
        """Return new less old, each with its own error alone: the reference's cancels, and no move is firm."""
        new, old = figures.own(test.key), figures.own(before.key)
        why = why_curves_differ(self.measured[test.key].curve, self.measured[before.key].curve)
        return {
            name: compare(
                rule_of(name, figures.scatter.get(name), firm=None),
                quantity,
                old[name],
                axes_differ=why,
            )
            for name, quantity in new.items()
            if name in old and has_difference(name) and name != self.series.protocol.grey_patch
        }
