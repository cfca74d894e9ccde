"""How steep the curve is: over the speed point, along its whole use, on its straight part, and tone by tone."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from basefog.measure.curve_fit import GRID_STEP, FittedCurve
from basefog.measure.intervals import missing, quantity_from_draws
from basefog.measure.smoother import apply_to_rows
from basefog.measure.speed import CONTRAST_RUN, KEPT_CURVES, find_speed_point, why_curve_ends_short, why_no_speed_point
from basefog.records.content import FloatArray
from basefog.records.findings import Quantity
from basefog.records.numbers import fixed
from basefog.records.vocabulary import LOG10_2

INNER_DISTANCE, OUTER_DISTANCE = 0.2, 2.2
"""Distances along the contrast index line, log units (Niederpruem, Nelson and Yule 1966)."""

GAMMA_WINDOW, GAMMA_SHARE = 0.60, 0.9
"""Width of a straight-line window, and the share of the steepest that still counts as straight (project)."""

GAMMA_SHIFT = 0.05
"""Log units from window to window."""

FLATTEST = 1e-9
"""Slope up to which a curve is level: rounding in the last digits makes no slope."""

TONES = {"shadow_gradient": (0.0, 0.60), "middle_gradient": (0.60, 1.40), "highlight_gradient": (1.40, 2.00)}
"""Tone ranges as log units above the speed point (project)."""

RANGE_SECANT, RANGE_SHARE = 0.30, 0.3
"""Width of the secant and share of the average gradient that bound the useful range."""

SMALLEST_SINE = 1e-4
"""Sine of the flattest contrast index line looked for."""

_ROUNDS = 9
_HAIR = 1e-9


def find_gradient(curve: FittedCurve, start: float, stop: float) -> FloatArray:
    """Return every draw's mean gradient from `start` to `stop` log units above its speed point; NaN if not reached."""
    points = find_speed_point(curve)
    rise = curve.density_at(points + stop) - curve.density_at(points + start)
    return np.asarray(rise / (stop - start), dtype=np.float64)


@lru_cache(maxsize=KEPT_CURVES)
def find_average_gradient(curve: FittedCurve) -> FloatArray:
    """Return every draw's (D_n - D_m) / 1.30, read-only; NaN where n lies outside the readings."""
    gradient = find_gradient(curve, 0.0, CONTRAST_RUN)
    gradient.flags.writeable = False
    return gradient


def measure_average_gradient(curve: FittedCurve) -> Quantity:
    """Return (D_n - D_m) / 1.30, n lying 1.30 log units above the speed point m (geometry of ISO 6:1993)."""
    return quantity_from_draws(
        find_average_gradient(curve),
        "1",
        why=_why_short(curve, CONTRAST_RUN, "the second point"),
        wedge=curve.wedge,
    )


def measure_tone_gradient(curve: FittedCurve, measure: str) -> Quantity:
    """Return the mean gradient over one of the three tone ranges, with its ratio to the average gradient (project)."""
    start, stop = TONES[measure]
    gradient = find_gradient(curve, start, stop)
    average = float(find_average_gradient(curve)[0])
    quantity = quantity_from_draws(
        gradient, "1", why=_why_short(curve, stop, "the end of the tone range"), wedge=curve.wedge
    )
    if quantity.value is None or not average > 0:
        return quantity
    return replace(quantity, relative_to_average=quantity.value / average)


def measure_contrast_index(curve: FittedCurve) -> Quantity:
    """Return the contrast index.

    The slope tan(a) of the line from a point on the base-plus-fog level that meets the curve 0.2 and 2.2 along
    itself. With u = sin(a) and X(d) the log exposure at net density d it solves X(2.2 u) - X(0.2 u) = 2.0 cos(a).

    Source: C. J. Niederpruem, C. N. Nelson and J. A. C. Yule, Phot. Sci. Eng. 10 (1966); seen in secondary places.
    """
    if curve.base_why is not None:
        return missing(curve.base_why)
    return quantity_from_draws(find_contrast_index(curve), "1", why=_why_no_contrast_index(curve), wedge=curve.wedge)


