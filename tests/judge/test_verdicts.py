"""All stocks of a series against the reference in one measure: how sure, and how firm (measures.md, "Firm")."""

import math
from dataclasses import replace

import pytest

from basefog.judge.factors import dunnett_factor, range_factor
from basefog.judge.verdicts import NOT_BY_REPEATS, NOT_TOLD, find_judge, rule_of
from basefog.measure.intervals import missing
from basefog.records.findings import ErrorParts, Quantity, Scatter, ToSettle
from judge.figures import figure

REPEATS = Scatter(measure="gamma", sigma=0.02, degrees_of_freedom=6, source="repeats", stocks=3)
REFERENCE = figure(0.60)
STOCKS = {"alder": figure(0.70), "birch": figure(0.595), "cedar": figure(0.635)}


def test_the_factor_is_students_for_the_whole() -> None:
    """Student's at nu of the scatter, 1.960 where none was estimated or it came out zero."""
    told = replace(REPEATS, degrees_of_freedom=4)

    assert rule_of("gamma", told, firm=None).student == pytest.approx(2.776, abs=0.0005)
    for none in (None, replace(told, sigma=0.0), replace(told, degrees_of_freedom=None, source="assumed")):
        assert rule_of("gamma", none, firm=None).student == pytest.approx(1.960, abs=0.0005)
    assert rule_of("gamma", None, firm=None).source is None
    assert rule_of("gamma", replace(told, sigma=0.0), firm=None).source == "repeats"


def test_factors_are_those_of_all_stocks_at_once() -> None:
    """Dunnett's for the stocks that have the measure, by their shares; the range's over them and the reference."""
    found = find_judge("gamma", {**STOCKS, "dale": missing("flat")}, REFERENCE, REPEATS)

    assert found.factors.stocks == 3
    assert found.factors.degrees_of_freedom == 6
    assert found.factors.student == pytest.approx(2.447, abs=0.0005)
    # All of one error: half of every difference's variance is the reference's.
    assert found.factors.dunnett == pytest.approx(dunnett_factor([0.5] * 3, 6))
    assert found.factors.any_two == pytest.approx(range_factor(4, 6))
    assert found.factors.student < found.factors.dunnett < found.factors.any_two


def test_dunnetts_degrees_stand_where_the_scatter_came_out_zero() -> None:
    """Student's factor is then 1.960, but the firm one stays at nu; it is infinite only where none was estimated."""
    zero = find_judge("gamma", STOCKS, REFERENCE, replace(REPEATS, sigma=0.0)).factors
    none = find_judge("gamma", STOCKS, REFERENCE, None).factors

    assert zero.student == pytest.approx(1.96, abs=0.001)
    assert zero.degrees_of_freedom == 6
    assert zero.dunnett == pytest.approx(dunnett_factor([0.5] * 3, 6))
    assert none.degrees_of_freedom is None
    assert none.dunnett == pytest.approx(dunnett_factor([0.5] * 3, None))


def test_shares_of_the_reference() -> None:
    """`from_reference` is the reference's own variance, readings and scatter over its tests, over the whole."""
    reference = figure(0.60, reading=0.02, scatter=0.03, tests=2)
    stock = figure(0.70, reading=0.01, scatter=0.03, by_step={"5": 1.0})
    judge = find_judge("gamma", {"alder": stock}, reference, REPEATS)
    of_reference = 0.02**2 + 0.03**2 / 2
    whole = of_reference + 0.01**2 + 0.03**2 + 0.01**2

    found = judge.judge(stock, stock="alder")

    assert found.from_reference == pytest.approx(of_reference / whole)
    assert found.could_see == pytest.approx(judge.factors.student * math.sqrt(whole))
    assert judge.factors.dunnett == pytest.approx(dunnett_factor([of_reference / whole], 6))


@pytest.mark.parametrize(("share", "verdict", "firm"), [(1.001, "higher", True), (0.999, "higher", False)])
def test_firm_is_beyond_dunnetts_factor(share: float, verdict: str, firm: bool) -> None:
    """At d sqrt(V) a verdict turns firm, having been told since c sqrt(V)."""
    judge = find_judge("gamma", STOCKS, REFERENCE, None)
    border = judge.factors.dunnett * 0.01 * math.sqrt(2)

    found = judge.judge(figure(0.60 + share * border))

    assert (found.verdict, found.firm) == (verdict, firm)


