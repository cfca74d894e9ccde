"""RMS granularity: how much density scatters from place to place, seen through a round aperture.

In the manner of ISO 10505, but read from a calibrated scan: density is turned
into transmittance, slow shading divided out, the transmittance averaged over the aperture, turned back, and its
standard deviation taken. The scanner's own blur and noise are in it.
"""

import math

import numpy as np

from basefog.picture.texture.shading import SHADING_TERMS, remove_shading, why_uneven
from basefog.records.content import FloatArray
from basefog.records.numbers import fixed
from basefog.records.scan_figures import Granularity, NotSeen

APERTURE_UM = 48.0
"""Diameter of the measuring aperture (ISO 10505:2009, seen in secondary places)."""

LEAST_PIXELS_ACROSS = 5.0
LEAST_APERTURES = 200

_ROWS_AT_ONCE = 512
_NO_VARIANCE = 1e-16
_LEAST_LIGHT = 1e-6
_RIM_PX = 4
"""Pixels beyond the aperture's rim that carry weights, of either sign: the granularity is then known to 1 %."""


def aperture_weights(diameter_px: float) -> FloatArray:
    """Return the weights by which pixels make up a round aperture of that diameter, centred on a pixel; sum 1.

    K(u, v) = 2 J1(pi d f) / (pi d f) / (sinc u sinc v), f = hypot(u, v) cycles a pixel: the response of a circle, less
    that of the pixels, which have averaged over their own squares already. Weights by area, each pixel by its share
    inside the circle, would blur the rim a second time and read granularity 3 to 7 % low at five pixels across, by
    more the coarser the scan.

    >>> weights = aperture_weights(5.0)
    >>> weights.shape, round(float(weights.sum()), 9)
    ((15, 15), 1.0)
    """
    from scipy.special import j1

    reach = math.ceil(diameter_px / 2) + _RIM_PX
    side = 8 * reach
    u = np.fft.fftfreq(side)[None, :]
    v = u.T
    turn = np.maximum(math.pi * diameter_px * np.hypot(u, v), 1e-12)
    response = 2 * j1(turn) / turn / (np.sinc(u) * np.sinc(v))
    weights = np.fft.fftshift(np.fft.ifft2(response).real)
    middle = slice(side // 2 - reach, side // 2 + reach + 1)
    return np.asarray(weights[middle, middle] / weights[middle, middle].sum())


def average_through(density: FloatArray, diameter_px: float) -> FloatArray:
    """Return the density seen through a round aperture at every place where its weights lie whole in the region.

    D_A = -log10(sum w 10^-D): transmittance is averaged, not density, as light passes an aperture.
    """
    from scipy.signal import oaconvolve

    weights = aperture_weights(diameter_px)
    reach = weights.shape[0] - 1
    seen = np.empty((density.shape[0] - reach, density.shape[1] - reach))
    # By bands: the transforms take eight times the room of what they transform.
    for top in range(0, seen.shape[0], _ROWS_AT_ONCE):
        transmittance = 10.0 ** -density[top : top + _ROWS_AT_ONCE + reach]
        averaged = oaconvolve(transmittance, weights, mode="valid")
        # Beside a step far larger than grain the weights' negative rim may leave no light at all.
        seen[top : top + _ROWS_AT_ONCE] = -np.log10(np.maximum(averaged, _LEAST_LIGHT))
    return seen


def measure_granularity(
    density: FloatArray, pitch_um: float, aperture_um: float = APERTURE_UM
) -> Granularity | NotSeen:
    """Return the standard deviation of density through a round aperture, with its 95 % interval.

    s^2 = sum (D_A - mean)^2 / n x N / (N - 6) over all n places of the aperture, however they overlap, where N is the
    number of aperture areas that the region holds. The interval is that of a variance with nu degrees of freedom,
    nu s^2 / chi^2, where nu = area / integral of rho^2 counts how many independent apertures the region is worth: rho
    is the autocorrelation of D_A, so that overlapping apertures and clumped grain count for what they are.

    Arguments: `density` (rows, columns), base and fog included; `pitch_um` the pixels' distance on the thing measured;
    `aperture_um` the aperture's diameter there.

    Returns NotSeen, saying why, where the aperture spans fewer than 5 pixels, fewer than 200 apertures fit side
    by side, or the region is uneven.

    Source: ISO 10505:2009 for aperture and mean density (its scope seen, these in secondary places); the variance of a
    variance of correlated values: M. S. Bartlett 1946.
    """
    across = aperture_um / pitch_um
    rows, columns = density.shape
    apertures = int(rows / across) * int(columns / across)
    if across < LEAST_PIXELS_ACROSS:
        return NotSeen(
            why=f"an aperture of {aperture_um:g} um spans only {fixed(across, 1)} pixels, at least "
            f"{LEAST_PIXELS_ACROSS:g} are needed: scan finer"
        )
    if min(rows, columns) < aperture_weights(across).shape[0] + LEAST_PIXELS_ACROSS:
        return NotSeen(why=f"the view is too narrow for apertures of {aperture_um:g} um: choose a larger even area")
    if apertures < LEAST_APERTURES:
        return NotSeen(
            why=f"only {apertures} apertures of {aperture_um:g} um fit into the view, at least {LEAST_APERTURES} are "
            "needed: choose a larger even area"
        )
    seen = average_through(remove_shading(density), across)
    deviations = seen - seen.mean()
    area = rows * columns / (math.pi * (across / 2) ** 2)
    variance = float(np.mean(deviations**2)) * area / (area - SHADING_TERMS)
    if variance < _NO_VARIANCE:
        return NotSeen(why="the area has no grain at all: every place has one density")
    freedom = _count_independent(deviations, across) * (1 - SHADING_TERMS / area)
    if why := why_uneven(deviations, variance, across, freedom):
        return NotSeen(why=why)
    low, high = _chi_square_bounds(freedom)
    return Granularity(
        sigma=math.sqrt(variance),
        low=math.sqrt(variance * low),
        high=math.sqrt(variance * high),
        density=float(seen.mean()),
        apertures=apertures,
        degrees_of_freedom=freedom,
    )


def autocovariance(deviations: FloatArray, reach: int) -> FloatArray:
    """Return the mean product of values at every distance up to `reach` pixels down and to both sides.

    The result has rows 0 to reach and columns -reach to reach; each distance is averaged over the pairs that there
    are.
    """
    from scipy.fft import irfft2, next_fast_len, rfft2

    rows, columns = deviations.shape
    shape = (next_fast_len(rows + reach + 1), next_fast_len(columns + reach + 1))
    products = irfft2(np.abs(rfft2(deviations, s=shape)) ** 2, s=shape)
    down, across = np.arange(reach + 1), np.arange(-reach, reach + 1)
    pairs = (rows - down)[:, None] * (columns - np.abs(across))[None, :]
    return np.asarray(products[np.ix_(down, across)] / pairs)


def _count_independent(deviations: FloatArray, across: float) -> float:
    """Return the region's area over the integral of the squared autocorrelation, up to one and a half apertures."""
    reach = min(math.ceil(1.5 * across), min(deviations.shape) - 1)
    covariance = autocovariance(deviations, reach)
    correlation = covariance / covariance[0, reach]
    down, right = np.mgrid[: reach + 1, -reach : reach + 1]
    squares = np.where(np.hypot(down, right) <= reach, correlation**2, 0.0)
    # The half plane below stands for that above.
    total = float(squares[0].sum() + 2 * squares[1:].sum())
    return float(deviations.size) / total


def _chi_square_bounds(freedom: float) -> tuple[float, float]:
    """Return the factors of a variance that bound it with 95 %: freedom / chi^2 at 97.5 and at 2.5 %."""
    from scipy.special import gammaincinv

    low, high = (2 * float(gammaincinv(freedom / 2, share)) for share in (0.025, 0.975))
    return freedom / high, freedom / low