def find_contrast_index(curve: FittedCurve) -> FloatArray:
    """Return every draw's contrast index; NaN where its inner or outer point lies outside the readings."""
    base = curve.base_plus_fog
    low = np.clip((curve.density[:, 0] - base) / INNER_DISTANCE + _HAIR, SMALLEST_SINE, 1.0)
    high = np.minimum((curve.density[:, -1] - base) / OUTER_DISTANCE - _HAIR, 1.0)
    short, long = _index_misfit(curve, low), _index_misfit(curve, high)
    reached = (short <= 0) & (long >= 0) & (high > low)
    over_before = np.zeros(low.shape, dtype=np.bool_)
    # Regula falsi; an end kept twice has its misfit halved (Illinois). The misfit is nearly straight: few rounds do.
    for turn in range(_ROUNDS):
        span = long - short
        sine = np.clip(low - short * (high - low) / np.where(span > 0, span, np.inf), low, high)
        misfit = _index_misfit(curve, sine)
        over = misfit > 0
        high, low = np.where(over, sine, high), np.where(over, low, sine)
        again = np.where(over == over_before, 0.5, 1.0) if turn else 1.0
        long, short = np.where(over, misfit, long * again), np.where(over, short * again, misfit)
        over_before = over
    return np.where(reached & (sine < 1.0), sine / np.sqrt(np.maximum(1 - sine**2, 1e-12)), np.nan)


def _index_misfit(curve: FittedCurve, sine: FloatArray) -> FloatArray:
    run = curve.log_exposure_at(curve.base_plus_fog + OUTER_DISTANCE * sine) - curve.log_exposure_at(
        curve.base_plus_fog + INNER_DISTANCE * sine
    )
    return np.asarray(run - (OUTER_DISTANCE - INNER_DISTANCE) * np.sqrt(np.maximum(1 - sine**2, 0.0)))


def _why_no_contrast_index(curve: FittedCurve) -> str:
    first = float(curve.density[0, 0] - curve.base_plus_fog[0])
    if first > SMALLEST_INNER:
        return f"the first step stands {fixed(first, 2)} above base plus fog: the inner point lies below the readings"
    return "the outer point lies above the readings"


SMALLEST_INNER = 0.05
"""Net density of the first step beyond which a missing contrast index is put down to the toe."""


def measure_gamma(curve: FittedCurve) -> Quantity:
    """Return gamma, the slope of the straight line.

    The mean of the least-squares slopes of all 0.60-wide windows of the curve whose slope is at least 0.9 of the
    greatest (project; the gamma of Hurter and Driffield 1890 where a straight line exists).
    """
    if curve.last - curve.first < GAMMA_WINDOW:
        return missing(f"the readings span {fixed(curve.last - curve.first, 2)} log units, and a window takes 0.60")
    gamma = quantity_from_draws(find_gamma(curve), "1", why=WHY_FLAT, wedge=curve.wedge)
    return missing(WHY_FLAT) if gamma.low is not None and gamma.low <= 0 else gamma


WHY_FLAT = "the curve is flat: it does not rise by more than its error"


def find_gamma(curve: FittedCurve) -> FloatArray:
    """Return every draw's gamma; NaN where it is flat.

    The windows start every 0.05 log units, and those between run straight from one to the next. Which of them count is
    asked of the calm curve, what they average is taken from the curve itself.
    """
    windows = _window_slopes(curve.log_exposure)
    slopes = apply_to_rows(curve.density, windows)
    # Chosen on the calm curve: windows chosen by the very error that they average would make every curve too steep.
    calm = slopes if curve.calm_density is None else apply_to_rows(curve.calm_density, windows)
    greatest = calm.max(axis=1, keepdims=True)
    steep = _shares_above(calm - GAMMA_SHARE * greatest)
    mean = (slopes * steep).sum(axis=1) / np.maximum(steep.sum(axis=1), FLATTEST)
    return np.where(greatest[:, 0] > FLATTEST, mean, np.nan)


def _shares_above(excess: FloatArray) -> FloatArray:
    """Return how much each window counts where those between two neighbours, which run straight, count too.

    From window to window gamma then changes as the curve does: in steps it would not, and how it hangs on one step of
    the wedge could not be told.

    Arguments: `excess` (rows, windows), how far each is above the limit. Returns weights alike, zero where all that a
    window has a part in is below.
    """
    if excess.shape[1] == 1:
        return np.ones_like(excess)
    left, right = excess[:, :-1], excess[:, 1:]
    apart = np.abs(left - right)
    # The share of the way between two windows that is above the limit: it touches the upper of the two.
    share = np.clip(np.maximum(left, right) / np.where(apart > 0, apart, 1.0), 0.0, 1.0)
    share = np.where(np.minimum(left, right) >= 0, 1.0, share)
    far = share**2 / 2
    near = share - far
    weights = np.zeros_like(excess)
    weights[:, :-1] += np.where(left >= right, near, far)
    weights[:, 1:] += np.where(left >= right, far, near)
    return weights


