"""The two-way fit x = row + column with weights: its operators, its leverages, and the values it leaves out.

On a bracket the rows are frames and the columns patches. Values are named by their place in flat arrays, because a
bracket has holes; the columns count from one of them, which is zero.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from basefog.records.content import FloatArray

IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

LIMIT = 4.0
"""Standardised residuals from which a value is left out (project)."""

MOST_LEFT_OUT = 5
"""Values left out at most (project)."""

FEWEST_KEPT = 3
"""Values that a row and a column keep, so that what is left still has something to disagree with (project)."""

NORMAL_QUARTILE = 0.6745
"""Median of |z| of a standard normal z."""

_ALL_LEVERAGE = 1.0 - 1e-9


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TwoWay:
    """A weighted two-way layout, solved: linear in its values.

    `rows` (R, n) and `columns` (C, n) take the n values to the row and column effects; NaN throughout where a row or
    column has no value. `leverage` (n,) is the share h of each value in its own prediction. `degrees` of freedom are
    values - rows - columns + 1.
    """

    rows: FloatArray
    columns: FloatArray
    leverage: FloatArray
    degrees: int


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Screened:
    """What was left out of a two-way fit: `kept` (n,); `left` in the order of leaving; `stuck` could not."""

    kept: BoolArray
    left: tuple[int, ...]
    stuck: tuple[int, ...]


def find_linked(row: IntArray, column: IntArray, zero: int) -> BoolArray:
    """Return which values hang together with the column `zero` through common rows, (n,).

    >>> find_linked(np.array([0, 0, 1, 2]), np.array([0, 1, 1, 2]), zero=0).tolist()
    [True, True, True, False]
    """
    linked = column == zero
    while True:
        wider = np.isin(row, row[linked])
        wider |= np.isin(column, column[wider])
        if wider.sum() == linked.sum():
            return np.asarray(wider)
        linked = wider


def solve_two_way(row: IntArray, column: IntArray, weight: FloatArray, *, rows: int, columns: int, zero: int) -> TwoWay:
    """Return the operators of the least-squares fit of x = r_row + c_column, c_zero = 0.

    Arguments: `row`, `column`, `weight` (n,), weights above 0; every value linked to column `zero` (see
    `find_linked`); `rows` and `columns`, how many there are.

    Raises ValueError where some value isn't linked to column `zero`.

    Source: weighted least squares, any text of statistics; leverage h = diag(A (A'WA)^-1 A'W).

    >>> fit = solve_two_way(np.array([0, 0, 1, 1]), np.array([0, 1, 0, 1]), np.ones(4), rows=2, columns=2, zero=0)
    >>> (fit.columns @ np.array([1.0, 1.5, 2.0, 2.7])).round(6).tolist(), fit.leverage.round(6).tolist(), fit.degrees
    ([0.0, 0.6], [0.75, 0.75, 0.75, 0.75], 1)
    """
    if not find_linked(row, column, zero).all() or not row.size:
        raise ValueError("every value must be linked to the zero column")
    row_ids, row_at = np.unique(row, return_inverse=True)
    column_ids, column_at = np.unique(column[column != zero], return_inverse=True)
    design = np.zeros((row.size, row_ids.size + column_ids.size))
    design[np.arange(row.size), row_at] = 1.0
    design[np.flatnonzero(column != zero), row_ids.size + column_at] = 1.0
    weighted = design.T * weight
    operator = np.linalg.solve(weighted @ design, weighted)
    of_rows, of_columns = np.full((rows, row.size), np.nan), np.full((columns, row.size), np.nan)
    of_rows[row_ids] = operator[: row_ids.size]
    of_columns[column_ids] = operator[row_ids.size :]
    of_columns[zero] = 0.0
    return TwoWay(
        rows=of_rows,
        columns=of_columns,
        leverage=np.asarray(np.einsum("ij,ji->i", design, operator)),
        degrees=row.size - row_ids.size - column_ids.size,
    )


def solve_known_rows(
    column: IntArray, covariance: FloatArray, with_rows: FloatArray, *, columns: int, zero: int
) -> TwoWay:
    """Return the operators of the fit x = r_row + c_column, c_zero = 0, whose row effects are zero but for an error.

    The columns are found by generalised least squares, c = (A'S^-1 A)^-1 A'S^-1 x, and the rows' errors predicted from
    what is left, r = C S^-1 (x - A c). Values of column `zero` tell nothing here, and their operators are zero.

    Arguments: `column` (n,); `covariance` S (n, n), positive definite, of the values' errors, the rows' among them;
    `with_rows` C (R, n), the covariance of the rows' errors with these.

    Source: best linear unbiased estimate and prediction; C. R. Henderson, Biometrics 31 (1975) 423 (from memory).

    >>> fit = solve_known_rows(np.array([1, 1]), np.diag([1.0, 3.0]), np.array([[0.5, 0.0]]), columns=2, zero=0)
    >>> fit.columns[1].round(6).tolist(), fit.rows[0].round(6).tolist()
    ([0.75, 0.25], [0.125, -0.125])
    """
    told = np.flatnonzero(column != zero)
    ids, at = np.unique(column[told], return_inverse=True)
    design = np.zeros((told.size, ids.size))
    design[np.arange(told.size), at] = 1.0
    inverse = np.linalg.inv(covariance[np.ix_(told, told)])
    operator = np.linalg.solve(design.T @ inverse @ design, design.T @ inverse) if told.size else design.T
    hat = design @ operator
    of_rows, of_columns = np.zeros((with_rows.shape[0], column.size)), np.full((columns, column.size), np.nan)
    of_rows[:, told] = with_rows[:, told] @ inverse @ (np.eye(told.size) - hat)
    of_columns[ids] = 0.0
    of_columns[np.ix_(ids, told)] = operator
    of_columns[zero] = 0.0
    leverage = np.zeros(column.size)
    leverage[told] = np.diag(hat)
    return TwoWay(rows=of_rows, columns=of_columns, leverage=leverage, degrees=told.size - ids.size)


def find_residuals(fit: TwoWay, row: IntArray, column: IntArray, values: FloatArray) -> FloatArray:
    """Return values less their predictions, (n,); all are of the values the fit was made from."""
    return np.asarray(values - (fit.rows @ values)[row] - (fit.columns @ values)[column], dtype=np.float64)


def standardise(residuals: FloatArray, u_values: FloatArray, leverage: FloatArray) -> FloatArray:
    """Return z = r / (u sqrt(1 - h)); zero where a value alone decides its prediction (h = 1)."""
    free = leverage < _ALL_LEVERAGE
    return np.where(free, residuals / (u_values * np.sqrt(np.where(free, 1 - leverage, 1.0))), 0.0)


def find_shifts(
    residuals: FloatArray, covariance: FloatArray, hat: FloatArray, directions: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return how far the values lie off in each direction, and its standard uncertainty, their errors hanging together.

    v'S^-1 r / (v'S^-1 (I - H) v), and the root of one over its divisor. A unit vector v asks how far one value lies
    from where the others and their errors put it; r / sqrt(var r) would also see in it what another value has put
    there, and with a diagonal S the quotient of the two is the z of `standardise`. Zero, and infinite, where the values
    don't tell (h = 1).

    Arguments: `residuals` (n,); `covariance` S, `hat` H (n, n), which takes the values to their predictions;
    `directions` (n, m).

    Source: W. Baarda, A Testing Procedure for Use in Geodetic Networks (1968), from memory.

    >>> shifts, errors = find_shifts(np.array([2.0, -2.0]), np.diag([4.0, 4.0]), np.full((2, 2), 0.5), np.eye(2))
    >>> (shifts / errors).round(6).tolist()
    [1.414214, -1.414214]
    """
    weighted = np.linalg.solve(covariance, directions)
    told = np.sum(weighted * (directions - hat @ directions), axis=0)
    free = told > (1 - _ALL_LEVERAGE) * np.sum(weighted * directions, axis=0)
    divisor = np.where(free, told, 1.0)
    return np.where(free, residuals @ weighted / divisor, 0.0), np.where(free, divisor**-0.5, np.inf)


def leave_out(row: IntArray, column: IntArray, values: FloatArray, u_values: FloatArray, *, zero: int) -> Screened:
    """Return which values to keep: the worst is left out, the rest fitted again, five times at most.

    A value is judged where |z| is beyond 4 max(1, median|z| / 0.6745). It goes if its row and column both keep three
    values; else it is `stuck`: it stays in the fit, but the others are judged without it, or they would be blamed for
    what it does to them. All stay linked: a value that alone links others has h = 1 and fits exactly.

    Arguments: all (n,); `u_values`, standard uncertainties above 0; every value linked to column `zero`.
    """

    def judge(at: IntArray) -> FloatArray:
        return _standardised(row[at], column[at], values[at], u_values[at], zero)

    return screen(row, column, judge)


def screen(row: IntArray, column: IntArray, judge: Callable[[IntArray], FloatArray]) -> Screened:
    """Return which values to keep, as `leave_out`, by any fit.

    Arguments: `row`, `column` (n,); `judge` takes the places of m values and returns |z| of each about the fit of
    these, (m,).
    """
    kept = np.ones(row.size, dtype=np.bool_)
    judged = kept.copy()
    left: list[int] = []
    stuck: list[int] = []
    while len(stuck) < MOST_LEFT_OUT:
        at = np.flatnonzero(judged)
        z = judge(at)
        worst = int(np.argmax(z))
        if z[worst] <= LIMIT * max(1.0, float(np.median(z)) / NORMAL_QUARTILE):
            break
        place = int(at[worst])
        if len(left) < MOST_LEFT_OUT and _may_go(place, kept, row, column):
            kept[place] = False
            left.append(place)
        else:
            stuck.append(place)
        judged[place] = False
    return Screened(kept=kept, left=tuple(left), stuck=tuple(stuck))


def _standardised(row: IntArray, column: IntArray, values: FloatArray, u_values: FloatArray, zero: int) -> FloatArray:
    """Return |z| of every value about the fit of them all."""
    fit = solve_two_way(row, column, u_values**-2, rows=int(row.max()) + 1, columns=int(column.max()) + 1, zero=zero)
    return np.abs(standardise(find_residuals(fit, row, column, values), u_values, fit.leverage))


def _may_go(place: int, kept: BoolArray, row: IntArray, column: IntArray) -> bool:
    """Return whether the row and the column of a value keep enough without it."""
    in_row = np.count_nonzero(kept & (row == row[place])) - 1
    in_column = np.count_nonzero(kept & (column == column[place])) - 1
    return bool(min(in_row, in_column) >= FEWEST_KEPT)
