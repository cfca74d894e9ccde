"""All stocks of a series against the reference, one measure at a time: how sure each difference is, and if it is firm.

One measure is judged over the whole series at once, because all its verdicts share the reference's error.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache, partial

from basefog.judge.compare import Difference, Rule, find_difference, judge_difference, not_measured, why_not_compared
from basefog.judge.factors import dunnett_factor, range_factor, student_factor
from basefog.judge.settling import Compared, Repeated, Settled, count_tests_to_settle
from basefog.judge.sides import Side, reference_side, side_of
from basefog.judge.traits import RELATIVE_SCATTER, TO_REFERENCE
from basefog.records.findings import Comparison, Factors, Quantity, Scatter, ToSettle

NOT_TOLD = ToSettle(tests=None, why="repeats do not tell yet how far tests of one film scatter in this")
NOT_BY_REPEATS = ToSettle(tests=None, why="not by repeats: twenty more tests would not do")


@dataclass(frozen=True, kw_only=True, slots=True)
class Judge:
    """What judging one measure of any test takes: the reference's figure, the scatter, the factors of all stocks.

    `settled` returns by stock what would make its figure's verdict firm; it is worked out when first asked for.
    `differences` are those of the stocks' figures, as far as they are known already.
    """

    measure: str
    reference: Quantity
    scatter: Scatter | None
    factors: Factors
    settled: Callable[[], Mapping[str, ToSettle]] = dict
    differences: Mapping[str, Difference] = field(default_factory=dict)

    @property
    def rule(self) -> Rule:
        """The rule for one test against the reference."""
        return rule_of(self.measure, self.scatter, firm=self.factors.dunnett)

    def difference(self, quantity: Quantity) -> Difference | None:
        """Return a test's difference to the reference, None where there is none."""
        side, other_side = sides_to_reference(self.measure, quantity, self.reference)
        return find_difference(self.rule, quantity, self.reference, side=side, other_side=other_side)

    def judge(self, quantity: Quantity, *, stock: str | None = None, axes_differ: str = "") -> Comparison:
        """Return a test's verdict against the reference.

        Arguments: `stock`, whose figure the quantity is, None for a test that is not a stock's current one;
        `axes_differ`, why the log exposures of the two can't be compared, empty where they can.
        """
        difference = self.differences.get(stock or "") or self.difference(quantity)
        if difference is None:
            return not_measured(why_not_compared(quantity, self.reference), quantity.unit)
        if axes_differ:
            return not_measured(axes_differ, quantity.unit)
        verdict = judge_difference(self.rule, difference, quantity, self.reference)
        if verdict.difference is None:
            return verdict
        whole = difference.variance.whole
        return replace(
            verdict,
            from_reference=difference.variance.other / whole if whole > 0 else 0.0,
            to_settle=None if stock is None else self.settled().get(stock),
        )


def find_judge(measure: str, figures: Mapping[str, Quantity], reference: Quantity, scatter: Scatter | None) -> Judge:
    """Return what judges one measure over the whole series at once.

    Arguments: `figures` of all stocks that can be set against the reference, by slug.
    """
    degrees = None if scatter is None else scatter.degrees_of_freedom
    rule = rule_of(measure, scatter, firm=None)
    found: dict[str, tuple[Difference, Side, Side]] = {}
    for slug, quantity in figures.items():
        side, other_side = sides_to_reference(measure, quantity, reference)
        difference = find_difference(rule, quantity, reference, side=side, other_side=other_side)
        if difference is None or side is None or other_side is None or not difference.variance.whole > 0:
            continue
        if judge_difference(rule, difference, quantity, reference).difference is not None:
            found[slug] = difference, side, other_side
    shares = [difference.variance.other / difference.variance.whole for difference, _, _ in found.values()]
    return Judge(
        measure=measure,
        reference=reference,
        scatter=scatter,
        factors=Factors(
            measure=measure,
            stocks=len(shares),
            degrees_of_freedom=degrees,
            student=rule.student,
            dunnett=dunnett_factor(shares or [0.0], degrees),
            any_two=range_factor(max(2, len(shares) + 1), degrees),
        ),
        settled=cache(partial(_settle, found, scatter)),
        differences={slug: difference for slug, (difference, _, _) in found.items()},
    )


def _settle(found: Mapping[str, tuple[Difference, Side, Side]], scatter: Scatter | None) -> dict[str, ToSettle]:
    """Return by stock what would make its verdict firm.

    Of a measure whose error grows with the test's own value the reference's part differs from stock to stock; each
    difference is brought to the scale on which that part is one.
    """
    if not found:
        return {}
    scales = [math.sqrt(difference.variance.other) or 1.0 for difference, _, _ in found.values()]
    first = next(iter(found.values()))
    tests = first[2].tests
    compared = [
        Compared(
            difference=difference.value / scale,
            one_test=difference.variance.own * side.tests / scale**2,
            tests=side.tests,
            lasting=difference.variance.shared / scale**2,
        )
        for (difference, side, _), scale in zip(found.values(), scales, strict=True)
    ]
    settled = count_tests_to_settle(
        compared,
        reference=Repeated(one_test=float(tests) if first[0].variance.other > 0 else 0.0, tests=tests),
        degrees=None if scatter is None else scatter.degrees_of_freedom,
        repeats_tell=scatter is not None and scatter.source == "repeats",
    )
    return {slug: _record(one) for slug, one in zip(found, settled, strict=True)}


def _record(settled: Settled | None) -> ToSettle:
    if settled is None:
        return NOT_TOLD
    return ToSettle(tests=settled.tests, of=settled.of) if settled.by_repeats else NOT_BY_REPEATS


@lru_cache(maxsize=1024)  # asked for every figure anew
def rule_of(measure: str, scatter: Scatter | None, *, firm: float | None) -> Rule:
    """Return the rule for two figures of one measure; `firm` is the factor beyond which a difference is firm."""
    degrees = scatter.degrees_of_freedom if scatter is not None and scatter.sigma > 0 else None
    return Rule(
        measure=measure,
        student=student_factor(degrees),
        firm=firm,
        source=None if scatter is None else scatter.source,
    )


def sides_to_reference(measure: str, quantity: Quantity, reference: Quantity) -> tuple[Side | None, Side | None]:
    """Return a test's side of its difference to the reference, and the reference's."""
    if measure not in TO_REFERENCE:
        return side_of(quantity), side_of(reference)
    return side_of(quantity), reference_side(quantity, reference, relative=measure in RELATIVE_SCATTER)
