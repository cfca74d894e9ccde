"""Grain: how density scatters with the aperture, after the model of opaque discs dropped at random.

The exact variance of the model gives the scatter's growth with density; the field itself is Gaussian, since an
aperture of 48 um holds thousands of grains.
"""

import math
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.special import j1

FloatArray = NDArray[np.float64]

APERTURE_UM: Final = 48.0
DENSITY_PER_COVER: Final = math.log10(math.e)
_FOG_GRAIN_DENSITY: Final = 0.06
"""Net density to which the grains of fog and toe amount, so that the base isn't grainless."""


def compute_overlap_factor(density: float) -> float:
    """Return how many times the density variance of equal opaque discs exceeds 0.4343 a D / A in a wide aperture.

    K = integral over the plane of (exp(lambda ov(h)) - 1) / (lambda a^2), with lambda a = D / 0.4343 and ov(h) the
    overlap of two discs of area a at distance h. Siedentopf's relation is K = 1.

    >>> round(compute_overlap_factor(1.0), 2)
    1.89
    """
    cover = density / DENSITY_PER_COVER
    if cover <= 0.0:
        return 1.0

    def over(distance: float) -> float:
        half = distance / 2.0
        overlap = (2.0 * math.acos(half) - distance * math.sqrt(1.0 - half * half)) / math.pi
        return math.expm1(cover * overlap) * 2.0 * math.pi * distance

    total, _ = quad(over, 0.0, 2.0)
    return float(total) / (cover * math.pi)


@cache
def _scatter_table() -> tuple[FloatArray, FloatArray]:
    density = np.linspace(0.0, 3.2, 65)
    scatter = np.array([math.sqrt(d * compute_overlap_factor(d)) for d in density + _FOG_GRAIN_DENSITY])
    return density, scatter / np.interp(1.0, density, scatter)


def compute_scatter(net_density: FloatArray) -> FloatArray:
    """Return the standard deviation of density at a net density as a multiple of that at net 1.0."""
    return np.asarray(np.interp(net_density, *_scatter_table()))


def grow_grain(
    shape: tuple[int, int], *, pitch_um: float, sigma_um: float, random: np.random.Generator
) -> NDArray[np.float32]:
    """Return a Gaussian field of correlation `sigma_um` whose mean through a 48 um circle has standard deviation 1.

    That holds of the film; each pixel then shows the mean over its own square.
    """
    white = np.fft.rfft2(random.standard_normal(shape))
    fy, fx = np.fft.fftfreq(shape[0], pitch_um)[:, None], np.fft.rfftfreq(shape[1], pitch_um)[None, :]
    frequency = np.hypot(fy, fx)
    spread = np.exp(-2.0 * (math.pi * sigma_um * frequency) ** 2)
    turn = math.pi * APERTURE_UM * np.maximum(frequency, 1e-9)
    through = spread * 2.0 * j1(turn) / turn
    # Columns of the half spectrum other than the first (and the last of an even width) stand for two.
    twice = np.full(fx.shape, 2.0)
    twice[0, 0] = 1.0
    if shape[1] % 2 == 0:
        twice[0, -1] = 1.0
    variance = float((through**2 * twice).sum()) / (shape[0] * shape[1])
    pixel = np.sinc(fy * pitch_um) * np.sinc(fx * pitch_um)
    return np.asarray(np.fft.irfft2(white * spread * pixel, s=shape) / math.sqrt(variance), dtype=np.float32)


def drop_discs(size_px: int, *, radius_px: float, density: float, random: np.random.Generator) -> NDArray[np.bool_]:
    """Return which pixels of a square lie under opaque discs dropped at random to a mean density."""
    reach = math.ceil(radius_px)
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    disc = (x * x + y * y <= radius_px * radius_px).astype(np.float64)
    rate = density / DENSITY_PER_COVER / float(disc.sum())
    centres = random.poisson(rate, (size_px, size_px)).astype(np.float64)
    kernel = np.zeros((size_px, size_px))
    kernel[: 2 * reach + 1, : 2 * reach + 1] = disc
    covered = np.fft.irfft2(np.fft.rfft2(centres) * np.fft.rfft2(kernel), s=(size_px, size_px))
    return np.asarray(covered > 0.5)
