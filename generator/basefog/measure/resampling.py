"""Draws: one estimate and its resampled likes in one array, the same on every machine.

Everywhere in this room an array of draws has its rows along the first axis. Row 0 is the estimate itself, the next
`DRAWS` rows are what it would have been with other errors of reading. Where the wedge's calibration has a known error
two more rows a step follow: the estimate with that step's calibrated density moved up, and down, by its standard
uncertainty (`WedgeRows`). A formula applied to the whole array therefore gives the estimate, its error of reading, and
how it hangs on every step of the wedge, in one go.
"""

import hashlib
from dataclasses import dataclass

import numpy as np

from basefog.records.content import FloatArray

NORMAL_FACTOR = 1.959964
"""Standard deviations of a normal error that hold 95 % of it."""

DRAWS = 600
"""Resampled curves a test: their spread is then known to 3 %."""


def seeded_generator(key: str, purpose: str) -> np.random.Generator:
    """Return the random generator of one test and one purpose: it depends on these two texts alone.

    >>> seeded_generator("tern-100/2026-03-14", "curve").integers(1000, size=3).tolist()
    [439, 86, 733]
    """
    digest = hashlib.sha256(f"{key}\n{purpose}".encode()).digest()
    return np.random.Generator(np.random.PCG64(int.from_bytes(digest[:16], "big")))


def draw_values(values: FloatArray, u_values: FloatArray, generator: np.random.Generator) -> FloatArray:
    """Return draws of independent normal values: row 0 the values themselves, shape (1 + DRAWS, n).

    Arguments: `values` (n,) and their standard uncertainties `u_values` (n,), in one unit.
    """
    drawn = np.empty((1 + DRAWS, values.size))
    drawn[0] = values
    drawn[1:] = values + u_values * generator.standard_normal((DRAWS, values.size))
    return drawn


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class WedgeRows:
    """Which rows follow the draws: for each step of a calibrated wedge one with its density up by u, one with it down.

    `steps` in the wedge's order, all that were read; `u_density` (w,), their standard uncertainties.
    """

    wedge: str
    steps: tuple[str, ...]
    u_density: FloatArray


def count_rows(wedge: WedgeRows | None) -> int:
    """Return how many rows an array of draws has."""
    return 1 + DRAWS + (0 if wedge is None else 2 * len(wedge.steps))


def drawn_rows(rows: FloatArray) -> FloatArray:
    """Return the resampled rows alone: neither the estimate nor the rows of the wedge.

    >>> drawn_rows(np.zeros((1 + DRAWS + 42, 3))).shape
    (600, 3)
    """
    return rows[1 : 1 + DRAWS]


def with_wedge_rows(drawn: FloatArray, wedge: WedgeRows | None) -> FloatArray:
    """Return draws that do not hang on the wedge with the estimate as every row of the wedge."""
    tail = count_rows(wedge) - drawn.shape[0]
    return drawn if tail <= 0 else np.concatenate([drawn, np.repeat(drawn[:1], tail, axis=0)])


def wedge_slopes(rows: FloatArray, wedge: WedgeRows) -> FloatArray:
    """Return how much a quantity changes for each unit of each step's calibrated density, (w,) or (w, k).

    The central difference over +-u; where one of the two can't be had, the other's difference to the estimate; zero
    where neither can.

    Arguments: `rows`, (1 + DRAWS + 2 w,) or (1 + DRAWS + 2 w, k).
    """
    up, down = rows[1 + DRAWS :: 2], rows[2 + DRAWS :: 2]
    u_density = wedge.u_density if rows.ndim == 1 else wedge.u_density[:, None]
    both = (up - down) / (2 * u_density)
    one = np.where(np.isfinite(up), up - rows[0], rows[0] - down) / u_density
    return np.nan_to_num(np.where(np.isfinite(both), both, one), nan=0.0)


def half_widths(rows: FloatArray, wedge: WedgeRows | None) -> FloatArray:
    """Return half the 95 % intervals of a row of quantities, from readings and wedge together, (k,).

    NaN among the draws is left out.
    """
    variance = np.nanmean((drawn_rows(rows) - rows[0]) ** 2, axis=0)
    if wedge is not None:
        variance = variance + np.sum((wedge_slopes(rows, wedge) * wedge.u_density[:, None]) ** 2, axis=0)
    return np.asarray(NORMAL_FACTOR * np.sqrt(variance), dtype=np.float64)


def fold_wedge(rows: FloatArray, wedge: WedgeRows | None) -> FloatArray:
    """Return the estimate and its draws alone, with the wedge's error drawn too, (1 + DRAWS,).

    The error of a step of a wedge is seeded by these two names, so that it is the same in every test on the wedge.
    """
    drawn = rows[: 1 + DRAWS].copy()
    if wedge is None:
        return drawn
    for slope, step, u_density in zip(wedge_slopes(rows, wedge), wedge.steps, wedge.u_density, strict=True):
        drawn[1:] += slope * u_density * seeded_generator(wedge.wedge, f"wedge step {step}").standard_normal(DRAWS)
    return drawn


def error_of_draws(draws: FloatArray) -> FloatArray:
    """Return the root mean square departure of the resampled draws from the estimate in row 0.

    Arguments: `draws` (1 + DRAWS or more, ...); rows after 1 + DRAWS are not resampled and do not count.
    Returns an array without the first axis, in the draws' own unit.

    >>> error_of_draws(np.array([[0.6], [0.7], [0.5]])).round(3).tolist()
    [0.1]
    """
    return np.asarray(np.sqrt(np.mean((draws[1 : 1 + DRAWS] - draws[0]) ** 2, axis=0)), dtype=np.float64)


def alternating_signs(rows: int) -> FloatArray:
    """Return +1 and -1 in turn for the resampled draws, 0 for the estimate and for rows after 1 + DRAWS.

    A choice that is itself uncertain by u is made with value + u sign: the draws' variance then holds the square of
    what u does to the measure, and the estimate is not moved.

    >>> alternating_signs(4).tolist()
    [0.0, 1.0, -1.0, 1.0]
    """
    numbers = np.arange(rows)
    return np.where((numbers == 0) | (numbers > DRAWS), 0.0, np.where(numbers % 2 == 1, 1.0, -1.0))
