"""Film speed by ISO 6: the speed point, its speed, and the speed brought to standard contrast."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve
from basefog.measure.intervals import missing, quantity_from_draws, scale_parts
from basefog.records.content import FloatArray
from basefog.records.findings import Curve, Quantity
from basefog.records.numbers import fixed, round_to_digits

SPEED_POINT_DENSITY = 0.10
"""Density above base plus fog at the speed point (ISO 6:1993)."""

KEPT_CURVES = 4
"""Curves whose speed points and average gradients are kept at hand."""

CONTRAST_RUN = 1.30
"""Log exposure from the speed point m to the second point n (ISO 6:1993)."""

CONTRAST_RISE, CONTRAST_TOLERANCE = 0.80, 0.05
"""Density by which n is above m under ISO 6:1993, and how far off still counts."""

CORRECTION_RISE = (0.50, 1.20)
"""Density rise over which the delta X parabola is used."""

STANDARD_DELTA_X = 0.2956
"""Delta X at the standard rise of 0.80."""

HALF_A_STEP = 0.05
"""Half a step of the standard scale, log units."""

_BELOW_TEN = (1.0, 1.2, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
_TEN_TO_A_HUNDRED = (10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 64.0, 80.0)
_FROM_A_HUNDRED = (100.0, 125.0, 160.0, 200.0, 250.0, 320.0, 400.0, 500.0, 640.0, 800.0)
STANDARD_SPEEDS = (
    *_BELOW_TEN,
    *_TEN_TO_A_HUNDRED,
    *(speed * 10.0**decade for decade in range(4) for speed in _FROM_A_HUNDRED),
)
"""The standard scale in third-stop steps, from 10 up seen in secondary places.

Below 10 it goes on by the same steps; that they are called 3 and 6 there, not 3.2 and 6.4, is from memory.
"""


LAMP_NOT_COUNTED = "the lamp's own error is not counted: the series does not state it (exposure.u_lux_s)"

WHY_AXES = {
    "mixed": "one log exposure is absolute and the other relative",
    "metered": "the log exposures are relative, each to its own metered exposure",
    "wedges": "both log exposures are relative, and not on the same wedge",
}
"""Why the log exposures of two curves can't be compared."""


def round_to_standard_speed(speed: float) -> float:
    """Return the value of the standard scale nearest in logarithm.

    Arguments: `speed`, arithmetic, above 0. Raises ValueError where it is not.

    >>> round_to_standard_speed(118.0), round_to_standard_speed(111.0)
    (125.0, 100.0)
    """
    if not speed > 0:
        raise ValueError("speed must be above 0")
    return min(STANDARD_SPEEDS, key=lambda standard: abs(math.log10(standard / speed)))


def compute_speed(log_exposure: FloatArray | float) -> FloatArray:
    """Return S = 0.80 / H_m for a speed point in log10 lux seconds (ISO 6:1993).

    >>> float(compute_speed(np.log10(0.0064)).round(9))
    125.0
    """
    return np.asarray(0.80 / 10 ** np.asarray(log_exposure, dtype=np.float64))


def compute_delta_x(density_rise: FloatArray | float) -> FloatArray:
    """Return delta X = 0.83 - 0.86 dD + 0.24 dD^2.

    Arguments: `density_rise` dD, from the speed point to 1.30 log units above it.
    Returns log units; NaN outside 0.50 to 1.20, where the parabola is not used.

    Source: C. N. Nelson and J. L. Simonds, J. Opt. Soc. Am. 46 (May 1956); the numbers were seen in secondary places.

    >>> float(compute_delta_x(0.80).round(4))
    0.2956
    """
    rise = np.asarray(density_rise, dtype=np.float64)
    low, high = CORRECTION_RISE
    return np.where((rise >= low) & (rise <= high), 0.83 - 0.86 * rise + 0.24 * rise**2, np.nan)


@lru_cache(maxsize=KEPT_CURVES)
def find_speed_point(curve: FittedCurve) -> FloatArray:
    """Return log H_m of every draw: where D = base plus fog + 0.10 (ISO 6:1993). NaN outside the readings.

    Most measures start from it, so that it is kept for the curves last asked for; the array is read-only.
    """
    points = curve.log_exposure_at(curve.base_plus_fog + SPEED_POINT_DENSITY)
    points.flags.writeable = False
    return points


def measure_speed_point(curve: FittedCurve) -> Quantity:
    """Return the speed point with its interval, or why there is none."""
    return _place_quantity(find_speed_point(curve), curve, why=why_no_speed_point(curve))


def why_no_speed_point(curve: FittedCurve) -> str:
    """Return why a curve has no speed point, in the tester's words; empty where it has one."""
    if curve.base_why is not None:
        return curve.base_why
    level = float(curve.base_plus_fog[0]) + SPEED_POINT_DENSITY
    first, last = float(curve.density[0, 0]), float(curve.density[0, -1])
    if last < level:
        return (
            f"the curve ends at {fixed(last - level + 0.10, 2)} above base plus fog, and the speed point lies at 0.10"
        )
    if first > level:
        above = fixed(first - level + 0.10, 2)
        return f"the first step already stands {above} above base plus fog: a darker step is missing"
    return ""


