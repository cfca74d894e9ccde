"""Short monotone curves through a few points, and where they reach an aim: for brackets and development times."""

import numpy as np

from basefog.measure.smoother import apply_to_rows, check_increasing, made_monotone, smoothing_matrix
from basefog.records.content import FloatArray

GRID_INTERVALS = 16
"""Grid points that each interval between two sites is divided into."""

LEVEL = 1e-9
"""Rise that is no more than rounding: a stretch with less is level."""


def fit_rising_rows(
    sites: FloatArray, rows: FloatArray, variance: FloatArray, *, typical_derivative: float
) -> tuple[FloatArray, FloatArray]:
    """Return smooth non-decreasing curves through rows of points, and the grid they stand on.

    Arguments: `sites` (n,), rising, at least two; `rows` (r, n), the values of every draw there; `variance` (n,),
    squared standard uncertainty of one value; `typical_derivative`, of the second derivative (see `smoother`).

    Returns the grid (g,) over the sites, which are on it, and the curves (r, g).

    Raises ValueError where the sites do not rise or a variance is not above 0.

    >>> grid, curves = fit_rising_rows(
    ...     np.array([0.0, 1.0, 2.0]), np.array([[0.1, 0.4, 0.7]]), np.full(3, 1e-4), typical_derivative=1.0
    ... )
    >>> bool(np.allclose(curves[0], 0.1 + 0.3 * grid))
    True
    """
    check_increasing("sites", sites)
    share = np.arange(GRID_INTERVALS) / GRID_INTERVALS
    grid = np.append((sites[:-1, None] + np.diff(sites)[:, None] * share).ravel(), sites[-1])
    matrix = smoothing_matrix(sites, variance, grid, typical_derivative=typical_derivative, order=2)
    return grid, made_monotone(apply_to_rows(rows, matrix.T))


def find_crossings(grid: FloatArray, curves: FloatArray, aims: FloatArray) -> FloatArray:
    """Return where every curve reaches its aim; on a level stretch, its middle. NaN where it does not reach it.

    Arguments: `grid` (g,), rising; `curves` (r, g), non-decreasing; `aims` (r,). Returns (r,).

    >>> grid = np.array([0.0, 1.0, 2.0, 3.0])
    >>> curves = np.array([[0.1, 0.2, 0.2, 0.4]] * 3)
    >>> find_crossings(grid, curves, np.array([0.3, 0.2, 0.5])).round(6).tolist()
    [2.5, 1.5, nan]
    """
    start, end = curves[:, 0], curves[:, -1]
    first = _first_reached(grid, curves, np.clip(aims - LEVEL, start, end))
    last = -_first_reached(-grid[::-1], -curves[:, ::-1], -np.clip(aims + LEVEL, start, end))
    reached = (aims >= start - LEVEL) & (aims <= end + LEVEL)
    return np.where(reached, (first + last) / 2, np.nan)


def _first_reached(grid: FloatArray, curves: FloatArray, aims: FloatArray) -> FloatArray:
    """Return the first place where each curve has its aim, which lies between the curve's ends."""
    right = np.clip(np.count_nonzero(curves < aims[:, None], axis=1), 1, grid.size - 1)
    rows = np.arange(curves.shape[0])
    low, high = curves[rows, right - 1], curves[rows, right]
    rise = np.where(high > low, high - low, 1.0)
    return np.asarray(grid[right - 1] + np.clip((aims - low) / rise, 0.0, 1.0) * (grid[right] - grid[right - 1]))
