"""The calm curve, smoothed until only what stands out of the error is left: straight lines are looked for on it."""

import numpy as np

from basefog.measure.resampling import DRAWS
from basefog.measure.smoother import apply_to_rows, smoothing_matrix
from basefog.records.content import FloatArray

CALM_DERIVATIVE = 2.0
"""Typical derivative of the calm curve (from the simulation study)."""

CALM_DOUBT = 3.0
"""How many times smaller or larger the typical derivative might as well have been (from the simulation study)."""


def calm_curves(log_exposure: FloatArray, variance: FloatArray, grid: FloatArray, readings: FloatArray) -> FloatArray:
    """Return the calm curve of every row of readings; a row need not rise.

    How calm is right hangs on the film: a stiff curve makes one straight line of two bumps, a lithe one makes bumps of
    errors. The draws are therefore by turns a third and three times as stiff as the estimate, so that the spread of
    what is chosen by them holds that doubt. Rows after 1 + DRAWS are smoothed as the estimate is.

    Arguments: `log_exposure` (n,) and `variance` (n,) as in `smoothing_matrix`; `grid` (g,), log units; `readings`
    (1 + DRAWS or more, n). Returns (rows, g), density.
    """
    calm = np.empty((readings.shape[0], grid.size))
    others = np.ones(readings.shape[0], dtype=np.bool_)
    for first, derivative in ((1, CALM_DERIVATIVE * CALM_DOUBT), (2, CALM_DERIVATIVE / CALM_DOUBT)):
        turn = slice(first, 1 + DRAWS, 2)
        matrix = smoothing_matrix(log_exposure, variance, grid, typical_derivative=derivative)
        calm[turn] = apply_to_rows(readings[turn], matrix.T)
        others[turn] = False
    matrix = smoothing_matrix(log_exposure, variance, grid, typical_derivative=CALM_DERIVATIVE)
    calm[others] = apply_to_rows(readings[others], matrix.T)
    return calm


def error_within_turns(draws: FloatArray) -> FloatArray:
    """Return the standard error of what is read off calm curves, how they are smoothed apart.

    The scatter of the draws of each turn about their own mean, root mean square over the two turns.

    Arguments: `draws` (1 + DRAWS or more, ...), as `calm_curves` has them. Returns an array without the first axis.

    >>> error_within_turns(np.array([[0.6], [0.5], [0.9], [0.7], [0.9]])).round(3).tolist()
    [0.071]
    """
    turns = [draws[first : 1 + DRAWS : 2] for first in (1, 2)]
    return np.asarray(np.sqrt(np.mean([turn.var(axis=0) for turn in turns], axis=0)), dtype=np.float64)
