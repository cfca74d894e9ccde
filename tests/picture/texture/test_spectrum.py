"""The Wiener spectrum: Parseval, white noise, and the curve of known grain."""

import math

import numpy as np
import pytest

from basefog.picture.texture.spectrum import average_tiles, compute_spectrum, compute_wiener_tile
from picture.texture.fields import grow_field


@pytest.mark.parametrize("shape", [(64, 64), (48, 51)])
def test_parseval(shape: tuple[int, int]) -> None:
    """The sum of the spectrum over all frequencies is the variance, to rounding."""
    density = np.random.default_rng(31).normal(1.0, 0.05, shape)
    deviations = density - density.mean()
    power = compute_wiener_tile(deviations, 5.0)
    step = 1 / (shape[0] * 5.0) / (shape[1] * 5.0)

    assert power.sum() * step == pytest.approx(float(np.mean(deviations**2)), rel=1e-9)


def test_the_mean_of_tiles_keeps_parseval() -> None:
    """Averaged over tiles the sum is the mean of their variances."""
    density = np.random.default_rng(32).normal(1.0, 0.05, (64, 192))
    power = average_tiles(density, 5.0)
    variances = [density[:, left : left + 64].var() for left in range(0, 129, 32)]

    assert power is not None
    assert power.sum() / (64 * 5.0) ** 2 == pytest.approx(float(np.mean(variances)), rel=1e-9)


def test_known_grain_has_its_curve() -> None:
    """Gaussian grain averaged by pixels follows exp(-(2 pi s f)^2) within 8 % at every point of the curve's body."""
    pitch, spread = 4.0, 3.0
    field = grow_field((512, 512), pitch_um=pitch, spread_um=spread, sigma_48=0.01, seed=33)
    found = compute_spectrum(1.0 + field, pitch, note="invented")

    assert found is not None
    assert found.note == "invented"
    f = found.cycles_per_mm / 1000.0
    body = (f > 0.01) & (f < 0.06)
    round_about = np.linspace(0, math.pi / 2, 91)
    u, v = f[:, None] * np.cos(round_about), f[:, None] * np.sin(round_about)
    squares = (np.sinc(u * pitch) * np.sinc(v * pitch)) ** 2
    bell = np.exp(-((2 * math.pi * spread * f) ** 2)) * squares.mean(axis=1)
    ratio = found.power_um2[body] / bell[body]

    assert (np.diff(found.cycles_per_mm) > 0).all()
    assert found.cycles_per_mm[-1] == pytest.approx(125.0, rel=0.02)
    assert np.abs(ratio / ratio.mean() - 1).max() < 0.08


def test_the_low_end_is_what_large_apertures_see() -> None:
    """W near zero over the aperture's area is the variance through it, where the grain is far finer."""
    field = grow_field((400, 400), pitch_um=6.0, spread_um=1.5, sigma_48=0.01, seed=34)
    found = compute_spectrum(1.0 + field, 6.0)

    assert found is not None
    assert math.sqrt(found.power_um2[:6].mean() / (math.pi * 24**2)) == pytest.approx(0.01, rel=0.03)


def test_tiny_views_have_no_spectrum() -> None:
    """Fewer than 16 pixels a side make no curve."""
    assert compute_spectrum(np.ones((12, 40)), 5.0) is None
