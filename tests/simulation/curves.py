"""Characteristic curves of known truth: sums of soft corners, scaled so that they hit a stated speed and gradient."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

FloatArray = NDArray[np.float64]

SPEED_DENSITY = 0.10
GRADIENT_RANGE = 1.30
SPEED_CONSTANT_LUX_S = 0.80


@dataclass(frozen=True, kw_only=True, slots=True)
class Corner:
    """A soft change of slope: `slope` more from `at` (log exposure) on, over about four times `width`."""

    slope: float
    at: float
    width: float


@dataclass(frozen=True, kw_only=True, slots=True)
class TrueCurve:
    """A film's density as a smooth function of log10 lux seconds.

    D(x) = base_plus_fog + sum over corners of slope * width * ln(1 + exp((x - at) / width)); the first corner is
    the toe, negative ones are shoulders. `speed_log_h` and `average_gradient` restate what it was scaled to.
    """

    base_plus_fog: float
    corners: tuple[Corner, ...]
    speed_log_h: float
    average_gradient: float

    def net_density(self, log_h: FloatArray) -> FloatArray:
        """Return density above base plus fog."""
        x = np.asarray(log_h, dtype=np.float64)
        total = np.zeros_like(x)
        for corner in self.corners:
            total += corner.slope * corner.width * np.logaddexp(0.0, (x - corner.at) / corner.width)
        return total

    def density(self, log_h: FloatArray) -> FloatArray:
        """Return density, base and fog included."""
        return self.base_plus_fog + self.net_density(log_h)

    def gradient(self, log_h: FloatArray) -> FloatArray:
        """Return dD/dlogH."""
        x = np.asarray(log_h, dtype=np.float64)
        total = np.zeros_like(x)
        for corner in self.corners:
            total += corner.slope / (1.0 + np.exp(-(x - corner.at) / corner.width))
        return total


def build_curve(
    *, speed_log_h: float, average_gradient: float, base_plus_fog: float, shape: tuple[Corner, ...]
) -> TrueCurve:
    """Return the curve of a given shape whose speed point and average gradient are exactly those stated.

    `shape` has the toe at 0 and its slope at 1; slopes are scaled together and positions shifted together. The
    speed point is where net density is 0.10, the gradient is over the 1.30 of log exposure that follows it.
    Raises ValueError where no scale of this shape has that gradient.
    """

    def speed_point_of(scale: float) -> float:
        scaled = _scaled(shape, scale, 0.0)
        return float(brentq(lambda x: _net(scaled, x) - SPEED_DENSITY, -3.0, 4.0, xtol=1e-13))

    def gradient_of(scale: float) -> float:
        scaled = _scaled(shape, scale, 0.0)
        m = speed_point_of(scale)
        return (_net(scaled, m + GRADIENT_RANGE) - _net(scaled, m)) / GRADIENT_RANGE

    if not gradient_of(0.15) < average_gradient < gradient_of(3.0):
        raise ValueError(f"no scale of this shape has an average gradient of {average_gradient}")
    scale = float(brentq(lambda s: gradient_of(s) - average_gradient, 0.15, 3.0, xtol=1e-13))
    corners = _scaled(shape, scale, speed_log_h - speed_point_of(scale))
    return TrueCurve(
        base_plus_fog=base_plus_fog, corners=corners, speed_log_h=speed_log_h, average_gradient=average_gradient
    )


def speed_to_log_h(iso_speed: float) -> float:
    """Return the log exposure of the speed point of an ISO speed (ISO 6: S = 0.80 / H).

    >>> round(speed_to_log_h(100.0), 4)
    -2.0969
    """
    return math.log10(SPEED_CONSTANT_LUX_S / iso_speed)


def _scaled(shape: tuple[Corner, ...], scale: float, shift: float) -> tuple[Corner, ...]:
    return tuple(replace(corner, slope=corner.slope * scale, at=corner.at + shift) for corner in shape)


def _net(corners: tuple[Corner, ...], x: float) -> float:
    return math.fsum(c.slope * c.width * float(np.logaddexp(0.0, (x - c.at) / c.width)) for c in corners)
