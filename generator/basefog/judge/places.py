"""Places of many stocks in one measure: who stands before whom, as far as the error of the tests lets it be told."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from basefog.judge.compare import Rule
from basefog.judge.traits import place_on_scale
from basefog.records.content import FloatArray
from basefog.records.findings import Quantity
from basefog.records.numbers import has_width

Places = tuple[int, int]
"""The first and the last place that a stock may have, counted from 1 at the highest value."""


def find_places(
    quantities: Sequence[Quantity], rule: Rule, *, axes: Sequence[str] | None = None
) -> tuple[Places | None, ...]:
    """Return each stock's places from the highest value down, None where it has no value.

    The first place is one more than the stocks that are higher beyond error, the last the number of stocks less those
    that are lower beyond error. What is beyond error is what `compare` calls higher or lower; against the reference,
    from which a measure may count, what the verdict says. A pair of which nothing is said (no interval; a lower bound
    that does not settle it) is not told apart.

    Arguments: `axes`, one name a stock, where values on different axes can't be compared.
    """
    known = [index for index, quantity in enumerate(quantities) if quantity.value is not None]
    had = [quantities[index] for index in known]
    values = np.array([place_on_scale(rule.measure, quantity) for quantity in had], dtype=np.float64)
    variance = _pair_variances(had, rule)
    # Without a known error the variance is not a number, and nothing is beyond it.
    beyond: NDArray[np.bool_] = values[:, None] - values[None, :] - rule.student * np.sqrt(variance) > 0
    beyond &= ~np.array([quantity.bound == "lower" for quantity in had], dtype=bool)[None, :]
    if axes is not None:
        names = np.array([axes[index] for index in known])
        beyond &= names[:, None] == names[None, :]
    first, last = 1 + beyond.sum(axis=0), len(known) - beyond.sum(axis=1)
    places: list[Places | None] = [None] * len(quantities)
    for index, place in zip(known, zip(first.tolist(), last.tolist(), strict=True), strict=True):
        places[index] = place
    return tuple(places)


def _pair_variances(had: Sequence[Quantity], rule: Rule) -> FloatArray:
    """Return the variance of every difference of two, as `sides.add_variances` has it, all pairs at once."""
    reading = np.array([np.nan if one.parts is None else one.parts.unshared for one in had])
    scatter = np.array([(one.scatter or 0.0) ** 2 / one.tests for one in had])
    alone = scatter[:, None] + scatter[None, :]
    if rule.source == "batches":
        batches = np.array([one.batches[0] if len(set(one.batches)) == 1 and one.batches[0] else "" for one in had])
        alone = np.where((batches[:, None] == batches[None, :]) & (batches[:, None] != ""), 0.0, alone)
    variance = reading[:, None] + reading[None, :] + alone + _wedge_variances(had) + _lamp_variances(had)
    # What counts from the reference is zero there by definition; the verdict's own interval tells the two apart.
    halves = np.array([np.nan if one.half_width is None else one.half_width / rule.student for one in had]) ** 2
    counted_from = np.array(
        [one.parts is None and one.half_width is not None and not has_width(one.half_width) for one in had], dtype=bool
    )
    variance = np.where(counted_from[None, :], halves[:, None], variance)
    return np.where(counted_from[:, None], halves[None, :], variance)


def _wedge_variances(had: Sequence[Quantity]) -> FloatArray:
    wedges = [None if one.parts is None else one.parts.wedge for one in had]
    steps = sorted({step for wedge in wedges if wedge is not None for step in wedge.by_step})
    effect = np.zeros((len(had), len(steps)))
    for row, wedge in enumerate(wedges):
        if wedge is not None:
            effect[row] = [wedge.by_step.get(step, 0.0) * wedge.u_density.get(step, 0.0) for step in steps]
    names = np.array(["" if wedge is None else wedge.wedge for wedge in wedges])
    own = (effect**2).sum(axis=1)
    common = np.where(names[:, None] == names[None, :], effect @ effect.T, 0.0)
    common = np.minimum(common, np.minimum(own[:, None], own[None, :]))
    return np.asarray(np.maximum(own[:, None] + own[None, :] - 2 * common, 0.0))


def _lamp_variances(had: Sequence[Quantity]) -> FloatArray:
    lamps = [None if one.parts is None else one.parts.lamp for one in had]
    own = np.array([0.0 if lamp is None else lamp.variance for lamp in lamps])
    names = np.array(["" if lamp is None else f"{lamp.lux_s!r} {lamp.u_lux_s!r}" for lamp in lamps])
    same = (names[:, None] == names[None, :]) & (names[:, None] != "")
    return np.where(same, 0.0, own[:, None] + own[None, :])