def measure_iso_speed(curve: FittedCurve) -> Quantity:
    """Return the ISO speed: the value rounded to the standard scale, low and high the unrounded 0.80/H_m's.

    S = 0.80 / H_m, only where H is in lux seconds and D_n - D_m lies in 0.80 +- 0.05 (ISO 6:1993). Otherwise no
    value; the reason names the condition that failed and the unrounded figure.
    """
    if not curve.absolute:
        return missing("log exposure is relative", "ISO")
    points, rise = _speed_and_rise(curve)
    if not math.isfinite(points[0]):
        return missing(why_no_speed_point(curve), "ISO")
    speed = float(compute_speed(points[0]))
    if not math.isfinite(rise[0]):
        return missing(
            f"the contrast condition can't be judged: {why_curve_ends_short(curve, CONTRAST_RUN)}; "
            f"0.80/H is {round_to_digits(speed, 4):g} unrounded",
            "ISO",
        )
    if abs(rise[0] - CONTRAST_RISE) > CONTRAST_TOLERANCE:
        return missing(
            f"the contrast condition of ISO 6 is not met: the curve rises {fixed(rise[0], 3)} in 1.30 log units, "
            f"where 0.75 to 0.85 is asked; 0.80/H is {round_to_digits(speed, 4):g} unrounded",
            "ISO",
        )
    if speed < STANDARD_SPEEDS[0] * 10**-HALF_A_STEP:
        return missing(f"the standard scale begins at 1; 0.80/H is {round_to_digits(speed, 4):.4g} unrounded", "ISO")
    point = _place_quantity(points, curve, why="")
    return _speed_quantity(point, value=round_to_standard_speed(speed))


def measure_contrast_corrected_speed(curve: FittedCurve) -> Quantity:
    """Return the speed brought to standard contrast where only the contrast condition of ISO 6 fails.

    S_c = 0.80 x 10^(dX - 0.2956) / H_m, dX by `compute_delta_x`. Never called an ISO speed.
    """
    if not curve.absolute:
        return missing("log exposure is relative", "ISO")
    points, rise = _speed_and_rise(curve)
    if not math.isfinite(points[0]):
        return missing(why_no_speed_point(curve), "ISO")
    if not math.isfinite(rise[0]):
        return missing(why_curve_ends_short(curve, CONTRAST_RUN), "ISO")
    if abs(rise[0] - CONTRAST_RISE) <= CONTRAST_TOLERANCE:
        return missing("not needed: the contrast condition of ISO 6 is met", "ISO")
    corrected = points - compute_delta_x(rise) + STANDARD_DELTA_X
    why = f"the curve rises {fixed(rise[0], 3)} in 1.30 log units, and the correction holds from 0.50 to 1.20 only"
    point = _place_quantity(corrected, curve, why=why)
    return _speed_quantity(point, value=float(compute_speed(corrected[0])))


def _place_quantity(log_exposure: FloatArray, curve: FittedCurve, *, why: str) -> Quantity:
    """Return a log exposure with its interval; a note says where the lamp's own error is not in it."""
    note = LAMP_NOT_COUNTED if curve.absolute and curve.lamp is None else None
    return quantity_from_draws(log_exposure, "log H", why=why, note=note, wedge=curve.wedge, lamp=curve.lamp)


def _speed_quantity(point: Quantity, *, value: float) -> Quantity:
    """Return 0.80 / H for a log exposure with its interval, whose ends change places; `value` is given.

    Its parts are those of the logarithm of the speed: those of the log exposure with the other sign.
    """
    if point.value is None or point.low is None or point.high is None or point.parts is None:
        return replace(point, unit="ISO")
    low, high = float(compute_speed(point.high)), float(compute_speed(point.low))
    exact = float(compute_speed(point.value))
    return replace(
        point, value=value, low=low, high=high, unit="ISO", exact=exact, parts=scale_parts(point.parts, -1.0)
    )


def why_axes_differ(curve: FittedCurve | Curve, other: FittedCurve | Curve) -> str:
    """Return why two curves' log exposures can't be compared; empty where they can."""
    if curve.absolute and other.absolute:
        return ""
    if curve.absolute != other.absolute:
        return WHY_AXES["mixed"]
    if BRACKET_AXIS in {curve.axis, other.axis}:
        return WHY_AXES["metered"]
    if curve.axis != other.axis:
        return WHY_AXES["wedges"]
    return ""


def why_curve_ends_short(curve: FittedCurve, run: float, what: str = "the second point") -> str:
    """Return how far before the speed point plus `run` a curve ends, in the tester's words."""
    why = why_no_speed_point(curve)
    if why:
        return why
    missing_run = float(find_speed_point(curve)[0]) + run - curve.last
    return f"the curve ends {fixed(missing_run, 2)} log units before {what}"


def _speed_and_rise(curve: FittedCurve) -> tuple[FloatArray, FloatArray]:
    points = find_speed_point(curve)
    return points, curve.density_at(points + CONTRAST_RUN) - curve.density_at(points)
