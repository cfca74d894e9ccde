"""How large the error of one density reading is: the stated repeatability and the replicates, pooled."""

import math
from collections.abc import Sequence

STATED_DEGREES_OF_FREEDOM = 20
"""How many replicates the stated repeatability counts for when it is pooled with those of the test (project)."""


def pool_reading_error(replicates: Sequence[Sequence[float]], repeatability: float) -> float:
    """Return the standard deviation of one reading, in density, pooled over a test.

    s^2 = (20 r^2 + sum over steps of sum (D - mean D)^2) / (20 + sum over steps of (n - 1)), r the repeatability, and
    never less than r^2. The repeatability counts as 20 readings' worth of knowledge, so that two replicates that happen
    to disagree do not spoil a step, and a whole wedge of replicates that disagree is heard.

    Arguments: `replicates`, the readings of each step or patch, density; `repeatability`, density, above 0.

    Raises ValueError where the repeatability is not above 0.

    Source: pooled variance, any text of statistics; the weight of 20 is the project's own.

    >>> pool_reading_error([(0.50,), (0.70,)], 0.01)
    0.01
    >>> round(pool_reading_error([(0.50, 0.54)] * 20, 0.01), 4)
    0.0212
    """
    if not repeatability > 0:
        raise ValueError("repeatability must be above 0")
    square_sum = STATED_DEGREES_OF_FREEDOM * repeatability**2
    degrees_of_freedom = STATED_DEGREES_OF_FREEDOM
    for readings in replicates:
        if len(readings) > 1:
            mean = math.fsum(readings) / len(readings)
            square_sum += math.fsum((reading - mean) ** 2 for reading in readings)
            degrees_of_freedom += len(readings) - 1
    return max(repeatability, math.sqrt(square_sum / degrees_of_freedom))


def mean_variance(reading_error: float, count: int, quantum: float) -> float:
    """Return the variance of a mean of readings, density squared: s^2 / n + q^2 / 12.

    What was rounded is wrong by the same whatever the number of readings: q^2 / 12 does not fall with them.

    Arguments: `reading_error` s, the standard deviation of one reading, density; `count` n, at least 1; `quantum` q,
    the last decimal that was typed, density.

    >>> round(mean_variance(0.01, 4, 0.01) ** 0.5, 5)
    0.00577
    """
    return reading_error**2 / count + quantum**2 / 12
