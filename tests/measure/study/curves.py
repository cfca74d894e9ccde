"""The five kinds of film curve of the study, in closed form, and the true value of every measure on them."""

from collections.abc import Callable

import numpy as np

from basefog.measure.contrast import find_average_gradient, find_contrast_index, find_gamma, find_gradient
from basefog.measure.contrast import find_useful_limits as find_limits
from basefog.measure.curve_fit import FittedCurve
from basefog.measure.speed import find_speed_point
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


KINDS: dict[str, Callable[[FloatArray], FloatArray]] = {
    "soft toe": lambda x: 0.65 * bend(x, 0.70, 0.20),
    "hard toe": lambda x: 0.65 * bend(x, 0.70, 0.08),
    "long straight line": lambda x: 0.62 * bend(x, 0.60, 0.12),
    "early shoulder": lambda x: 0.70 * (bend(x, 0.60, 0.12) - bend(x, 2.20, 0.25)),
    "two-slope": lambda x: 0.50 * bend(x, 0.60, 0.12) + 0.35 * bend(x, 1.70, 0.15),
}
"""Net density by log exposure. The hard toe turns within half a step: nothing sharper can be told from 0.15 steps."""

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


def find_all(curve: FittedCurve) -> dict[str, FloatArray]:
    """Return the measures of the study for every row of a curve."""
    average = find_average_gradient(curve)
    lower, upper, _ = find_limits(curve, average)
    return {
        "base_plus_fog": curve.base_plus_fog,
        "maximum_density": curve.density[:, -1],
        "speed_point": find_speed_point(curve),
        "average_gradient": average,
        "contrast_index": find_contrast_index(curve),
        "gamma": find_gamma(curve),
        "shadow_gradient": find_gradient(curve, 0.0, 0.60),
        "middle_gradient": find_gradient(curve, 0.60, 1.40),
        "highlight_gradient": find_gradient(curve, 1.40, 2.00),
        "useful_range": (upper - lower) / LOG10_2,
    }
