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

_TERMS = tuple((i, j) for i in range(3) for j in range(3 - i))
"""Orders of the terms, down and across."""

_BLOCKS_ACROSS = 24

_BLOCK_APERTURES = 4
"""Side, in apertures, of the blocks in which unevenness is looked for."""

_UNEVEN_SHARE = 0.10
"""Share of the variance that unevenness may add: 5 % of the granularity (project)."""

_SPECK_SHARE = 0.05
"""Share of the standard deviation that a few places may add (project)."""

_GRAIN_SPREAD = 1.3
"""How many times what white noise would leave grain leaves in a block, at most: it reaches into neighbours."""

_CHANCE = 0.9999
"""Certainty with which an honest area is not called uneven."""


def remove_shading(density: FloatArray) -> FloatArray:
    """Return a region with its slow shading divided out of transmittance, its mean kept.

    The surface s = sum c_ij x^i y^j, i + j <= 2, is fitted by least squares to the densities of square blocks, a 24th
    of the region's shorter side each, whose transmittance is averaged first: single pixels of coarse grain scatter
    too lopsidedly for their densities to be averaged. Subtracting s divides 10^-s out of transmittance.

    Arguments: `density` (rows, columns), at least 3 x 3.

    >>> y, x = np.mgrid[:30, :40]
    >>> float(np.ptp(remove_shading(1 + 0.01 * x + 1e-4 * x * y)).round(6))
    0.0
    """
    rows, columns = density.shape
    side = max(1, min(density.shape) // _BLOCKS_ACROSS)
    high, wide = rows // side, columns // side
    clear = (10.0 ** -density[: high * side, : wide * side]).reshape(high, side, wide, side).mean(axis=(1, 3))
    at_y, at_x = ((np.arange(count) + 0.5) * side - 0.5 for count in (high, wide))
    (of_y, of_x) = _polynomials((at_y, at_x), density.shape)
    surfaces = np.stack([np.outer(of_y[i], of_x[j]).ravel() for i, j in _TERMS])
    solved = np.linalg.solve(surfaces @ surfaces.T, surfaces @ -np.log10(clear).ravel())
    coefficients = np.zeros((3, 3))
    for (i, j), coefficient in zip(_TERMS, solved, strict=True):
        coefficients[i, j] = coefficient
    whole = (np.arange(rows, dtype=np.float64), np.arange(columns, dtype=np.float64))
    of_y, of_x = _polynomials(whole, density.shape)
    # Along one direction first: the surfaces themselves would take six times the region's room.
    surface = of_y.T @ (coefficients @ of_x)
    even = density - surface
    even += surface.mean()
    return even


def why_uneven(deviations: FloatArray, variance: float, across: float, freedom: float) -> str | None:
    """Return why a region is no even tone, or None: blocks that differ by more than their grain, or a few specks.

    Arguments: `deviations` of density through the aperture at every place; `variance` theirs; `across` the aperture's
    diameter in pixels; `freedom` how many independent apertures they are worth.
    """
    side = round(_BLOCK_APERTURES * across)
    rows, columns = (size // side for size in deviations.shape)
    if rows * columns > 1:
        blocks = deviations[: rows * side, : columns * side].reshape(rows, side, columns, side).mean(axis=(1, 3))
        count = rows * columns - 1
        found = float(np.sum((blocks - blocks.mean()) ** 2)) / count
        # Grain alone leaves a 16th of the variance times the ratio of square to round aperture areas, and a little
        # for what neighbouring grain adds; sampling brings that up to a far point of chi^2.
        expected = _GRAIN_SPREAD * math.pi / 4 / _BLOCK_APERTURES**2 * variance
        from scipy.special import gammaincinv

        chance = 2 * float(gammaincinv(count / 2, _CHANCE)) / count
        if found > max(expected * chance, expected + _UNEVEN_SHARE * variance):
            return (
                "the area is uneven: its parts differ by more than their grain, and not as slow shading does; "
                "choose an even tone"
            )
    middle = float(np.median(np.abs(deviations - np.median(deviations)))) / 0.6745
    # The ratio of the two scatters by 0.93 / sqrt(n) for n normal values.
    if math.sqrt(float(np.mean(deviations**2))) > (1 + _SPECK_SHARE + 4 / math.sqrt(freedom)) * middle:
        return "a few places differ far from the rest: dust, scratches or detail; clean the scan or move the view"
    return None


def _polynomials(places: tuple[FloatArray, FloatArray], shape: tuple[int, ...]) -> tuple[FloatArray, FloatArray]:
    """Return the polynomials of order 0 to 2 at rows and at columns of a region, (3, y) and (3, x).

    Legendre's: their products are nearly independent over a grid, so that the fit is well conditioned.
    """
    y, x = (2 * np.asarray(at) / max(1, count - 1) - 1 for at, count in zip(places, shape, strict=True))
    of_y, of_x = (np.stack([np.ones(place.size), place, 1.5 * place**2 - 0.5]) for place in (y, x))
    return of_y, of_x
