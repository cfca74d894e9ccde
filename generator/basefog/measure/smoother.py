"""The smooth curve through readings as one matrix: linear in the readings, so that resampling is one product."""

import math

import numpy as np

from basefog.records.content import FloatArray

PENALISED_DERIVATIVE = 3
"""Order of the derivative whose square is kept small."""

TYPICAL_DERIVATIVE = 8.0
"""Typical size of that derivative, density per (log unit)^2.5, from the simulation study: see `smoothing_matrix`."""

STRIP_PRODUCTS = 200_000
"""Multiplications in one strip of a matrix product."""


def check_increasing(name: str, values: FloatArray, *, at_least: int = 2) -> None:
    """Raise ValueError unless an array is 1-D, finite and strictly increasing, of `at_least` values.

    >>> check_increasing("log_exposure", np.array([0.0, 0.3, 0.3]))
    Traceback (most recent call last):
    ...
    ValueError: log_exposure must rise from value to value
    """
    if values.ndim != 1 or values.size < at_least:
        raise ValueError(f"{name} must be one row of at least {at_least} values")
    if not np.isfinite(values).all():
        raise ValueError(f"{name} must be finite")
    if (np.diff(values) <= 0).any():
        raise ValueError(f"{name} must rise from value to value")


def smoothing_matrix(
    log_exposure: FloatArray,
    variance: FloatArray,
    grid: FloatArray,
    *,
    typical_derivative: float = TYPICAL_DERIVATIVE,
    order: int = PENALISED_DERIVATIVE,
) -> FloatArray:
    """Return the matrix that takes mean readings to the smoothing spline on a grid.

    The spline f minimises sum((D_i - f(x_i))^2 / variance_i) + integral(f^(order)^2) / typical_derivative^2, where
    `order` is 2 or 3. As the readings get better the spline goes over into the interpolating one.

    Arguments: `log_exposure` (n,), log units, rising; `variance` (n,), squared density, above 0; `grid` (g,), log
    units, inside the readings. Returns (g, n).

    Raises ValueError where the log exposures do not rise, a variance is not above 0, or there are fewer than
    `order` readings.

    Source: G. Wahba, Spline Models for Observational Data (1990).

    >>> x = np.array([0.0, 1.0, 2.0, 3.0])
    >>> matrix = smoothing_matrix(x, np.full(4, 1e-4), x)
    >>> bool(np.allclose(matrix @ (1.0 + 2.0 * x), 1.0 + 2.0 * x))
    True
    """
    check_increasing("log_exposure", log_exposure, at_least=order)
    if variance.shape != log_exposure.shape or not (variance > 0).all():
        raise ValueError("variance must hold one value above 0 for each log exposure")
    origin = log_exposure[0]
    sites, points = log_exposure - origin, grid - origin
    count = sites.size
    system = np.zeros((count + order, count + order))
    system[:count, :count] = typical_derivative**2 * _kernel(sites, sites, order) + np.diag(variance)
    system[:count, count:] = np.vander(sites, order, increasing=True)
    system[count:, :count] = system[:count, count:].T
    ahead = np.hstack(
        [typical_derivative**2 * _kernel(points, sites, order), np.vander(points, order, increasing=True)]
    )
    return np.asarray(np.linalg.solve(system, ahead.T).T[:, :count], dtype=np.float64)


def apply_to_rows(rows: FloatArray, matrix: FloatArray) -> FloatArray:
    """Return rows @ matrix, computed in strips too small for the linear algebra library to share between threads.

    Its threads wait in a busy loop, which costs more than these products; and no digit may hang on how many there are.

    Arguments: `rows` (r, n), `matrix` (n, g). Returns (r, g).

    >>> apply_to_rows(np.ones((2, 3)), np.ones((3, 1))).tolist()
    [[3.0], [3.0]]
    """
    height = max(1, STRIP_PRODUCTS // matrix.size)
    strips = [rows[start : start + height] @ matrix for start in range(0, rows.shape[0], height)]
    return np.asarray(np.concatenate(strips), dtype=np.float64)


def made_monotone(density: FloatArray) -> FloatArray:
    """Return non-decreasing rows whose ends stand where they stood.

    The rows are held between their own ends, then set halfway between the running maximum from the left and the
    running minimum from the right. A running maximum alone would lift every toe and shoulder by the error of reading.
    """
    first = density[:, :1]
    held = np.clip(density, first, np.maximum(first, density[:, -1:]))
    rising = np.maximum.accumulate(held, axis=1)
    falling = np.minimum.accumulate(held[:, ::-1], axis=1)[:, ::-1]
    return np.asarray((rising + falling) / 2, dtype=np.float64)


def _kernel(left: FloatArray, right: FloatArray, order: int) -> FloatArray:
    """Return integral((s-u)+^(m-1) (t-u)+^(m-1) du) / (m-1)!^2 from zero, for every pair s, t; m is 2 or 3."""
    low = np.maximum(np.minimum(left[:, None], right[None, :]), 0.0)
    apart = np.abs(left[:, None] - right[None, :])
    if order == 2:
        value = low**3 / 3 + apart * low**2 / 2
    elif order == 3:
        value = low**5 / 5 + apart * low**4 / 2 + apart**2 * low**3 / 3
    else:
        raise ValueError("order must be 2 or 3")
    return np.asarray(value / math.factorial(order - 1) ** 2, dtype=np.float64)
