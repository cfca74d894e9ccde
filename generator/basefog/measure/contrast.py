"""How steep the curve is: over the speed point, along its whole use, on its straight part, and tone by tone."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from basefog.measure.calm_curve import error_within_turns
from basefog.measure.curve_fit import FittedCurve, model_error_of_gradient
from basefog.measure.intervals import missing, quantity_from_draws
from basefog.measure.smoother import apply_to_rows
from basefog.measure.speed import CONTRAST_RUN, KEPT_CURVES, find_speed_point, why_curve_ends_short, why_no_speed_point
from basefog.records.content import FloatArray
from basefog.records.findings import Quantity
from basefog.records.numbers import fixed

INNER_DISTANCE, OUTER_DISTANCE = 0.2, 2.2
"""Distances along the contrast index line, log units (Niederpruem, Nelson and Yule 1966)."""

GAMMA_WINDOW, GAMMA_SHARE = 0.60, 0.9
"""Width of a straight-line window, and the share of the steepest that still counts as straight (project)."""

GAMMA_ALLOWANCE = 0.5
"""By how many of its own errors the steepest window's slope is taken to be too steep (from the simulation study)."""

GAMMA_SHIFT = 0.05
"""Log units from window to window."""

FLATTEST = 1e-9
"""Slope up to which a curve is level: rounding in the last digits makes no slope."""

TONES = {"shadow_gradient": (0.0, 0.60), "middle_gradient": (0.60, 1.40), "highlight_gradient": (1.40, 2.00)}
"""Tone ranges as log units above the speed point (project)."""

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
    """Return (D_n - D_m) / 1.30, n lying 1.30 log units above the speed point m (geometry of ISO 6:1993).

    Its interval also holds what the curve's model leaves open, as those of the tone gradients do.
    """
    return quantity_from_draws(
        find_average_gradient(curve),
        "1",
        why=why_short(curve, CONTRAST_RUN, "the second point"),
        wedge=curve.wedge,
        u_model=model_error_of_gradient(CONTRAST_RUN),
    )


def measure_tone_gradient(curve: FittedCurve, measure: str) -> Quantity:
    """Return the mean gradient over one of the three tone ranges, with its ratio to the average gradient (project).

    Where a straight line kinks into its shoulder at about the end of a range, no smooth line tells how the curve turns
    between two steps, however well they are read: the interval holds that too (see `curve_fit.MODEL_ERROR`).
    """
    start, stop = TONES[measure]
    gradient = find_gradient(curve, start, stop)
    average = float(find_average_gradient(curve)[0])
    quantity = quantity_from_draws(
        gradient,
        "1",
        why=why_short(curve, stop, "the end of the tone range"),
        wedge=curve.wedge,
        u_model=model_error_of_gradient(stop - start),
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
    greatest (project; the gamma of Hurter and Driffield 1890 where a straight line exists). The greatest is first
    lessened by its error, see `average_steepest`.
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
    slopes = window_slopes(curve.log_exposure, curve.density)
    # Windows chosen by the very error that they average would make every curve too steep.
    calm = slopes if curve.calm_density is None else window_slopes(curve.log_exposure, curve.calm_density)
    return average_steepest(slopes, calm, error_within_turns(calm))


def average_steepest(slopes: FloatArray, calm: FloatArray, error: FloatArray) -> FloatArray:
    """Return the mean slope of each row's windows whose calm slope is at least 0.9 of the greatest; NaN if flat.

    The greatest of many slopes that err is most often one that errs upwards: held against it, windows of the straight
    line would be left out for their error, and gamma would come out too steep. So the greatest is first lessened by
    half its own error. Known without error, this is the plain definition.

    Arguments: `slopes` and `calm` (r, windows); `error` (windows,), the standard errors of the calm slopes.
    """
    steepest = calm.argmax(axis=1)
    greatest = calm[np.arange(calm.shape[0]), steepest]
    steep = _shares_above(calm - GAMMA_SHARE * (greatest - GAMMA_ALLOWANCE * error[steepest])[:, None])
    mean = (slopes * steep).sum(axis=1) / np.maximum(steep.sum(axis=1), FLATTEST)
    return np.where(greatest > FLATTEST, mean, np.nan)


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


def window_slopes(grid: FloatArray, density: FloatArray) -> FloatArray:
    """Return every row's least-squares slope in each window of 0.60 log units, (r, g) -> (r, windows)."""
    return apply_to_rows(density, _slope_weights(grid))


def _slope_weights(grid: FloatArray) -> FloatArray:
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


def why_short(curve: FittedCurve, run: float, what: str) -> str:
    """Return why a measure that ends `run` log units above the speed point can't be had, in the tester's words."""
    return why_no_speed_point(curve) or why_curve_ends_short(curve, run, what)