def test_stocks_that_can_not_be_compared_are_not_counted() -> None:
    """One without a value, and one of which only a bound is known, are no comparisons to guard against."""
    stocks = {**STOCKS, "dale": missing("flat"), "elm": figure(0.5, bound="lower")}

    found = find_judge("gamma", stocks, REFERENCE, None)

    assert found.factors.stocks == 3
    assert set(found.settled()) == set(STOCKS)


def test_no_stock_at_all_leaves_the_plain_factor() -> None:
    """A retest of an older test may still be judged: by Student's factor."""
    found = find_judge("gamma", {}, REFERENCE, None)

    assert found.factors.stocks == 0
    assert found.factors.dunnett == pytest.approx(1.96, abs=0.001)
    assert found.judge(figure(0.70)).firm


def test_what_is_not_measured_says_why() -> None:
    """On the test, on the reference, or for want of one axis."""
    judge = find_judge("speed_point", STOCKS, REFERENCE, None)

    assert judge.judge(missing("no base")).why == "no base"
    assert judge.judge(figure(0.6), axes_differ="not on the same wedge").why == "not on the same wedge"
    nothing = find_judge("speed_point", STOCKS, missing("no base"), None)
    assert nothing.judge(figure(0.6)).why == "not on the other test: no base"
    assert nothing.factors.stocks == 0
    assert nothing.judge(figure(0.6)).from_reference is None


def comparative(value: float, *, own: float, reference: float, scatter: float | None = None) -> Quantity:
    """Return a measure that is itself a difference to the reference."""
    return figure(value, reading=own, scatter=scatter, of_reference=ErrorParts(unshared=reference**2))


def test_a_measure_counted_from_the_reference_bears_its_error_once() -> None:
    """Speed from the reference and shadow match hold both errors; the reference's zero adds none of its own."""
    zero = Quantity(value=0.0, low=0.0, high=0.0, unit="stops", scatter=0.05, tests=2, batches=(None, None))
    stock = comparative(0.5, own=0.03, reference=0.04, scatter=0.05)
    scatter = replace(REPEATS, measure="shadow_match", sigma=0.05)
    whole = 0.03**2 + 0.05**2 + 0.04**2 + 0.05**2 / 2

    judge = find_judge("shadow_match", {"alder": stock}, zero, scatter)
    found = judge.judge(stock, stock="alder")

    assert found.difference == 0.5
    assert found.could_see == pytest.approx(judge.factors.student * math.sqrt(whole))
    assert found.from_reference == pytest.approx((0.04**2 + 0.05**2 / 2) / whole)


def test_what_would_settle_it() -> None:
    """0 where firm, so many of the stock or of the reference where repeats tell, else why nothing is told."""
    near = {**STOCKS, "birch": figure(0.60 + 1e-6), "cedar": figure(0.628)}

    told = find_judge("gamma", near, figure(0.60), replace(REPEATS, sigma=0.0))
    untold = find_judge("gamma", near, figure(0.60), None)

    assert told.judge(near["alder"], stock="alder").to_settle == ToSettle(tests=0)
    cedar = told.judge(near["cedar"], stock="cedar").to_settle
    assert cedar is not None
    assert cedar.tests is not None
    assert 1 <= cedar.tests <= 20
    assert cedar.of in {"stock", "reference"}
    assert told.judge(near["birch"], stock="birch").to_settle == NOT_BY_REPEATS
    assert untold.judge(near["cedar"], stock="cedar").to_settle == NOT_TOLD
    assert untold.judge(near["alder"], stock="alder").to_settle == ToSettle(tests=0)


def test_a_test_that_is_not_its_stocks_has_nothing_to_settle() -> None:
    """Repeats are told for the stock's figure alone."""
    assert find_judge("gamma", STOCKS, REFERENCE, None).judge(figure(0.62)).to_settle is None
