"""Slow shading and even tones: what of a region's density is the lamp's and the lens's, and what is grain.

Slow shading is one smooth surface over the whole region: a polynomial of the second order, fitted to density (the
logarithm of transmittance) and so divided out of transmittance. It has six free terms where the region holds hundreds
of apertures, so that it can follow a lamp but no grain; what it takes from the grain all the same (six degrees of
freedom) is given back in the standard deviation. Unevenness that no such surface follows (a fold, lettering, streaks)
is refused, not removed.
"""

import math

import numpy as np

from basefog.records.content import FloatArray

SHADING_TERMS = 6
"""Free terms of a polynomial of the second order in two directions."""

_BLOCK_APERTURES = 4
"""Side, in apertures, of the blocks in which unevenness is looked for."""

_UNEVEN_SHARE = 0.10
"""Share of the variance that unevenness may add: 5 % of the granularity (project)."""

_SPECK_RATIO = 1.30
"""Standard deviation over that which the median deviation gives: beyond it a few places rule (project)."""


def remove_shading(density: FloatArray) -> FloatArray:
    """Return a region with its slow shading divided out of transmittance, its mean density kept.

    The surface s = sum c_ij x^i y^j, i + j <= 2, is fitted to density by least squares and subtracted, which divides
    10^-s out of transmittance.

    Arguments: `density` (rows, columns), at least 3 x 3.

    >>> y, x = np.mgrid[:30, :40]
    >>> float(np.ptp(remove_shading(1 + 0.01 * x + 1e-4 * x * y)).round(9))
    0.0
    """
    rows, columns = density.shape
    # Legendre polynomials of each direction: nearly independent over a grid, so that the fit is well conditioned.
    of_y, of_x = _legendre(rows), _legendre(columns)
    terms = [(i, j) for i in range(3) for j in range(3 - i)]
    surfaces = np.stack([np.outer(of_y[i], of_x[j]).ravel() for i, j in terms])
    coefficients = np.linalg.solve(surfaces @ surfaces.T, surfaces @ density.ravel())
    surface = (coefficients @ surfaces).reshape(density.shape)
    return np.asarray(density - surface + density.mean())


def why_uneven(deviations: FloatArray, variance: float, across: float) -> str | None:
    """Return why a region is no even tone, or None: blocks that differ by more than their grain, or a few specks."""
    side = round(_BLOCK_APERTURES * across)
    rows, columns = (size // side for size in deviations.shape)
    if rows * columns > SHADING_TERMS + 1:
        blocks = deviations[: rows * side, : columns * side].reshape(rows, side, columns, side).mean(axis=(1, 3))
        freedom = rows * columns - SHADING_TERMS
        found = float(np.sum((blocks - blocks.mean()) ** 2)) / freedom
        # Grain alone leaves a 16th of the variance times the ratio of square to round aperture areas, and a little
        # for what neighbouring grain adds; sampling brings that up to the 99.9 % point of chi^2.
        expected = 1.2 * math.pi / 4 / _BLOCK_APERTURES**2 * variance
        from scipy.special import gammaincinv

        chance = 2 * float(gammaincinv(freedom / 2, 0.999)) / freedom
        if found > max(expected * chance, expected + _UNEVEN_SHARE * variance):
            return (
                "the area is uneven: its parts differ by more than their grain, and not as slow shading does; "
                "choose an even tone"
            )
    middle = float(np.median(np.abs(deviations - np.median(deviations)))) / 0.6745
    if math.sqrt(float(np.mean(deviations**2))) > _SPECK_RATIO * middle:
        return "a few places differ far from the rest: dust, scratches or detail; clean the scan or move the view"
    return None


def _legendre(count: int) -> FloatArray:
    x = np.linspace(-1.0, 1.0, count)
    return np.stack([np.ones(count), x, 1.5 * x * x - 0.5])
