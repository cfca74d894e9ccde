"""Grain correlation: over what distance the density of one place still tells of its neighbour's.

The autocorrelation of density along rows and columns, its full width at half height. A scan samples it once a pixel,
and it can be read between the pixels only if the scan has hardly any power left at its own limit of resolution;
grain finer than that is refused.
"""

import math

import numpy as np

from basefog.picture.texture.spectrum import average_tiles
from basefog.records.content import FloatArray
from basefog.records.numbers import fixed
from basefog.records.scan_figures import Correlation, NotSeen

REACH_UM = 120.0
"""Distance up to which the autocorrelation is followed."""

LEFT_AT_LIMIT = 0.10
"""Largest share of power at the pixels' limit: interpolation then errs by less than 5 % for bell-shaped grain."""

_PARTS = 4
"""The region is parted into this many strips each way, for the interval."""


def measure_correlation(density: FloatArray, pitch_um: float) -> Correlation | NotSeen:
    """Return the full width at half height of the autocorrelation of density.

    C(k) = mean of d(x) d(x + k) over rows and columns alike, d the density less its mean, the pixels' own squares
    divided out, so that the pitch of the scan does not show. Between pixels ln C is
    straight in k^2, which is exact for a bell; the width is 2 k where C = C(0) / 2. The interval is the jackknife's
    over 16 parts of the region, each left out in turn, with Student's factor.

    Arguments: `density` (rows, columns), slow shading removed; `pitch_um` the pixels' distance on the film.

    Returns NotSeen, saying why, where more than a tenth of the power per frequency is left at the pixels' limit,
    or the autocorrelation does not halve within 120 um.

    Source: project; the jackknife: J. W. Tukey 1958.
    """
    left = power_at_limit(density, pitch_um)
    if left is None:
        return NotSeen(why="the view is too small: choose a larger even area")
    if left > LEFT_AT_LIMIT:
        return NotSeen(
            why=f"the grain is finer than the scan shows: at the limit of its pixels "
            f"({fixed(pitch_um, 1)} um) {left:.0%} of "
            f"the power is left, at most {LEFT_AT_LIMIT:.0%} may be; scan finer"
        )
    parts = _part_products(undo_pixels(density - density.mean()), max(2, round(REACH_UM / pitch_um)))
    width = find_half_width(_pool(parts))
    outside = [find_half_width(_pool(np.delete(parts, index, axis=0))) for index in range(len(parts))]
    if width is None or None in outside:
        return NotSeen(why=f"the density does not lose its likeness within {REACH_UM:g} um: no grain, or too soft")
    from scipy.special import stdtrit

    without = 2 * pitch_um * np.array(outside, dtype=np.float64)
    count = len(without)
    error = math.sqrt((count - 1) / count * float(np.sum((without - without.mean()) ** 2)))
    half = float(stdtrit(count - 1, 0.975)) * error
    full = 2 * width * pitch_um
    return Correlation(width_um=full, low_um=full - half, high_um=full + half)


def undo_pixels(density: FloatArray) -> FloatArray:
    """Return a region as points would have seen it, not squares: divided by sinc(u) sinc(v) in frequency.

    The region counts as mirrored at its borders. What the scan's optics blurred stays blurred.
    """
    from scipy.fft import dctn, idctn

    u, v = (np.sinc(np.arange(count) / (2 * count)) for count in density.shape)
    return np.asarray(idctn(dctn(density) / (u[:, None] * v[None, :])))


def power_at_limit(density: FloatArray, pitch_um: float) -> float | None:
    """Return the power at the pixels' limit along rows and columns as a share of that at low frequencies.

    None where the region is too small to tell.
    """
    power = average_tiles(density, pitch_um)
    if power is None:
        return None
    side = power.shape[0]
    along = np.abs(np.fft.fftfreq(side))
    u, v = along[:, None], along[None, :]
    near = 1.5 / side
    low = (np.hypot(u, v) < 0.12) & (np.hypot(u, v) > near)
    at_limit = ((u > 0.46) & (v < 0.12)) | ((v > 0.46) & (u < 0.12))
    return float(power[at_limit].mean() / power[low].mean())


def find_half_width(covariance: FloatArray) -> float | None:
    """Return the distance, in pixels, at which the autocovariance has halved; None where it never does.

    >>> round(find_half_width(np.exp(-np.arange(9.0) ** 2 / 4)), 4)
    1.6651
    """
    correlation = covariance / covariance[0]
    below = np.flatnonzero(correlation <= 0.5)
    if below.size == 0:
        return None
    after = int(below[0])
    near, far = float(correlation[after - 1]), float(correlation[after])
    # A logarithm has no value at or below zero: straight in k^2 there.
    share = math.log(near / 0.5) / math.log(near / far) if far > 0 else (near - 0.5) / (near - far)
    return math.sqrt((after - 1) ** 2 + share * (after**2 - (after - 1) ** 2))


def _part_products(deviations: FloatArray, reach: int) -> FloatArray:
    """Return sums of products and counts of pairs by distance, (parts, 2, reach + 1), along rows and columns."""
    parts = []
    for band in np.array_split(deviations, _PARTS, axis=0):
        for part in np.array_split(band, _PARTS, axis=1):
            most = min(reach, min(part.shape) - 1)
            sums, counts = np.zeros(reach + 1), np.zeros(reach + 1)
            for way in (part, part.T):
                for lag in range(most + 1):
                    products = way[: way.shape[0] - lag] * way[lag:]
                    sums[lag] += float(products.sum())
                    counts[lag] += products.size
            parts.append((sums, counts))
    return np.array(parts)


def _pool(parts: FloatArray) -> FloatArray:
    sums, counts = parts.sum(axis=0)
    reached = counts > 0
    return np.asarray(sums[reached] / counts[reached])
