import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.measure.printing import (
    compute_enlarging_factor,
    compute_filter_factor,
    express_in_percent,
    express_in_stops,
    find_reference_exposure_s,
)
from basefog.records.content import Enlarging
from basefog.records.findings import Quantity
from measure.bench_content import make_test


@pytest.mark.parametrize(
    ("own_s", "series_s", "expected"), [(13.4, 12.0, 13.4), (None, 12.0, 12.0), (13.4, None, 13.4), (None, None, None)]
)
def test_reference_time_is_its_own_first(own_s: float | None, series_s: float | None, expected: float | None) -> None:
    """The reference test's print exposure stands before the series' enlarging exposure."""
    enlarging = Enlarging(paper=None, magnification=9.0, exposure_s=series_s)

    assert find_reference_exposure_s(make_test(print_exposure_s=own_s), enlarging) == expected


@given(density=st.floats(-2.0, 2.0), more=st.floats(-2.0, 2.0))
def test_filters_multiply_as_densities_add(density: float, more: float) -> None:
    """Two neutral filters together ask for the product of their factors."""
    assert compute_filter_factor(density + more) == pytest.approx(
        compute_filter_factor(density) * compute_filter_factor(more)
    )


@given(first=st.floats(0.1, 20.0), second=st.floats(0.1, 20.0), third=st.floats(0.1, 20.0))
def test_enlarging_in_two_steps_is_enlarging_in_one(first: float, second: float, third: float) -> None:
    """Factors chain, and going back undoes them."""
    both = compute_enlarging_factor(first, second) * compute_enlarging_factor(second, third)

    assert both == pytest.approx(compute_enlarging_factor(first, third))
    assert compute_enlarging_factor(first, second) * compute_enlarging_factor(second, first) == pytest.approx(1.0)


@pytest.mark.parametrize(("magnification", "new"), [(0.0, 2.0), (2.0, 0.0), (-1.0, 2.0)])
def test_magnifications_must_be_above_zero(magnification: float, new: float) -> None:
    """A magnification that is no magnification is refused."""
    with pytest.raises(ValueError, match="must be above 0"):
        compute_enlarging_factor(magnification, new)


def test_exposure_in_stops_and_per_cent() -> None:
    """15 s for 12 s is a quarter more, 0.322 stops, and the interval follows by the same formulas."""
    exposure = Quantity(value=15.0, low=12.0, high=24.0, unit="s", note="noted")

    stops, percent = express_in_stops(exposure, 12.0), express_in_percent(exposure, 12.0)

    assert (stops.value, stops.low, stops.high) == pytest.approx((math.log2(1.25), 0.0, 1.0))
    assert (percent.value, percent.low, percent.high) == pytest.approx((25.0, 0.0, 100.0))
    assert (stops.unit, percent.unit) == ("stops", "%")
    assert (stops.note, percent.note) == ("noted", "noted")


def test_missing_exposure_stays_missing_in_stops() -> None:
    """An exposure that isn't known has no stops either, for the same reason."""
    missing = Quantity(value=None, low=None, high=None, unit="s", why="no time is known")

    assert express_in_stops(missing, 12.0).why == "no time is known"
    assert express_in_percent(Quantity(value=None, low=None, high=None, unit="s"), 12.0).why == "it was not measured"


def test_reference_time_must_be_above_zero() -> None:
    """A time of nothing has no ratio."""
    with pytest.raises(ValueError, match="reference_exposure_s must be above 0"):
        express_in_stops(Quantity(value=1.0, low=1.0, high=1.0, unit="s"), 0.0)
