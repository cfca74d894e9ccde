import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student
from uncertainties import ufloat

from basefog.measure.intervals import (
    NORMAL_FACTOR,
    compare,
    missing,
    not_measured,
    quantity_from_draws,
    student_factor,
    widen,
)
from basefog.records.findings import Quantity, Scatter


def quantity(value: float, half: float = 0.0, *, bound: str | None = None) -> Quantity:
    return Quantity(value=value, low=value - half, high=value + half, unit="1", bound=bound)


def test_an_interval_is_taken_from_the_spread_about_the_estimate() -> None:
    """Normal draws about the estimate give its 95 % interval; draws shifted by reading error widen it."""
    draws = np.random.Generator(np.random.PCG64(2)).standard_normal(20_000)

    plain = quantity_from_draws(np.concatenate([[0.0], draws]), "1", why="")
    shifted = quantity_from_draws(np.concatenate([[0.0], draws + 1.0]), "1", why="")

    # Four standard errors of a standard deviation from 20,000 draws: 2 %.
    assert plain.half_width == pytest.approx(1.96, rel=0.02)
    assert shifted.half_width == pytest.approx(1.96 * math.sqrt(2), rel=0.02)


def test_draws_cut_off_at_the_estimate_still_give_the_whole_spread() -> None:
    """Where half the draws fall beyond the readings the other half, about the estimate, tell the same spread."""
    draws = np.random.Generator(np.random.PCG64(2)).standard_normal(20_000)
    cut = np.where(draws > 0, np.nan, draws)

    found = quantity_from_draws(np.concatenate([[0.0], cut]), "1", why="", note="first")

    assert found.half_width == pytest.approx(1.96, rel=0.03)
    assert found.note == "first; within error of where the readings end: 50% of the resampled curves do not reach it"


def test_an_estimate_that_can_not_be_had_says_why() -> None:
    """NaN in entry 0 is a missing value, whatever the draws."""
    found = quantity_from_draws(np.array([np.nan, 1.0]), "stops", why="no bracket was read")

    assert found == missing("no bracket was read", "stops")


def test_an_estimate_without_draws_is_not_given() -> None:
    """A value whose error can't be told is missing."""
    found = quantity_from_draws(np.array([1.0, np.nan]), "1", why="")

    assert found.value is None
    assert found.why == "the readings end too close to it to say how sure it is"


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(0.001, 1), st.floats(0.001, 1))
def test_symmetric_intervals_subtract_as_standard_uncertainties_do(a: float, b: float, u_a: float, u_b: float) -> None:
    """With even intervals the square-and-add rule is the propagation of error (oracle: uncertainties)."""
    expected = ufloat(a, u_a) - ufloat(b, u_b)

    found = compare(quantity(a, NORMAL_FACTOR * u_a), quantity(b, NORMAL_FACTOR * u_b))

    assert found.difference == pytest.approx(expected.n)
    assert found.could_see == pytest.approx(NORMAL_FACTOR * expected.s)


def test_uneven_intervals_keep_their_sides() -> None:
    """L = d - sqrt((a - la)^2 + (hb - b)^2), U = d + sqrt((ha - a)^2 + (b - lb)^2), worked by hand."""
    this = Quantity(value=10.0, low=7.0, high=11.0, unit="stops")
    other = Quantity(value=6.0, low=5.0, high=10.0, unit="stops")

    found = compare(this, other)

    assert (found.difference, found.low, found.high) == (4.0, 4.0 - 5.0, 4.0 + math.sqrt(2))
    assert found.verdict == "no measurable difference"
    assert found.unit == "stops"


@pytest.mark.parametrize(
    ("difference", "verdict"), [(0.2, "higher"), (-0.2, "lower"), (0.1, "no measurable difference")]
)
def test_a_verdict_is_given_against_the_error(difference: float, verdict: str) -> None:
    """Beyond the interval a difference is higher or lower, inside it can't be told."""
    assert compare(quantity(1.0 + difference, 0.1), quantity(1.0, 0.1)).verdict == verdict


def test_the_scatter_of_repeats_counts_once_for_each_test() -> None:
    """Half the interval is sqrt(half_a^2 + half_b^2 + 2 (t s)^2), t by scipy's Student distribution."""
    scatter = Scatter(measure="gamma", sigma=0.02, degrees_of_freedom=4, stocks=3)
    expected = math.sqrt(0.03**2 + 0.04**2 + 2 * (float(student.ppf(0.975, 4)) * 0.02) ** 2)

    assert compare(quantity(0.7, 0.03), quantity(0.6, 0.04), scatter).could_see == pytest.approx(expected)
    # A measure that is a difference already, whose interval holds both reading errors, widens alike.
    assert widen(quantity(0.1, 0.05), scatter).half_width == pytest.approx(expected)


def test_nothing_is_widened_without_a_scatter_or_a_value() -> None:
    """A quantity passes unchanged."""
    scatter = Scatter(measure="gamma", sigma=0.02, degrees_of_freedom=4, stocks=3)

    assert widen(quantity(0.1, 0.05), None) == quantity(0.1, 0.05)
    assert widen(missing("not read"), scatter) == missing("not read")


@pytest.mark.parametrize(
    ("this", "other", "expected"),
    [
        (quantity(2.1, 0.02, bound="lower"), quantity(2.0, 0.02), "higher"),
        (quantity(2.1, 0.02, bound="lower"), quantity(2.2, 0.02), "this test gives only a lower bound"),
        (quantity(2.1, 0.02), quantity(2.2, 0.02, bound="lower"), "lower"),
        (quantity(2.1, 0.02), quantity(2.0, 0.02, bound="lower"), "the other test gives only a lower bound"),
        (
            quantity(2.1, 0.02, bound="lower"),
            quantity(2.0, 0.02, bound="lower"),
            "both tests give only a lower bound",
        ),
    ],
)
def test_a_lower_bound_settles_one_side_only(this: Quantity, other: Quantity, expected: str) -> None:
    """At least 2.10 is higher than 2.00, but nothing is said of 2.20."""
    found = compare(this, other)

    assert expected in {found.verdict, found.why}


def test_a_missing_value_on_either_side_is_not_measured() -> None:
    """The reason names the side."""
    assert compare(missing("no base was read"), quantity(1.0)).why == "no base was read"
    assert compare(quantity(1.0), missing("no base was read")) == not_measured(
        "not on the other test: no base was read"
    )


def test_a_difference_of_exact_values_is_exact() -> None:
    """Two values without error differ or not."""
    assert compare(quantity(1.0), quantity(1.0)).verdict == "no measurable difference"


def test_student_needs_a_degree_of_freedom() -> None:
    """Below one there is no factor."""
    with pytest.raises(ValueError, match="degrees_of_freedom must be at least 1"):
        student_factor(0)
