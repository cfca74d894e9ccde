"""Development: how contrast grows with time over a family of tests, and the time that matches the reference."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.crossing import find_crossings, fit_rising_rows
from basefog.measure.intervals import missing, quantity_from_draws
from basefog.measure.smoother import apply_to_rows
from basefog.records.content import FloatArray, Stock, Test, read_only
from basefog.records.findings import ContrastTime, Quantity, TimePoint
from basefog.records.numbers import fixed

TYPICAL_BEND = 4.0
"""Typical second derivative of average gradient by log time, per (log unit)^1.5: see `smoother`."""

SMALLEST_ERROR = 1e-4
"""Error of an average gradient below which none is believed, so that weights stay finite."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class DevelopedContrast:
    """The average gradient of one test of a family: `draws` (1 + DRAWS,) with the wedge's error; NaN without."""

    test: Test
    average_gradient: Quantity
    draws: FloatArray


def find_family(stock: Stock, main: Test) -> tuple[Test, ...]:
    """Return a test and those that vary only its development time, by time; just itself where there are none.

    Withdrawn tests are left out, save the main one.
    """
    others = [test for test in stock.tests if test.development_of == main.id and test.withdrawn is None]
    return tuple(sorted([main, *others], key=lambda test: (test.developed.time_min, test.id)))


def trace_contrast_time(
    family: Sequence[DevelopedContrast], reference_average_gradient: float | None
) -> ContrastTime | None:
    """Return the contrast-time curve of a family: average gradient against log time, smooth and non-decreasing.

    None where fewer than two different times have an average gradient.
    """
    fitted = _fit(family)
    if fitted is None:
        return None
    grid, curves = fitted
    return ContrastTime(
        points=tuple(
            TimePoint(test=one.test.id, time_min=one.test.developed.time_min, average_gradient=one.average_gradient)
            for one in family
        ),
        time_min=read_only(10**grid),
        average_gradient=read_only(curves[0]),
        reference_average_gradient=reference_average_gradient,
    )


def measure_matching_time(
    test: Test, family: Sequence[DevelopedContrast], reference: DevelopedContrast | None
) -> Quantity:
    """Return the time in minutes at which the family's contrast-time curve has the reference's average gradient.

    Only on the family's main test, and only inside the tested range. Its interval holds the errors of every test of
    the family and of the reference.

    Arguments: `family` of the test (one member where nothing varies its time); `reference`, the reference's current
    test, None where there is none.
    """
    if reference is None:
        return missing("the reference has no current test", "min")
    why = _why_not_asked(test, family, reference)
    fitted = None if why else _fit(family)
    if fitted is None:
        return missing(why or "fewer than two development times have an average gradient", "min")
    grid, curves = fitted
    low, high, aim = float(curves[0, 0]), float(curves[0, -1]), float(reference.draws[0])
    if not low < high:
        return missing("the average gradient does not grow with development time", "min")
    if not low <= aim <= high:
        tested = f"which give {fixed(low, 2)} to {fixed(high, 2)}"
        return missing(
            f"the reference's average gradient {fixed(aim, 2)} lies outside the tested times, {tested}", "min"
        )
    return quantity_from_draws(10 ** find_crossings(grid, curves, reference.draws), "min", why="")


def _why_not_asked(test: Test, family: Sequence[DevelopedContrast], reference: DevelopedContrast) -> str:
    """Return why a test has no matching time to look for; empty where it has."""
    if test.key == reference.test.key:
        return "this is the reference, whose contrast the others are matched to"
    if test.development_of is not None:
        return f"told on the test whose development time this one varies, {test.development_of}"
    if len(family) < 2:
        return "no other development time was tested (development_of)"
    if not math.isfinite(reference.draws[0]):
        return f"the reference has no average gradient: {reference.average_gradient.why}"
    return ""


def _fit(family: Sequence[DevelopedContrast]) -> tuple[FloatArray, FloatArray] | None:
    """Return log time (g,) and every draw's curve (1 + DRAWS, g), None below two different times."""
    known = [one for one in family if math.isfinite(one.draws[0])]
    times, place = np.unique([one.test.developed.time_min for one in known], return_inverse=True)
    if times.size < 2:
        return None
    draws = np.column_stack([np.where(np.isnan(one.draws), one.draws[0], one.draws) for one in known])
    u_gradient = np.maximum(draws[1:].std(axis=0), SMALLEST_ERROR)
    weights = np.zeros((len(known), times.size))
    weights[np.arange(len(known)), place] = u_gradient**-2
    total = weights.sum(axis=0)
    return fit_rising_rows(
        np.log10(times), apply_to_rows(draws, weights / total), 1 / total, typical_derivative=TYPICAL_BEND
    )
