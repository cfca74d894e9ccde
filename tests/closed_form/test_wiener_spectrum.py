"""The Wiener spectrum of white noise, known in closed form.

The definition is that of J. C. Dainty and R. Shaw, Image Science, 1974: W(u, v) = (dx dy / Nx Ny) |FFT|^2. Its integral
is the variance (Parseval), and white noise of pitch p and deviation s has W = s^2 p^2 everywhere. No published number
was found; the worked one is arithmetic: 0.05^2 x 5^2 = 0.0625 um^2.
"""

import numpy as np
import pytest

from basefog.picture.texture.spectrum import average_tiles, compute_spectrum

SIGMA, PITCH_UM = 0.05, 5.0


def test_white_noise_is_flat() -> None:
    """Deviation 0.05 in pixels of 5 um: 0.0625 um^2 at every frequency, its mean within 2 %."""
    density = np.random.default_rng(51).normal(1.0, SIGMA, (512, 512))
    found = compute_spectrum(density, PITCH_UM)
    assert found is not None

    assert found.power_um2.mean() == pytest.approx(0.0625, rel=0.02)
    assert np.abs(found.power_um2 / 0.0625 - 1).max() < 0.12
    assert found.cycles_per_mm[-1] == pytest.approx(100.0, rel=0.01)


def test_the_integral_is_the_variance() -> None:
    """The sum of W du dv is the variance, to 1e-9."""
    density = np.random.default_rng(52).normal(1.0, SIGMA, (64, 64))
    power = average_tiles(density, PITCH_UM)
    assert power is not None

    assert power.sum() / (64 * PITCH_UM) ** 2 == pytest.approx(float(density.var()), rel=1e-9)
