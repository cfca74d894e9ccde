"""Two figures set against each other: difference, interval, verdict (measures.md, "Verdicts")."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from basefog.judge.compare import WHY_NO_DIFFERENCE, Rule, compare, not_measured
from basefog.measure.intervals import missing
from basefog.records.findings import Quantity
from judge.figures import figure

RULE = Rule(measure="gamma", student=1.96, firm=None, source="repeats")


@pytest.mark.parametrize(
    ("difference", "verdict"),
    [
        (0.20, "higher"),
        (0.0279, "higher"),
        (0.0275, "no measurable difference"),
        (0.0, "no measurable difference"),
        (-0.0275, "no measurable difference"),
        (-0.0279, "lower"),
        (-0.20, "lower"),
    ],
)
def test_beyond_the_interval_it_is_higher_or_lower(difference: float, verdict: str) -> None:
    """Two readings of 0.01 make half an interval of 1.96 x 0.01 root 2 = 0.0277."""
    found = compare(RULE, figure(0.6 + difference), figure(0.6))

    assert found.verdict == verdict
    assert found.difference == pytest.approx(difference)
    assert found.unit == "1"


def test_the_interval_is_even_about_the_difference() -> None:
    """Low and high are the difference less and plus the 95 % limit."""
    found = compare(RULE, figure(0.7, reading=0.03), figure(0.6, reading=0.04))

    assert found.could_see == pytest.approx(1.96 * 0.05)
    assert (found.low, found.high) == pytest.approx((0.1 - 1.96 * 0.05, 0.1 + 1.96 * 0.05))


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(0.001, 1), st.floats(0.001, 1))
def test_errors_propagate_as_standard_uncertainties_do(a: float, b: float, u_a: float, u_b: float) -> None:
    """Without anything shared the interval is 1.96 times the propagated uncertainty (oracle: uncertainties)."""
    expected = ufloat(a, u_a) - ufloat(b, u_b)

    found = compare(RULE, figure(a, reading=u_a), figure(b, reading=u_b))

    assert found.difference == pytest.approx(expected.n)
    assert found.could_see == pytest.approx(1.96 * expected.s)


def test_scatter_counts_once_for_each_test() -> None:
    """s^2 (1/n1 + 1/n2) stands beside the readings, all of it times Student's factor."""
    rule = replace(RULE, student=2.776)
    this, other = figure(0.7, scatter=0.02), figure(0.6, scatter=0.02, tests=3)

    found = compare(rule, this, other)

    assert found.could_see == pytest.approx(2.776 * math.sqrt(2 * 0.01**2 + 0.02**2 * (1 + 1 / 3)))


def test_speeds_are_compared_in_logarithms_and_told_in_stops() -> None:
    """ISO 200 over ISO 100 is one stop by the unrounded figures, not by the rounded, and the limit is in stops too."""
    rule = replace(RULE, measure="iso_speed")
    this, other = (replace(figure(rounded), unit="ISO", exact=exact) for rounded, exact in ((200, 210), (100, 105)))

    found = compare(rule, this, other)

    assert found.difference == pytest.approx(1.0)
    assert found.unit == "stops"
    assert found.could_see == pytest.approx(1.96 * 0.01 * math.sqrt(2) / math.log10(2))
    assert found.verdict == "higher"


@pytest.mark.parametrize(
    ("this", "other", "expected"),
    [
        (figure(2.1, bound="lower"), figure(2.0), "higher"),
        (figure(2.1, bound="lower"), figure(2.2), "this test gives only a lower bound"),
        (figure(2.1, bound="lower"), figure(2.1), "this test gives only a lower bound"),
        (figure(2.1), figure(2.2, bound="lower"), "lower"),
        (figure(2.1), figure(2.0, bound="lower"), "the other test gives only a lower bound"),
        (figure(2.1, bound="lower"), figure(2.0, bound="lower"), "both tests give only a lower bound"),
    ],
)
def test_a_lower_bound_settles_one_side_only(this: Quantity, other: Quantity, expected: str) -> None:
    """At least 2.10 is higher than 2.00, but nothing is said of 2.20."""
    found = compare(RULE, this, other)

    assert expected in {found.verdict, found.why}
    assert (found.difference is None) == (found.verdict == "not measured")


