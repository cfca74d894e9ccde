"""The simulated grain against the random-disc model and its known numbers."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from simulation.grain import APERTURE_UM, compute_overlap_factor, compute_scatter, drop_discs, grow_grain

# Variance of opaque equal discs over Siedentopf's 0.4343 a D / A, by density: the model's exact integral, worked out
# apart from this code and checked there by simulation.
OVERLAP_FACTORS = [(0.1, 1.055), (0.3, 1.183), (0.5, 1.336), (1.0, 1.891), (1.5, 2.861), (2.0, 4.655)]


@pytest.mark.parametrize(("density", "factor"), OVERLAP_FACTORS)
def test_overlap_factors(density: float, factor: float) -> None:
    """The exact variance of the disc model is the tabulated multiple of Siedentopf's relation."""
    assert compute_overlap_factor(density) == pytest.approx(factor, abs=0.0006)


def _drop(density: float) -> tuple[float, float]:
    """Return the mean density of dropped discs, and its scatter over Siedentopf's in apertures of 64 pixels."""
    covered = drop_discs(2048, radius_px=4.0, density=density, random=np.random.default_rng(11))
    clear = 1.0 - covered.reshape(32, 64, 32, 64).mean(axis=(1, 3))
    densities = -np.log10(clear)
    disc_area = sum(1 for x in range(-4, 5) for y in range(-4, 5) if x * x + y * y <= 16)
    siedentopf = math.sqrt(0.4343 * disc_area * density / 64.0**2)
    return -math.log10(float(clear.mean())), float(densities.std(ddof=1)) / siedentopf


def test_thin_discs_follow_siedentopf() -> None:
    """At D = 0.3 the scatter is within 12 % of sqrt(0.4343 a D / A) (H. Siedentopf 1937, from memory)."""
    mean, ratio = _drop(0.3)

    assert mean == pytest.approx(0.3, abs=0.01)
    assert ratio == pytest.approx(1.0, abs=0.12)


def test_dense_discs_exceed_siedentopf() -> None:
    """At D = 1.0 the scatter is 1.25 to 1.45 times Siedentopf's, as overlap makes the exact variance larger."""
    mean, ratio = _drop(1.0)

    assert mean == pytest.approx(1.0, abs=0.015)
    assert 1.25 < ratio < 1.45


def test_scatter_is_one_at_net_density_one() -> None:
    """The scatter is stated relative to net density 1.0 and grows with density."""
    scatter = compute_scatter(np.array([0.0, 0.5, 1.0, 2.0]))

    assert scatter[2] == pytest.approx(1.0, abs=1e-12)
    assert (np.diff(scatter) > 0).all()


def _through_aperture(field: NDArray[np.float32], pitch_um: float) -> float:
    """Return the scatter of a film's means through a 48 um circle, from pixels that are means over their squares.

    The circle is cut out finely, 4 by 4 places a pixel, of the field drawn 4 times finer without its pixels' blur.
    """
    finer = 4
    rows, columns = field.shape
    spectrum = np.fft.fftshift(np.fft.fft2(field))
    fy, fx = (np.fft.fftshift(np.fft.fftfreq(n)) for n in field.shape)
    spectrum = spectrum / (np.sinc(fy)[:, None] * np.sinc(fx)[None, :])
    padded = np.zeros((rows * finer, columns * finer), dtype=complex)
    top, left = (rows * finer - rows) // 2, (columns * finer - columns) // 2
    padded[top : top + rows, left : left + columns] = spectrum
    fine = np.fft.ifft2(np.fft.ifftshift(padded)).real * finer**2
    y, x = (np.fft.fftfreq(n) * n * pitch_um / finer for n in fine.shape)
    circle = (np.hypot(y[:, None], x[None, :]) <= APERTURE_UM / 2).astype(np.float64)
    seen = np.fft.irfft2(np.fft.rfft2(fine) * np.fft.rfft2(circle / circle.sum()), s=fine.shape)
    return float(seen.std())


@pytest.mark.parametrize("sigma_um", [2.4, 5.6])
def test_fields_scatter_as_stated_through_the_aperture(sigma_um: float) -> None:
    """A grown field has standard deviation 1 through 48 um, for fine and coarse grain alike."""
    field = grow_grain((256, 256), pitch_um=9.0, sigma_um=sigma_um, random=np.random.default_rng(4))

    # Some 2900 apertures fit, so that chance alone moves this by 1.3 %.
    assert _through_aperture(field, 9.0) == pytest.approx(1.0, abs=0.04)


def test_fields_correlate_as_stated() -> None:
    """White noise spread by a Gaussian s keeps exp(-d^2 / 4 s^2) of its covariance at distance d."""
    field = grow_grain((900, 900), pitch_um=4.0, sigma_um=6.0, random=np.random.default_rng(5))
    at_8_um = float((field * np.roll(field, 2, axis=1)).mean() / (field**2).mean())

    assert at_8_um == pytest.approx(math.exp(-(8.0**2) / (4 * 6.0**2)), abs=0.02)


def test_fields_are_the_same_every_time() -> None:
    """The same seed gives the same grain."""
    one, two = (grow_grain((64, 64), pitch_um=9.0, sigma_um=3.0, random=np.random.default_rng(1)) for _ in range(2))

    assert (one == two).all()
