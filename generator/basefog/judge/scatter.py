"""How far the same test scatters when it is done again: from repeats, else from control strips, else assumed.

Every measure has one `Scatter` or none; `scatter_of` says what it is for one test of one stock.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from basefog.judge.groups import group_repeats
from basefog.judge.traits import (
    IN_LOGARITHMS,
    GRADIENTS,
    OF_SCANS,
    RELATIVE_SCATTER,
    SPEEDS_PER_DENSITY,
    place_on_scale,
    scale_of_share,
)
from basefog.records.content import Batch, Stock, Test
from basefog.records.findings import Curve, Quantity, Scatter
from basefog.records.vocabulary import LOG10_2

STOCKS_FOR_SCATTER = 3
"""Stocks that need repeats of a measure before its scatter counts (measures.md, "Verdicts")."""

BATCHES_FOR_SCATTER = 7
"""Batches with the same readings before the strips' scatter counts (measures.md, "Verdicts")."""

ASSUMED_SHARE = 0.03
"""Test-to-test scatter of grain and sharpness where no repeats tell it (project, an assumption)."""

DERIVED = {"speed_from_reference": ("speed_point", 1 / LOG10_2), "print_exposure": ("base_plus_fog", math.log(10))}
"""Measures whose scatter is another's, times a factor."""

Figures = Mapping[str, Mapping[str, Quantity]]
"""Quantities by test key, then by name."""


def pool_repeats(stocks: Iterable[Stock], figures: Figures, names: Iterable[str]) -> dict[str, Scatter]:
    """Return the test-to-test scatter of every measure that at least three stocks have repeats of.

    sigma^2 = sum over groups of sum (x_i - mean of group)^2 / nu, less the mean variance of their unshared reading
    error, never below zero; a group of n values gives n - 1 of the nu degrees of freedom. Where the scatter is
    relative both are in shares of the group's mean.

    Arguments: `names` the measures or patches to pool, in order. Repeats without a value count nothing.
    """
    grouped = [(stock.slug, group) for stock in stocks for group in group_repeats(stock) if len(group) > 1]
    pooled = {name: _pool(name, grouped, figures) for name in names}
    return {name: scatter for name, scatter in pooled.items() if scatter is not None}


def _pool(name: str, grouped: Sequence[tuple[str, tuple[Test, ...]]], figures: Figures) -> Scatter | None:
    """Return the scatter of one measure, None where fewer than three stocks have repeats of it."""
    squares, reading, degrees, slugs = [], [], 0, set[str]()
    for slug, group in grouped:
        found = [figures[test.key][name] for test in group if name in figures[test.key]]
        had = [quantity for quantity in found if quantity.value is not None and quantity.parts is not None]
        if len(had) < 2:
            continue
        places = np.array([place_on_scale(name, quantity) for quantity in had])
        share = scale_of_share(name, float(places.mean())) if name in RELATIVE_SCATTER else 1.0
        if not share > 0:
            continue
        squares.append(math.fsum(((places - places.mean()) / share) ** 2))
        reading += [quantity.parts.unshared / share**2 for quantity in had if quantity.parts is not None]
        degrees += len(had) - 1
        slugs.add(slug)
    if len(slugs) < STOCKS_FOR_SCATTER:
        return None
    left = math.fsum(squares) / degrees - math.fsum(reading) / len(reading)
    return Scatter(
        measure=name,
        sigma=math.sqrt(max(0.0, left)),
        degrees_of_freedom=degrees,
        source="repeats",
        stocks=len(slugs),
        relative=name in RELATIVE_SCATTER,
    )


def derive_scatter(pooled: Mapping[str, Scatter]) -> dict[str, Scatter]:
    """Return the scatter of repeats with that of speed from the reference and of print exposure.

    Both are one figure of the test less one of the reference, and scatter as that figure does: of the reference's own
    repeats they would tell nothing, for there they are zero by definition.
    """
    derived = {name: scatter for name, scatter in pooled.items() if name not in DERIVED}
    for name, (source, factor) in DERIVED.items():
        if source in pooled:
            derived[name] = replace(
                pooled[source], measure=name, sigma=pooled[source].sigma * factor, relative=name in RELATIVE_SCATTER
            )
    if "speed_point" in pooled:
        # A speed is the exposure of the speed point turned round: what repeats tell of the one they tell of the other.
        share = replace(pooled["speed_point"], sigma=pooled["speed_point"].sigma * math.log(10), relative=True)
        for name in IN_LOGARITHMS - pooled.keys():
            derived[name] = replace(share, measure=name)
    return derived