def _window_slopes(grid: FloatArray) -> FloatArray:
    """Return (g, windows): the weights that take a curve on the grid to the least-squares slope of each window."""
    step = (grid[-1] - grid[0]) / (grid.size - 1)
    windows = int((grid[-1] - grid[0] - GAMMA_WINDOW) / GAMMA_SHIFT + 1e-9) + 1
    samples = np.linspace(-GAMMA_WINDOW / 2, GAMMA_WINDOW / 2, 61)
    slope_weights = samples / (samples**2).sum()
    starts = np.linspace(0.0, grid[-1] - grid[0] - GAMMA_WINDOW, windows)
    places = (starts[:, None] + samples[None, :] + GAMMA_WINDOW / 2) / step
    left = np.clip(places.astype(np.intp), 0, grid.size - 2)
    share = places - left
    weights = np.zeros((grid.size, windows))
    columns = np.broadcast_to(np.arange(windows)[:, None], left.shape)
    np.add.at(weights, (left, columns), slope_weights * (1 - share))
    np.add.at(weights, (left + 1, columns), slope_weights * share)
    return weights


def measure_useful_range(curve: FittedCurve) -> Quantity:
    """Return the stops between the outermost points where the secant over 0.30 is 0.3 of the average gradient.

    Where the upper point is not reached, a lower bound at the last window's centre; null where the lower is not.

    Source: the fractional gradient criterion, L. A. Jones, J. Franklin Inst. (1939); American Standard
    Z38.2.1-1947. Its 0.3 was seen in a secondary place.
    """
    if curve.base_why is not None:
        return missing(curve.base_why, "stops")
    average = find_average_gradient(curve)
    if not math.isfinite(average[0]):
        return missing(_why_short(curve, CONTRAST_RUN, "the second point"), "stops")
    lower, upper, upper_reached = find_useful_limits(curve, average)
    quantity = quantity_from_draws(
        (upper - lower) / LOG10_2,
        "stops",
        why="the curve is already steeper than the limit at its first steps: the lower point lies below the readings",
        wedge=curve.wedge,
    )
    if quantity.value is not None and not upper_reached[0]:
        return replace(quantity, bound="lower", note="the upper point lies above the readings")
    return quantity


def find_useful_limits(curve: FittedCurve, average: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return every draw's lower and upper limit in log exposure, and whether the upper one was reached."""
    windows = max(2, round((curve.last - curve.first - RANGE_SECANT) / GRID_STEP) + 1)
    starts = np.linspace(curve.first, curve.last - RANGE_SECANT, windows)
    secant = (curve.densities_at(starts + RANGE_SECANT) - curve.densities_at(starts)) / RANGE_SECANT
    step = (starts[-1] - starts[0]) / (windows - 1)
    excess = secant - RANGE_SHARE * average[:, None]
    steep = excess >= 0
    rows, last = np.arange(excess.shape[0]), excess.shape[1] - 1
    begin = np.argmax(steep, axis=1)
    end = last - np.argmax(steep[:, ::-1], axis=1)
    lower = begin - _share_beyond(excess[rows, begin], excess[rows, np.maximum(begin - 1, 0)])
    upper = end + _share_beyond(excess[rows, end], excess[rows, np.minimum(end + 1, last)])
    centre = curve.first + RANGE_SECANT / 2
    reached = steep.any(axis=1) & (begin > 0)
    return np.where(reached, centre + step * lower, np.nan), centre + step * upper, end < last


def _share_beyond(inside: FloatArray, outside: FloatArray) -> FloatArray:
    """Return how far from an inside point (excess >= 0) to its outside neighbour (< 0) the excess is zero, 0 to 1."""
    fall = inside - outside
    return np.where(outside < 0, inside / np.where(fall > 0, fall, 1.0), 0.0)


def _why_short(curve: FittedCurve, run: float, what: str) -> str:
    return why_no_speed_point(curve) or why_curve_ends_short(curve, run, what)
