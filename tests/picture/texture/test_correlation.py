"""The width of the grain's correlation: a closed form, intervals, and grain that is too fine for the scan."""

import math

import numpy as np
import pytest

from basefog.picture.texture.correlation import find_half_width, measure_correlation, undo_pixels
from basefog.records.content import FloatArray
from basefog.records.scan_figures import Correlation, NotSeen
from picture.texture.fields import grow_field


def width(density: FloatArray, pitch_um: float) -> Correlation:
    found = measure_correlation(density, pitch_um)
    assert isinstance(found, Correlation)
    return found


def bell_width(spread_um: float) -> float:
    """Return the width by theory of white noise spread by a Gaussian s: exp(-d^2 / 4 s^2) halves at 2 s sqrt(ln 2)."""
    return 4 * spread_um * math.sqrt(math.log(2))


@pytest.mark.parametrize(("pitch_um", "spread_um"), [(4.0, 4.0), (4.0, 8.0), (9.0, 4.8), (8.0, 6.5)])
def test_width_of_a_bell(pitch_um: float, spread_um: float) -> None:
    """Gaussian grain is as wide as theory says, to 3 %, whatever the squares of the pixels that averaged it."""
    field = grow_field((256, 256), pitch_um=pitch_um, spread_um=spread_um, sigma_48=0.01, seed=11)
    found = width(1.0 + field, pitch_um)

    assert found.width_um == pytest.approx(bell_width(spread_um), rel=0.03)


def test_undoing_pixels_is_exact_for_what_they_can_show() -> None:
    """A wave that squares of a pixel have averaged has its height back."""
    wave = np.cos(2 * math.pi * 0.3 * (np.arange(100) + 0.5))
    seen = np.tile(wave * np.sinc(0.3), (40, 1))

    assert undo_pixels(seen) == pytest.approx(np.tile(wave, (40, 1)), abs=1e-9)


def test_intervals_cover() -> None:
    """Of 40 views, at least 35 have the width that theory gives in their 95 % intervals."""
    aim = bell_width(5.0)
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

    assert isinstance(found, NotSeen)
    assert found.why.startswith("the grain is finer than the scan shows: at the limit of its pixels (9.0 um)")


def test_no_grain_is_refused() -> None:
    """A density that only drifts never loses its likeness."""
    found = measure_correlation(np.tile(np.linspace(0.9, 1.1, 200) ** 3, (200, 1)), 5.0)

    assert isinstance(found, NotSeen)


def test_tiny_views_are_refused() -> None:
    """Fewer than 16 pixels a side tell nothing."""
    assert isinstance(measure_correlation(np.ones((12, 12)), 5.0), NotSeen)


def test_half_width_between_pixels() -> None:
    """A bell is followed exactly between its samples; one that never halves has no width."""
    lags = np.arange(12.0)

    assert find_half_width(3 * np.exp(-(lags**2) / 7)) == pytest.approx(math.sqrt(7 * math.log(2)), abs=1e-12)
    assert find_half_width(np.ones(5)) is None
    assert find_half_width(np.array([1.0, -0.2])) == pytest.approx(math.sqrt(0.5 / 1.2), abs=1e-12)
