"""Draws: one estimate and its resampled likes in one array, the same on every machine.

Everywhere in this room an array of draws has `1 + DRAWS` entries along its first axis. Entry 0 is the estimate
itself, the others are what it would have been with other errors of reading. A formula applied to the whole array
therefore gives the estimate and its error in one go.
"""

import hashlib

import numpy as np

from basefog.records.content import FloatArray

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
