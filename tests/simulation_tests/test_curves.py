"""The simulated films' curves are what they say they are."""

import numpy as np
import pytest

from simulation.curves import Corner, build_curve, speed_to_log_h
from simulation.truths import FILMS, TESTS, TestTruth, compute_time_factor


@pytest.mark.parametrize("test", TESTS, ids=lambda test: test.key)
def test_curves_hit_their_stated_speed_and_gradient(test: TestTruth) -> None:
    """Net density is 0.10 at the speed point, and the mean gradient over the next 1.30 is the one stated."""
    curve = test.curve()
    at_m, at_n = curve.net_density(np.array([curve.speed_log_h, curve.speed_log_h + 1.30]))

    assert at_m == pytest.approx(0.10, abs=1e-9)
    assert (at_n - at_m) / 1.30 == pytest.approx(curve.average_gradient, abs=1e-9)


@pytest.mark.parametrize("test", TESTS, ids=lambda test: test.key)
def test_curves_rise_everywhere(test: TestTruth) -> None:
    """More light never gives less density, from far below the toe to far above the wedge's brightest step."""
    gradient = test.curve().gradient(np.linspace(-6.0, 2.0, 801))

    # A shoulder's tail is wider than a narrow toe's: far below both, less than a millionth of density a step is left.
    assert gradient.min() > -5e-6


def test_the_gradient_is_the_slope_of_the_density() -> None:
    """The stated gradient is the derivative of the stated density."""
    curve = next(test for test in TESTS if test.stock == "twyne-320").curve()
    x = np.linspace(-4.0, 1.0, 501)
    step = 1e-5
    slope = (curve.net_density(x + step) - curve.net_density(x - step)) / (2 * step)

    assert np.abs(slope - curve.gradient(x)).max() < 1e-7


def test_speeds_follow_iso_6() -> None:
    """A speed point of 0.0064 lux seconds is ISO 125 (ISO 6:1993; the pair was seen in a secondary place)."""
    assert 10 ** speed_to_log_h(125.0) == pytest.approx(0.0064, abs=1e-12)


def test_a_shape_that_cannot_have_the_gradient_is_refused() -> None:
    """A gradient beyond any scale of the shape is refused, not approached."""
    with pytest.raises(ValueError, match="no scale of this shape"):
        build_curve(
            speed_log_h=-2.0, average_gradient=9.0, base_plus_fog=0.2, shape=(Corner(slope=1.0, at=0.0, width=0.1),)
        )


def test_development_follows_the_first_order_law() -> None:
    """With gamma g1 at t and g2 at 2t, 2 - g2/g1 is exp(-k t) subtracted from one (Sheppard and Mees, from memory)."""
    doubled = compute_time_factor(10.0, 5.0)

    assert doubled == pytest.approx(1.0 + np.exp(-0.14 * 5.0), abs=1e-12)


def test_stocks_differ_as_their_notes_say() -> None:
    """The early shoulder flattens within the wedge, the long straight line does not, the fogged film is foggiest."""
    by_stock = {test.stock: test for test in TESTS}
    brindle, larkspar = by_stock["brindle-160"].curve(), by_stock["larkspar-125"].curve()

    assert brindle.gradient(np.array([-0.15]))[0] < 0.15 * brindle.average_gradient
    assert larkspar.gradient(np.array([-0.15]))[0] > 0.95 * larkspar.average_gradient
    assert max(FILMS.values(), key=lambda film: film.base_plus_fog).slug == "oldmoor-400"
