"""The kinds of film curve of the study, in closed form, and the true value of every measure on them."""

from collections.abc import Callable

import numpy as np

from basefog.measure.contrast import (
    GAMMA_ALLOWANCE,
    average_steepest,
    find_average_gradient,
    find_contrast_index,
    find_gradient,
    window_slopes,
)
from basefog.measure.curve_fit import FittedCurve
from basefog.measure.speed import find_speed_point
from basefog.measure.useful_range import RANGE_SHARE, find_useful_limits
from basefog.records.content import FloatArray
from basefog.records.vocabulary import LOG10_2

BASE_PLUS_FOG = 0.25
STEPS: FloatArray = np.linspace(0.0, 3.0, 21)
"""Log exposures of the 21 steps."""

PHASES = (0.0, 0.0375, 0.0750, 0.1125)
"""How far the film's curve is shifted against the steps: a film's toe may fall anywhere between two of them."""


def bend(log_exposure: FloatArray, place: float, width: float) -> FloatArray:
    """Return a hinge that rises with slope 1 after `place`, rounded over some `width`: w ln(1 + exp((x - x0) / w))."""
    return np.asarray(width * np.logaddexp(0.0, (log_exposure - place) / width))


def logistic(log_exposure: FloatArray, height: float, place: float, width: float) -> FloatArray:
    """Return a rise from 0 to `height`, half way up at `place`: A / (1 + exp(-(x - x0) / w))."""
    return np.asarray(height / (1 + np.exp(-(log_exposure - place) / width)))


def gompertz(log_exposure: FloatArray, height: float, place: float, width: float) -> FloatArray:
    """Return a rise from 0 to `height` with a quick toe and a slow shoulder: A exp(-exp(-(x - x0) / w))."""
    return np.asarray(height * np.exp(-np.exp(-(log_exposure - place) / width)))


def kink(log_exposure: FloatArray, gradient: float, place: float, later: float) -> FloatArray:
    """Return a straight line on a toe at 0.70 that turns at once, at `place`, into a line of gradient `later`."""
    return np.asarray(
        gradient * bend(log_exposure, 0.70, 0.10) - (gradient - later) * np.maximum(log_exposure - place, 0.0)
    )


Density = Callable[[FloatArray], FloatArray]

OWN_KINDS: dict[str, Density] = {
    "soft toe": lambda x: 0.65 * bend(x, 0.70, 0.20),
    "hard toe": lambda x: 0.65 * bend(x, 0.70, 0.08),
    "long straight line": lambda x: 0.62 * bend(x, 0.60, 0.12),
    "early shoulder": lambda x: 0.70 * (bend(x, 0.60, 0.12) - bend(x, 2.20, 0.25)),
    "two-slope": lambda x: 0.50 * bend(x, 0.60, 0.12) + 0.35 * bend(x, 1.70, 0.15),
}
"""Hinges, and sums of them. The hard toe turns within half a step: nothing sharper can be told from 0.15 steps."""

OTHER_KINDS: dict[str, Density] = {
    "two logistics": lambda x: logistic(x, 0.90, 1.10, 0.22) + logistic(x, 0.90, 2.10, 0.28),
    "Gompertz": lambda x: gompertz(x, 1.40, 1.10, 0.40),
    "kink": lambda x: kink(x, 0.65, 2.20, 0.12),
}
"""Shapes that no sum of hinges holds: what was chosen on the others must do for them."""

HELD_BACK_KINDS: dict[str, Density] = {
    "two logistics held back": lambda x: logistic(x, 1.40, 1.50, 0.30) + logistic(x, 0.40, 2.50, 0.15),
    "Gompertz held back": lambda x: gompertz(x, 2.20, 1.60, 0.65),
    "kink held back": lambda x: kink(x, 0.80, 1.95, 0.18),
}
"""The same shapes with other numbers, which no choice was made by."""

KINDS = OWN_KINDS | OTHER_KINDS | HELD_BACK_KINDS
"""Net density by log exposure."""

MEASURES = (
    "base_plus_fog",
    "maximum_density",
    "speed_point",
    "average_gradient",
    "contrast_index",
    "gamma",
    "shadow_gradient",
    "middle_gradient",
    "highlight_gradient",
    "useful_range",
)
"""The measures that the study follows; the speeds are the speed point on another scale."""


def density_of(kind: str, log_exposure: FloatArray, phase: float) -> FloatArray:
    """Return the density of a kind of film, base and fog included."""
    return BASE_PLUS_FOG + KINDS[kind](log_exposure - phase + PHASES[2])


def true_values(kind: str, phase: float) -> dict[str, float]:
    """Return every measure of a kind of film by its definition, from the closed form on a grid of 0.001."""
    grid = np.linspace(STEPS[0], STEPS[-1], 3001)
    rows = np.tile(density_of(kind, grid, phase), (2, 1))
    return {name: float(values[0]) for name, values in find_all(curve_of_rows(grid, rows)).items()}


def curve_of_rows(grid: FloatArray, rows: FloatArray, base_plus_fog: FloatArray | None = None) -> FittedCurve:
    """Return densities on a grid as a curve, row by row, each on its own base plus fog."""
    return FittedCurve(
        log_exposure=grid,
        density=rows,
        base_plus_fog=np.full(rows.shape[0], BASE_PLUS_FOG) if base_plus_fog is None else base_plus_fog,
        base_why=None,
        base_note=None,
        reading_error=0.01,
        absolute=True,
        axis="contact-21",
        note=None,
    )


def find_all(
    curve: FittedCurve, *, slope_error: FloatArray | float = 0.0, density_error: float = 0.0
) -> dict[str, FloatArray]:
    """Return the measures of the study for every row of a curve, which has the given errors (none: a true curve)."""
    average = find_average_gradient(curve)
    slopes = window_slopes(curve)
    lower, upper, _ = find_useful_limits(curve, RANGE_SHARE * average, density_error=density_error)
    return {
        "base_plus_fog": curve.base_plus_fog,
        "maximum_density": curve.density[:, -1],
        "speed_point": find_speed_point(curve),
        "average_gradient": average,
        "contrast_index": find_contrast_index(curve),
        "gamma": average_steepest(slopes, np.broadcast_to(slope_error, slopes.shape[1:]), GAMMA_ALLOWANCE),
        "shadow_gradient": find_gradient(curve, 0.0, 0.60),
        "middle_gradient": find_gradient(curve, 0.60, 1.40),
        "highlight_gradient": find_gradient(curve, 1.40, 2.00),
        "useful_range": (upper - lower) / LOG10_2,
    }