def scatter_of_strips(batches: Sequence[Batch], repeatability: float, names: Iterable[str]) -> dict[str, Scatter]:
    """Return the scatter between batches of every measure that the control strips tell, from seven batches on.

    The standard deviation of (high - low) over its mean, for gradients, contrast index and gamma; of (low - base), a
    density that the stock's gradient turns into exposure, for speeds; of base for base plus fog. The variance of
    reading the strips is taken off: twice the square of the repeatability for a difference.
    """
    return {name: found for name in names if (found := _of_strips(name, batches, repeatability)) is not None}


def _of_strips(name: str, batches: Sequence[Batch], repeatability: float) -> Scatter | None:
    if name in GRADIENTS:
        figures = [
            strip["high"] - strip["low"]
            for batch in batches
            if {"high", "low"} <= (strip := batch.control_strip).keys()
        ]
        read = 2 * repeatability**2
    elif name in SPEEDS_PER_DENSITY:
        figures, read = rises_of_low(batches), 2 * repeatability**2
    elif name == "base_plus_fog":
        figures = [batch.control_strip["base"] for batch in batches if "base" in batch.control_strip]
        read = repeatability**2
    else:
        return None
    if len(figures) < BATCHES_FOR_SCATTER:
        return None
    mean = math.fsum(figures) / len(figures)
    share = mean if name in GRADIENTS else 1.0
    if not share > 0:
        return None
    variance = math.fsum((figure - mean) ** 2 for figure in figures) / (len(figures) - 1) - read
    return Scatter(
        measure=name,
        sigma=math.sqrt(max(0.0, variance)) / share,
        degrees_of_freedom=len(figures) - 1,
        source="batches",
        relative=name in GRADIENTS,
        by_gradient=name in SPEEDS_PER_DENSITY,
    )


def rises_of_low(batches: Sequence[Batch]) -> list[float]:
    """Return (low - base) of every control strip that has both."""
    strips = [batch.control_strip for batch in batches]
    return [strip["low"] - strip["base"] for strip in strips if {"low", "base"} <= strip.keys()]


def assume_scatter(names: Iterable[str]) -> dict[str, Scatter]:
    """Return what grain and sharpness count a test where nothing tells their scatter."""
    return {
        name: Scatter(measure=name, sigma=ASSUMED_SHARE, degrees_of_freedom=None, source="assumed", relative=True)
        for name in names
        if name in OF_SCANS
    }


def scatter_of(
    scatter: Scatter | None,
    quantity: Quantity,
    *,
    curve: Curve | None,
    base: float | None,
    low_rise: float | None,
) -> float | None:
    """Return the scatter of one test of one stock on the scale of its measure; None where nothing tells it.

    Arguments: the test's `curve` and its `base` plus fog, and `low_rise`, the mean (low - base) of the strips: where
    the scatter is a density, the curve's gradient at that height turns it into exposure.
    """
    if scatter is None or quantity.value is None:
        return None
    if scatter.by_gradient:
        gradient = _gradient_at(curve, None if base is None or low_rise is None else base + low_rise)
        return None if gradient is None else scatter.sigma / gradient * SPEEDS_PER_DENSITY[scatter.measure]
    return scatter.sigma * (scale_of_share(scatter.measure, quantity.value) if scatter.relative else 1.0)


def _gradient_at(curve: Curve | None, density: float | None) -> float | None:
    """Return the gradient where a curve reaches a density; None outside it or where it is level."""
    if curve is None or density is None or not curve.density[0] <= density <= curve.density[-1]:
        return None
    place = np.searchsorted(curve.density, density)
    gradient = float(curve.gradient[min(int(place), curve.gradient.size - 1)])
    return gradient if gradient > 0 else None