def test_counts_say_what_the_error_holds() -> None:
    """Reading always; wedge and lamp where either side has them; scatter by its source where either side has any."""
    plain = figure(0.6)
    wedge, lamp = figure(0.6, by_step={"5": 0.4}), figure(0.6, lamp=(0.8, 0.02))
    scattered = figure(0.6, scatter=0.02)

    assert compare(RULE, plain, plain).counts == ("reading",)
    assert compare(RULE, plain, wedge).counts == ("reading", "wedge")
    assert compare(RULE, lamp, wedge).counts == ("reading", "wedge", "lamp")
    assert compare(RULE, scattered, plain).counts == ("reading", "repeats")
    assert compare(replace(RULE, source="assumed"), plain, scattered).counts == ("reading", "assumed")
    assert compare(replace(RULE, source=None), scattered, scattered).counts == ("reading",)


@pytest.mark.parametrize(("apart", "firm"), [(0.20, True), (0.0355, True), (0.0352, False), (0.01, False)])
def test_firm_is_beyond_its_own_factor(apart: float, firm: bool) -> None:
    """With a factor of 2.5 the border lies at 2.5 x 0.01 root 2 = 0.03536; a difference may be told and not firm."""
    rule = replace(RULE, firm=2.5)

    assert compare(rule, figure(0.6 + apart), figure(0.6)).firm is firm
    assert compare(rule, figure(0.6 - apart), figure(0.6)).firm is firm
    assert compare(RULE, figure(0.6 + apart), figure(0.6)).firm is None


def test_a_missing_value_on_either_side_is_not_measured() -> None:
    """The reason names the side."""
    assert compare(RULE, missing("no base was read"), figure(1.0)) == not_measured("no base was read")
    assert compare(RULE, figure(1.0), missing("no base was read")) == not_measured(
        "not on the other test: no base was read"
    )


def test_a_value_without_a_known_error_is_not_measured() -> None:
    """Nothing is said of how far two values differ where one has no error."""
    bare = Quantity(value=1.0, low=None, high=None, unit="1")

    assert compare(RULE, bare, figure(1.0)).why == "the error of one of the two is not known"


@pytest.mark.parametrize(("measure", "apart"), [("speed_point", True), ("iso_speed", True), ("gamma", False)])
def test_only_what_lies_on_the_axis_needs_one_axis(measure: str, apart: bool) -> None:
    """Gradients are compared wherever their log exposures count from."""
    one = replace(figure(1.0), exact=100.0) if measure == "iso_speed" else figure(1.0)

    found = compare(replace(RULE, measure=measure), one, one, axes_differ="not on the same wedge")

    assert (found.why == "not on the same wedge") == apart


def test_times_of_ones_own_are_not_set_against_each_other() -> None:
    """Matching times are each stock's own."""
    found = compare(replace(RULE, measure="matching_time"), figure(8.0), figure(9.0))

    assert found.why == WHY_NO_DIFFERENCE


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.001, 0.1), st.floats(-3, 3), st.floats(-3, 3))
def test_swapping_the_sides_turns_the_sign(a: float, b: float, reading: float, one: float, two: float) -> None:
    """Difference and interval change sign, higher becomes lower, and the limit stays."""
    this, other = figure(a, reading=reading, by_step={"1": one}), figure(b, by_step={"1": two})
    flipped = {"higher": "lower", "lower": "higher"}

    there, back = compare(RULE, this, other), compare(RULE, other, this)

    assert back.verdict == flipped.get(there.verdict, there.verdict)
    assert (back.difference, back.low, back.high, back.could_see) == pytest.approx(
        (-(there.difference or 0), -(there.high or 0), -(there.low or 0), there.could_see)
    )
