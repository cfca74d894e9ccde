"""The width of the grain's correlation: a closed form, intervals, and grain that is too fine for the scan."""

import math

import numpy as np
import pytest

from basefog.picture.texture.correlation import Correlation, NoCorrelation, find_half_width, measure_correlation
from basefog.records.content import FloatArray
from picture.texture.fields import grow_field


def width(density: FloatArray, pitch_um: float) -> Correlation:
    found = measure_correlation(density, pitch_um)
    assert isinstance(found, Correlation)
    return found


def width_of_pixels(spread_um: float, pitch_um: float) -> float:
    """Return the width by theory of Gaussian grain that square pixels have averaged.

    The autocorrelation along a row is exp(-d^2 / 4 s^2) convolved with the triangle of two pixels.
    """
    fine = np.linspace(-12 * spread_um - 2 * pitch_um, 12 * spread_um + 2 * pitch_um, 4_001)
    bell = np.exp(-(fine**2) / (4 * spread_um**2))
    triangle = np.maximum(1 - np.abs(fine) / pitch_um, 0)
    seen = np.convolve(bell, triangle, mode="same")
    right = fine >= 0
    return 2 * float(np.interp(-0.5, -seen[right] / seen.max(), fine[right]))


@pytest.mark.parametrize(("pitch_um", "spread_um"), [(4.0, 4.0), (4.0, 8.0), (8.0, 6.5), (2.0, 5.0)])
def test_width_of_a_bell(pitch_um: float, spread_um: float) -> None:
    """Gaussian grain as pixels average it is as wide as theory says, to 3 %."""
    field = grow_field((256, 256), pitch_um=pitch_um, spread_um=spread_um, sigma_48=0.01, seed=11)
    found = width(1.0 + field, pitch_um)

    assert found.width_um == pytest.approx(width_of_pixels(spread_um, pitch_um), rel=0.03)


def test_without_pixels_a_bell_is_its_own_width() -> None:
    """Where pixels are far finer than the grain the width is 4 s sqrt(ln 2): white noise spread by s."""
    field = grow_field((400, 400), pitch_um=2.0, spread_um=8.0, sigma_48=0.01, seed=13, fine=1)

    found = width(1.0 + field, 2.0)

    assert found.low_um <= 4 * 8.0 * math.sqrt(math.log(2)) <= found.high_um
    assert found.high_um - found.low_um < 2.5


def test_intervals_cover() -> None:
    """Of 40 views, at least 35 have the width that theory gives in their 95 % intervals."""
    aim = width_of_pixels(5.0, 5.0)
    held = 0
    for seed in range(40):
        field = grow_field((120, 120), pitch_um=5.0, spread_um=5.0, sigma_48=0.01, seed=2000 + seed, fine=3)
        found = width(1.0 + field, 5.0)
        held += found.low_um <= aim <= found.high_um

    assert held >= 35


@pytest.mark.parametrize("spread_um", [0.0, 2.5])
def test_grain_finer_than_the_scan_is_refused(spread_um: float) -> None:
    """White noise has no width but a pixel's, and grain of half a pixel neither: a figure would be the scanner's."""
    field = grow_field((200, 200), pitch_um=9.0, spread_um=spread_um, sigma_48=0.01, seed=13)
    found = measure_correlation(1.0 + field, 9.0)

    assert isinstance(found, NoCorrelation)
    assert found.why.startswith("the grain is finer than the scan shows: at the limit of its pixels (9.0 um)")


def test_no_grain_is_refused() -> None:
    """A density that only drifts never loses its likeness."""
    found = measure_correlation(np.tile(np.linspace(0.9, 1.1, 200) ** 3, (200, 1)), 5.0)

    assert isinstance(found, NoCorrelation)


def test_tiny_views_are_refused() -> None:
    """Fewer than 16 pixels a side tell nothing."""
    assert isinstance(measure_correlation(np.ones((12, 12)), 5.0), NoCorrelation)


def test_half_width_between_pixels() -> None:
    """A bell is followed exactly between its samples; one that never halves has no width."""
    lags = np.arange(12.0)

    assert find_half_width(3 * np.exp(-(lags**2) / 7)) == pytest.approx(math.sqrt(7 * math.log(2)), abs=1e-12)
    assert find_half_width(np.ones(5)) is None
    assert find_half_width(np.array([1.0, -0.2])) == pytest.approx(math.sqrt(0.5 / 1.2), abs=1e-12)
