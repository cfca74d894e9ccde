"""Over how many stops a film tells tones apart: between the outermost points where it is steep enough."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from basefog.measure.contrast import find_average_gradient, why_short
from basefog.measure.curve_fit import FittedCurve, model_error_of_gradient
from basefog.measure.intervals import LOST_SHARE, missing, quantity_from_draws
from basefog.measure.resampling import DRAWS, alternating_signs, error_of_draws
from basefog.measure.speed import CONTRAST_RUN
from basefog.records.content import FloatArray
from basefog.records.findings import Quantity
from basefog.records.vocabulary import LOG10_2

RANGE_SECANT, RANGE_SHARE = 0.30, 0.3
"""Width of the secant and share of the average gradient that bound the useful range."""

RANGE_SHIFT = 0.03
"""Aimed log units from secant to secant: with straight lines between them the range is right within 0.01 stop."""

LIMIT_RUN, LIMIT_ERRORS = 0.60, 0.75
"""By how many errors of a mean gradient over how many log units the draws shift the limit (from the study)."""

RUN_ERRORS = 4.0
"""Errors of a density by which a steep run beyond a flat one must outweigh it to count (from the study)."""

_HAIR = 1e-12


def measure_useful_range(curve: FittedCurve) -> Quantity:
    """Return the stops between the outermost points where the secant over 0.30 is 0.3 of the average gradient.

    A lower bound where the upper point is not reached, then at the last window's centre, or is not surely reached:
    where more than 2.5 % of the resampled curves do not reach it. Null where the lower point is not reached.

    A shoulder that runs on at about the limit's own gradient lies above or below it by the error of reading alone.
    The draws scatter about a curve that has erred once already, so that they also shift the limit up and down, by
    0.75 of the error of the mean gradient over 0.60, the curve's own among it (found by the simulation study): where
    the curve bends sharply that hardly counts.

    Source: the fractional gradient criterion, L. A. Jones, J. Franklin Inst. (1939); American Standard
    Z38.2.1-1947. Its 0.3 was seen in a secondary place.
    """
    if curve.base_why is not None:
        return missing(curve.base_why, "stops")
    average = find_average_gradient(curve)
    if not math.isfinite(average[0]):
        return missing(why_short(curve, CONTRAST_RUN, "the second point"), "stops")
    shift = LIMIT_ERRORS * _error_of_gradient(curve) * alternating_signs(average.size)
    lower, upper, upper_reached = find_useful_limits(
        curve, RANGE_SHARE * average + shift, density_error=_root_mean_square(error_of_draws(curve.density))
    )
    quantity = quantity_from_draws(
        (upper - lower) / LOG10_2,
        "stops",
        why="the curve is already steeper than the limit at its first steps: the lower point lies below the readings",
        wedge=curve.wedge,
    )
    if quantity.value is None:
        return quantity
    if not upper_reached[0]:
        return replace(quantity, bound="lower", note="the upper point lies above the readings")
    beyond = 1 - float(np.mean(upper_reached[1 : 1 + DRAWS]))
    if beyond > LOST_SHARE:
        note = f"the upper point may lie above the readings: it does for {beyond:.0%} of the resampled curves"
        return replace(quantity, bound="lower", note=f"{quantity.note}; {note}" if quantity.note else note)
    return quantity


def find_useful_limits(
    curve: FittedCurve, limit: FloatArray, *, density_error: float = 0.0
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Return every draw's lower and upper limit in log exposure, and whether the upper one was reached.

    Going out from the steepest secant, a limit is where the curve's gain over a line of the limiting gradient is
    greatest. On a curve whose gradient only falls that is where the secant crosses the limit; on one that errs the
    outermost crossing is an error's, far out, as often as not, and this is not. Further out a steep run counts only
    where it gains more than 4 errors of a density over the flat one before it; without error every one does, and the
    limits are the outermost crossings, as defined.

    Arguments: `limit` (rows,), the limiting gradient; `density_error`, standard error of a density of the curve.
    Lower limits are NaN where they lie below the readings, or the limit is NaN.
    """
    windows = max(2, round((curve.last - curve.first - RANGE_SECANT) / RANGE_SHIFT) + 1)
    starts = np.linspace(curve.first, curve.last - RANGE_SECANT, windows)
    secant = (curve.densities_at(starts + RANGE_SECANT) - curve.densities_at(starts)) / RANGE_SECANT
    step = (starts[-1] - starts[0]) / (windows - 1)
    excess = secant - limit[:, None]
    steepest = secant.argmax(axis=1)
    rows, last = np.arange(excess.shape[0]), windows - 1
    least_gain = RUN_ERRORS * density_error / step + _HAIR
    end = _last_steep(excess, steepest, least_gain)
    begin = last - _last_steep(excess[:, ::-1], last - steepest, least_gain)
    lower = begin - _share_beyond(excess[rows, begin], excess[rows, np.maximum(begin - 1, 0)])
    upper = end + _share_beyond(excess[rows, end], excess[rows, np.minimum(end + 1, last)])
    centre = curve.first + RANGE_SECANT / 2
    reached = (excess[rows, steepest] >= 0) & (begin > 0)
    return np.where(reached, centre + step * lower, np.nan), centre + step * upper, end < last


def _last_steep(excess: FloatArray, start: NDArray[np.intp], least_gain: float) -> NDArray[np.intp]:
    """Return for each row the last window, going up from `start`, that counts as steep: see `find_useful_limits`."""
    windows = np.arange(excess.shape[1])
    gain = np.where(windows >= start[:, None], excess, 0.0).cumsum(axis=1)
    ends = np.where(windows >= start[:, None], gain, -np.inf).argmax(axis=1)
    lowest = np.minimum.accumulate(np.where(windows >= ends[:, None], gain, np.inf), axis=1)
    with np.errstate(invalid="ignore"):
        won_back = np.where(windows >= ends[:, None], gain - lowest, 0.0)
    for row in np.flatnonzero((won_back > least_gain).any(axis=1)):
        run = int(np.flatnonzero(won_back[row] > least_gain)[-1])
        begins = int(np.flatnonzero(won_back[row, :run] <= 0)[-1])
        ends[row] = begins + int(gain[row, begins:].argmax())
    return np.asarray(ends, dtype=np.intp)


def _error_of_gradient(curve: FittedCurve) -> float:
    """Return the error of the mean gradient over 0.60 log units, root mean square along the curve, the model's too."""
    reach = round(LIMIT_RUN / (curve.last - curve.first) * (curve.log_exposure.size - 1))
    rise = curve.density[:, reach:] - curve.density[:, :-reach]
    return math.hypot(_root_mean_square(error_of_draws(rise)) / LIMIT_RUN, model_error_of_gradient(LIMIT_RUN))


def _root_mean_square(values: FloatArray) -> float:
    return math.sqrt(float(np.mean(values**2)))


def _share_beyond(inside: FloatArray, outside: FloatArray) -> FloatArray:
    """Return how far from an inside point (excess >= 0) to its outside neighbour (< 0) the excess is zero, 0 to 1."""
    fall = inside - outside
    return np.where(outside < 0, inside / np.where(fall > 0, fall, 1.0), 0.0)
