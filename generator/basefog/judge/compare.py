"""Two figures set against each other: the difference, its interval, the verdict, and whether it is firm."""

import math
from dataclasses import dataclass

from basefog.judge.sides import Side, Variance, add_variances, side_of
from basefog.judge.traits import IN_LOGARITHMS, ON_THE_AXIS, has_difference, place_on_scale
from basefog.records.findings import Comparison, Quantity
from basefog.records.vocabulary import LOG10_2, ScatterSource, VerdictWord

WHY_NO_DIFFERENCE = "a stock's own time to match the reference's contrast is not set against another's"


@dataclass(frozen=True, kw_only=True, slots=True)
class Rule:
    """How a difference in one measure is judged.

    `student` times the square root of the variance is half the interval; beyond `firm` times it a verdict is firm,
    None where that is not asked. `source` says what told the scatter, None where nothing did.
    """

    measure: str
    student: float
    firm: float | None
    source: ScatterSource | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Difference:
    """A difference on the scale of its measure, with its variance by whose it is."""

    value: float
    variance: Variance
    counts: tuple[str, ...]


def find_difference(
    rule: Rule, this: Quantity, other: Quantity, *, side: Side | None, other_side: Side | None
) -> Difference | None:
    """Return this less other on the measure's scale; None where either has no value or no known error.

    Arguments: the two sides, whose errors count: not always the quantities' own (see `sides.reference_side`).
    """
    if this.value is None or other.value is None or side is None or other_side is None:
        return None
    return Difference(
        value=place_on_scale(rule.measure, this) - place_on_scale(rule.measure, other),
        variance=add_variances(side, other_side, rule.source),
        counts=_list_counts(side, other_side, rule.source),
    )


def compare(rule: Rule, this: Quantity, other: Quantity, *, axes_differ: str = "") -> Comparison:
    """Return the verdict on this less other, each with its own errors alone.

    Of two measures that are themselves differences to the reference the reference's error cancels. `axes_differ` says
    why the two log exposures can't be compared, on which the speed point alone depends.
    """
    if not has_difference(rule.measure):
        return not_measured(WHY_NO_DIFFERENCE, this.unit)
    difference = find_difference(rule, this, other, side=side_of(this), other_side=side_of(other))
    if difference is None:
        return not_measured(why_not_compared(this, other), this.unit)
    if axes_differ and rule.measure in ON_THE_AXIS:
        return not_measured(axes_differ, this.unit)
    return judge_difference(rule, difference, this, other)


def judge_difference(rule: Rule, difference: Difference, this: Quantity, other: Quantity) -> Comparison:
    """Return the verdict on a difference.

    Beyond zero it is higher or lower, else no measurable difference; `could_see` is half the interval. Not measured
    where one side is only a lower bound and the interval does not settle the matter in spite of it: at least 2.10 is
    higher than 2.00, but not lower than 2.20. Differences of speeds are told in stops.
    """
    error = math.sqrt(difference.variance.whole)
    half = rule.student * error
    verdict = _word(difference.value, half)
    unit, per_unit = this.unit, 1.0
    if rule.measure in IN_LOGARITHMS:
        unit, per_unit = "stops", 1 / LOG10_2
    open_above, open_below = this.bound == "lower", other.bound == "lower"
    if (open_above and (open_below or verdict != "higher")) or (open_below and verdict != "lower"):
        return not_measured(_why_open(open_above=open_above, open_below=open_below), unit)
    firm = None if rule.firm is None else verdict in {"higher", "lower"} and abs(difference.value) > rule.firm * error
    return Comparison(
        verdict=verdict,
        difference=difference.value * per_unit,
        low=(difference.value - half) * per_unit,
        high=(difference.value + half) * per_unit,
        could_see=half * per_unit,
        unit=unit,
        firm=firm,
        counts=difference.counts,
    )


def not_measured(why: str, unit: str = "1") -> Comparison:
    """Return a comparison that can't be made, with the reason in the tester's words."""
    return Comparison(verdict="not measured", unit=unit, why=why)


def why_not_compared(this: Quantity, other: Quantity) -> str:
    """Return why there is no difference of two figures, in the tester's words."""
    if this.value is None:
        return this.why or "it was not measured here"
    if other.value is None:
        return f"not on the other test: {other.why or 'it was not measured there'}"
    return "the error of one of the two is not known"


def _list_counts(this: Side, other: Side, source: ScatterSource | None) -> tuple[str, ...]:
    """Return what the error of a difference holds, in the data's words."""
    counts = ["reading"]
    if this.parts.wedge is not None or other.parts.wedge is not None:
        counts.append("wedge")
    if this.parts.lamp is not None or other.parts.lamp is not None:
        counts.append("lamp")
    if source is not None and (this.scatter is not None or other.scatter is not None):
        counts.append(source)
    return tuple(counts)


def _word(difference: float, half: float) -> VerdictWord:
    if difference - half > 0:
        return "higher"
    if difference + half < 0:
        return "lower"
    return "no measurable difference"


def _why_open(*, open_above: bool, open_below: bool) -> str:
    if open_above and open_below:
        return "both tests give only a lower bound"
    return f"{'this' if open_above else 'the other'} test gives only a lower bound"
