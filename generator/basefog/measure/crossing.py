"""Short monotone curves through a few points, and where they reach an aim: for brackets and development times."""

import numpy as np

from basefog.measure.intervals import TAIL
from basefog.measure.smoother import check_increasing, smoothing_matrix
from basefog.records.content import FloatArray

GRID_INTERVALS = 16
"""Grid points that each interval between two sites is divided into."""

SMALLEST_SLOPE_SHARE = 0.25
"""Share of the mean slope below which no slope at an end is believed (project)."""


def are_draws_lost(draws: FloatArray) -> bool:
    """Return whether so many draws are NaN that the interval of the others would be cut short.

    Arguments: `draws` (1 + draws,). More than the 2.5 % that an interval leaves out on one side is too many.

    >>> are_draws_lost(np.array([1.0, np.nan, 1.1])), are_draws_lost(np.array([1.0, 0.9, 1.1]))
    (True, False)
    """
    return bool(np.count_nonzero(np.isnan(draws[1:])) > TAIL * (draws.size - 1))


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
    curves = rows @ matrix.T
    # Halfway between the two nearest rising curves: reading error makes dips, and a dip has no one place of crossing.
    rising = np.maximum.accumulate(curves, axis=1)
    falling = np.minimum.accumulate(curves[:, ::-1], axis=1)[:, ::-1]
    return grid, np.asarray((rising + falling) / 2, dtype=np.float64)


def find_crossings(grid: FloatArray, curves: FloatArray, aims: FloatArray) -> FloatArray:
    """Return where every curve reaches its aim; on a level stretch, its middle.

    Row 0, the estimate, is never carried past the grid: NaN there. The other rows tell its error only, and go on in a
    straight line for as far again as the grid is long, so that an aim near the end keeps both sides of its interval.
    The line has the estimate's slope over the outermost interval between sites (project: at least a quarter of its
    mean slope, since a slope of nearly nothing is mostly error).

    Arguments: `grid` (g,), rising, from `fit_rising_rows`; `curves` (r, g), non-decreasing; `aims` (r,).
    """
    reach = grid[-1] - grid[0]
    estimate = curves[0]
    least = SMALLEST_SLOPE_SHARE * (estimate[-1] - estimate[0]) / reach
    low_slope = (estimate[GRID_INTERVALS] - estimate[0]) / (grid[GRID_INTERVALS] - grid[0])
    high_slope = (estimate[-1] - estimate[-1 - GRID_INTERVALS]) / (grid[-1] - grid[-1 - GRID_INTERVALS])
    below = curves[:, 0] - reach * max(low_slope, least)
    above = curves[:, -1] + reach * max(high_slope, least)
    longer = np.column_stack([below, curves, above])
    places = np.concatenate([[grid[0] - reach], grid, [grid[-1] + reach]])
    first = _reach(places, longer, aims)
    last = -_reach(-places[::-1], -longer[:, ::-1], -aims)
    found = (first + last) / 2
    if not curves[0, 0] <= aims[0] <= curves[0, -1]:
        found[0] = np.nan
    return np.asarray(found, dtype=np.float64)


def _reach(places: FloatArray, curves: FloatArray, aims: FloatArray) -> FloatArray:
    """Return the first place where each curve has its aim, NaN where it has it nowhere."""
    right = np.clip(np.count_nonzero(curves < aims[:, None], axis=1), 1, places.size - 1)
    rows = np.arange(curves.shape[0])
    low, high = curves[rows, right - 1], curves[rows, right]
    rise = np.where(high > low, high - low, 1.0)
    found = places[right - 1] + np.clip((aims - low) / rise, 0.0, 1.0) * (places[right] - places[right - 1])
    return np.where((aims >= curves[:, 0]) & (aims <= curves[:, -1]), found, np.nan)
