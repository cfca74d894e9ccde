"""Places of many tests in one measure: who stands before whom, as far as the error of the tests lets it be told."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from basefog.measure.intervals import added_variance
from basefog.records.content import FloatArray
from basefog.records.findings import Quantity, Scatter

Places = tuple[int, int]
"""The first and the last place that a test may have, counted from 1 at the highest value."""


def find_places(
    quantities: Sequence[Quantity],
    scatter: Scatter | None = None,
    *,
    axes: Sequence[str] | None = None,
) -> tuple[Places | None, ...]:
    """Return each test's places from the highest value down, None where it has no value.

    The first place is one more than the tests that are higher beyond error, the last the number of tests less those
    that are lower beyond error. What is beyond error is what `compare` calls higher or lower, with the same scatter.
    A pair of which it says nothing (no interval; a lower bound that does not settle it) is not told apart.

    Arguments: `axes`, one name a test, where values on different axes can't be compared.

    >>> def about(value: float) -> Quantity:
    ...     return Quantity(value=value, low=value - 0.01, high=value + 0.01, unit="1")
    >>> find_places([about(0.60), about(0.605), about(0.70)])
    ((2, 3), (2, 3), (1, 1))
    """
    known = [index for index, quantity in enumerate(quantities) if quantity.value is not None]
    values, lows, highs = (_column([getattr(quantities[i], end) for i in known]) for end in ("value", "low", "high"))
    bound = np.array([quantities[i].bound == "lower" for i in known], dtype=bool)
    beyond = _beyond(values, values - lows, highs - values, added_variance(scatter))
    beyond &= ~bound[None, :]
    if axes is not None:
        names = np.array([axes[i] for i in known])
        beyond &= names[:, None] == names[None, :]
    first, last = 1 + beyond.sum(axis=0), len(known) - beyond.sum(axis=1)
    places: list[Places | None] = [None] * len(quantities)
    for index, place in zip(known, zip(first.tolist(), last.tolist(), strict=True), strict=True):
        places[index] = place
    return tuple(places)


def _beyond(values: FloatArray, down: FloatArray, up: FloatArray, extra: float) -> NDArray[np.bool_]:
    """Return in row i, column j whether i is higher than j beyond error."""
    apart = values[:, None] - values[None, :]
    error = np.sqrt(down[:, None] ** 2 + up[None, :] ** 2 + extra)
    # Without an interval the error is not a number, and nothing is beyond it.
    return np.asarray(apart - error > 0)


def _column(values: Sequence[float | None]) -> FloatArray:
    return np.array([np.nan if value is None else value for value in values], dtype=np.float64)
