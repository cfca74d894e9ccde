"""Other ways to draw a curve through the same readings, set against the chosen one by bias and scatter."""

from collections.abc import Callable, Sequence

import numpy as np
from scipy.interpolate import PchipInterpolator

from basefog.measure.contrast import window_slopes
from basefog.measure.curve_fit import GRID_STEP
from basefog.measure.smoother import TYPICAL_DERIVATIVE, made_monotone, smoothing_matrix
from basefog.records.content import FloatArray
from measure.study.curves import (
    BASE_PLUS_FOG,
    KINDS,
    MEASURES,
    PHASES,
    STEPS,
    curve_of_rows,
    density_of,
    find_all,
    true_values,
)

GRID: FloatArray = np.linspace(STEPS[0], STEPS[-1], round(float(STEPS[-1] - STEPS[0]) / GRID_STEP) + 1)
Fit = Callable[[FloatArray, float], FloatArray]
"""Takes readings, a row a test, and their error to curves on the grid."""


def fit_spline(typical_derivative: float, order: int) -> Fit:
    """Return the smoothing spline of a given stiffness, made monotone, as a function of readings and their error."""

    def fit(readings: FloatArray, error: float) -> FloatArray:
        variance = np.full(STEPS.size, error**2)
        matrix = smoothing_matrix(STEPS, variance, GRID, typical_derivative=typical_derivative, order=order)
        return made_monotone(readings @ matrix.T)

    return fit


def fit_monotone_interpolant(readings: FloatArray, _: float) -> FloatArray:
    """Return the shape-preserving cubic through the readings, which are first made monotone."""
    rising = np.maximum.accumulate(readings, axis=1)
    falling = np.minimum.accumulate(readings[:, ::-1], axis=1)[:, ::-1]
    return np.asarray(PchipInterpolator(STEPS, (rising + falling) / 2, axis=1)(GRID))


ALTERNATIVES: dict[str, Fit] = {
    "the chosen spline": fit_spline(TYPICAL_DERIVATIVE, 3),
    "much stiffer": fit_spline(TYPICAL_DERIVATIVE / 8, 3),
    "hardly smoothed": fit_spline(1000.0, 3),
    "a cubic smoothing spline": fit_spline(1.0, 2),
    "a monotone interpolant": fit_monotone_interpolant,
}


def compare_alternatives(
    tests: int, repeatabilities: tuple[float, ...] = (0.005, 0.01, 0.02), names: Sequence[str] = tuple(ALTERNATIVES)
) -> list[dict[str, float | str]]:
    """Return, for every alternative and measure, the largest bias over scatter and the mean scatter over the chosen's.

    One reading a step. All alternatives see the same readings; the scatter is set against that of the first named.
    """
    rows: list[dict[str, float | str]] = []
    errors = {name: _errors_of(ALTERNATIVES[name], tests, repeatabilities) for name in names}
    chosen = errors[names[0]]
    for name, by_measure in errors.items():
        for measure in MEASURES[1:]:
            biases = [cell.mean() / cell.std() for cell in by_measure[measure]]
            ratios = [
                cell.std() / other.std() for cell, other in zip(by_measure[measure], chosen[measure], strict=True)
            ]
            rows.append(
                {
                    "estimator": name,
                    "measure": measure,
                    "largest_bias_ratio": round(float(max(biases, key=abs)), 3),
                    "scatter_ratio": round(float(np.mean(ratios)), 3),
                }
            )
    return rows


def _errors_of(fit: Fit, tests: int, repeatabilities: tuple[float, ...]) -> dict[str, list[FloatArray]]:
    """Return the errors of every measure, an array a cell of kind and repeatability."""
    found: dict[str, list[FloatArray]] = {measure: [] for measure in MEASURES}
    for kind in KINDS:
        truths = [true_values(kind, phase) for phase in PHASES]
        for repeatability in repeatabilities:
            generator = np.random.Generator(np.random.PCG64(1890))
            cell: dict[str, list[FloatArray]] = {measure: [] for measure in MEASURES}
            for phase, truth in zip(PHASES, truths, strict=True):
                count = tests // len(PHASES)
                readings = density_of(kind, STEPS, phase) + repeatability * generator.standard_normal(
                    (count, STEPS.size)
                )
                base = BASE_PLUS_FOG + repeatability * generator.standard_normal(count)
                curve = curve_of_rows(GRID, fit(readings, repeatability), base)
                # All rows are tests of one film: how they scatter is their error.
                values = find_all(
                    curve,
                    slope_error=window_slopes(curve).std(axis=0),
                    density_error=float(curve.density.std(axis=0).mean()),
                )
                for measure in MEASURES:
                    cell[measure].append(values[measure] - truth[measure])
            for measure in MEASURES:
                both = np.concatenate(cell[measure])
                found[measure].append(both[np.isfinite(both)])
    return found
