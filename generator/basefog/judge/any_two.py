"""Any two tests or stocks of a series set against each other, by what their findings hold."""

from dataclasses import replace

from basefog.judge.comparative import why_curves_differ
from basefog.judge.compare import WHY_NO_DIFFERENCE, compare, not_measured
from basefog.judge.traits import ON_THE_AXIS, has_difference
from basefog.judge.verdicts import Judge, rule_of
from basefog.records.findings import Comparison, Factors, Findings, Quantity, Scatter, TestFindings
from basefog.records.vocabulary import VerdictWord


def compare_any_two(
    findings: Findings, this: TestFindings, other: TestFindings, what: str, *, pooled: tuple[bool, bool] = (True, True)
) -> Comparison:
    """Return this less other in one measure or patch.

    Firm by the studentised range over all stocks and the reference; a pair with the reference's figure has the verdict
    that its page gives.

    Arguments: `what`, the id of a measure or patch; `pooled`, which of the two stands for its stock, whose figure then
    counts, and not the test's own.

    Raises KeyError where neither has such a measure or patch.
    """
    is_patch = what not in this.measures
    scatter = (findings.patch_scatter if is_patch else findings.scatter).get(what)
    factors = (findings.patch_factors if is_patch else findings.factors).get(what)
    one, two = (_figure(test, what, own=not whole) for test, whole in zip((this, other), pooled, strict=True))
    if one is None or two is None:
        return not_measured("no bracket was read in one of the two", "stops")
    if not has_difference(what):
        return not_measured(WHY_NO_DIFFERENCE, one.unit)
    # A test's own figures are its stock's where that has no repeats.
    first, second = (asked or not test.group for asked, test in zip(pooled, (this, other), strict=True))
    if this.stock != other.stock and second and other.key == findings.reference:
        return _against_reference(what, one, two, scatter, factors, axes_differ=_why_apart(what, this, other))
    if this.stock != other.stock and first and this.key == findings.reference:
        apart = _why_apart(what, this, other)
        return turn_round(_against_reference(what, two, one, scatter, factors, axes_differ=apart))
    rule = rule_of(what, scatter, firm=None if factors is None else factors.any_two)
    return compare(rule, one, two, axes_differ=why_curves_differ(this.curve, other.curve))


def _against_reference(
    what: str,
    quantity: Quantity,
    reference: Quantity,
    scatter: Scatter | None,
    factors: Factors | None,
    *,
    axes_differ: str,
) -> Comparison:
    """Return a figure's verdict against the reference's, as the page of its stock gives it."""
    if factors is None:
        return not_measured("not measured on the reference", quantity.unit)
    judge = Judge(measure=what, reference=reference, scatter=scatter, factors=factors)
    return judge.judge(quantity, axes_differ=axes_differ)


def _why_apart(what: str, this: TestFindings, other: TestFindings) -> str:
    return why_curves_differ(this.curve, other.curve) if what in ON_THE_AXIS else ""


def turn_round(comparison: Comparison) -> Comparison:
    """Return a comparison seen from the other side."""
    if comparison.difference is None or comparison.low is None or comparison.high is None:
        return comparison
    turned: dict[VerdictWord, VerdictWord] = {"higher": "lower", "lower": "higher"}
    return replace(
        comparison,
        verdict=turned.get(comparison.verdict, comparison.verdict),
        difference=-comparison.difference,
        low=-comparison.high,
        high=-comparison.low,
    )


def _figure(test: TestFindings, what: str, *, own: bool) -> Quantity | None:
    if what in test.measures:
        return test.measures[what] if own else test.figure(what)
    if what not in test.patches:
        return None
    return test.patches[what].stops_from_grey if own else test.patch_figure(what)
