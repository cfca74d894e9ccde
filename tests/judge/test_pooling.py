"""A stock's figure is the mean over its repeats, with what they share counted once."""

import math
from dataclasses import replace

import pytest

from basefog.judge.pooling import pool_group
from basefog.measure.intervals import missing
from basefog.records.findings import ErrorParts
from judge.figures import figure


def test_plain_mean_with_a_third_of_the_reading_variance() -> None:
    """Three tests of one error give their mean, and a third of the variance of one."""
    group = [{"gamma": figure(value, reading=0.03)} for value in (0.60, 0.63, 0.66)]

    found = pool_group(group)["gamma"]

    assert found.value == pytest.approx(0.63)
    assert found.parts is not None
    assert found.parts.unshared == pytest.approx(0.03**2 / 3)
    assert found.tests == 3


def test_the_wedge_counts_once() -> None:
    """Repeats on one wedge share its error: the mean hangs on it as one test does."""
    group = [{"gamma": figure(value, by_step={"5": slope})} for value, slope in ((0.6, 0.4), (0.7, 0.6))]

    parts = pool_group(group)["gamma"].parts

    assert parts is not None
    assert parts.wedge is not None
    assert parts.wedge.by_step == pytest.approx({"5": 0.5})
    assert parts.wedge.variance == pytest.approx((0.5 * 0.01) ** 2)


def test_the_reference_counts_once() -> None:
    """What each test counts from the reference is the same error in all of them."""
    group = [{"shadow_match": figure(value, of_reference=ErrorParts(unshared=0.0009))} for value in (0.1, 0.3)]

    found = pool_group(group)["shadow_match"]

    assert found.of_reference is not None
    assert found.of_reference.unshared == pytest.approx(0.0009)


def test_missing_values_are_left_out_and_one_is_no_mean() -> None:
    """A repeat without a value counts nothing; with one value left there is no stock's figure."""
    group = [
        {"gamma": figure(0.6), "mtf50": figure(40.0)},
        {"gamma": figure(0.7), "mtf50": missing("no scan")},
        {"gamma": missing("flat"), "mtf50": missing("no scan")},
    ]

    found = pool_group(group)

    assert set(found) == {"gamma"}
    assert found["gamma"].tests == 2


def test_speeds_have_a_geometric_mean_and_are_rounded_last() -> None:
    """ISO 100 from 90 unrounded and ISO 125 from 130 unrounded are 108.2 together: ISO 100."""
    exact = (90.0, 130.0)
    group = [{"iso_speed": replace(figure(100.0), unit="ISO", exact=speed)} for speed in exact]

    found = pool_group(group)["iso_speed"]

    assert found.exact == pytest.approx(math.sqrt(90 * 130))
    assert found.value == 100.0


def test_any_bound_makes_a_bound() -> None:
    """A mean of which one part is only a lower bound is a lower bound."""
    group = [{"useful_range": figure(7.0)}, {"useful_range": figure(7.2, bound="lower")}]

    assert pool_group(group)["useful_range"].bound == "lower"


def test_matching_time_is_the_current_tests() -> None:
    """Development time is not averaged over repeats."""
    assert pool_group([{"matching_time": figure(8.0)}, {"matching_time": figure(9.0)}]) == {}
