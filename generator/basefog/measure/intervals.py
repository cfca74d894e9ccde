"""From draws to quantities with 95 % intervals, and from two quantities to a verdict."""

import math
from dataclasses import replace

import numpy as np

from basefog.records.content import FloatArray
from basefog.records.findings import Comparison, Quantity, Scatter
from basefog.records.numbers import fixed
from basefog.records.vocabulary import VerdictWord

TAIL = 0.025
"""Probability left out on each side of a 95 % interval."""

NORMAL_FACTOR = 1.959964
"""Standard deviations of a normal error that hold 95 % of it."""

LOST_SHARE = 0.025
"""Share of draws outside the readings from which a note says so."""


def missing(why: str, unit: str = "1") -> Quantity:
    """Return a quantity that can't be had, with the reason in the tester's words."""
    return Quantity(value=None, low=None, high=None, unit=unit, why=why)


def quantity_from_draws(
    draws: FloatArray, unit: str, *, why: str, bound: str | None = None, note: str | None = None
) -> Quantity:
    """Return the estimate in entry 0 of the draws with its 95 % interval from the others.

    The interval is x +- 1.96 sqrt(mean((x* - x)^2)), x the estimate and x* the draws. The deviations are taken from
    the estimate, not from the mean of the draws: a measure that resampling shifts is itself shifted by reading error,
    and its interval is the wider for it. Draws that are NaN (the resampled curve does not reach) are left out, and a
    note says so from 2.5 % of them on.

    Arguments: `draws` (1 + DRAWS,), in `unit`; `why`, used where entry 0 is NaN.

    Returns a quantity without a value, carrying `why`, where entry 0 is NaN.

    Source: the parametric bootstrap, B. Efron, Ann. Statist. 7 (1979) 1 (from memory); that this interval covers is
    shown by the project's own simulation study.

    >>> round(quantity_from_draws(np.array([0.60, 0.59, 0.61]), "1", why="").low, 4)
    0.5804
    """
    value = float(draws[0])
    if not math.isfinite(value):
        return missing(why, unit)
    others = draws[1:][np.isfinite(draws[1:])]
    if others.size == 0:
        return missing("the readings end too close to it to say how sure it is", unit)
    half = NORMAL_FACTOR * math.sqrt(float(np.mean((others - value) ** 2)))
    lost = 1 - others.size / (draws.size - 1)
    notes = [note] if note else []
    if lost > LOST_SHARE:
        notes.append(
            f"within error of where the readings end: {fixed(100 * lost, 0)}% of the resampled curves do not reach it"
        )
    return Quantity(
        value=value, low=value - half, high=value + half, unit=unit, bound=bound, note="; ".join(notes) or None
    )


def compare(this: Quantity, other: Quantity, scatter: Scatter | None = None) -> Comparison:
    """Return this less other with its 95 % interval and verdict.

    d = a - b; L = d - sqrt((a - la)^2 + (hb - b)^2 + 2 (t s)^2); U = d + sqrt((ha - a)^2 + (b - lb)^2 + 2 (t s)^2),
    where s is the series' test-to-test scatter, counted once for each of the two tests, and t Student's factor at
    its degrees of freedom; without a scatter that term is zero. Beyond zero the verdict is higher or lower, else no
    measurable difference; `could_see` is half the interval.

    Not measured where either has no value (`why` says which), and where one is only a lower bound and the interval
    does not settle the matter in spite of it: at least 2.10 is higher than 2.00, but not lower than 2.20.

    Source: G. Y. Zou and A. Donner, Statistics in Medicine 27 (2008) 1693 (square-and-add; from memory).

    >>> a = Quantity(value=0.64, low=0.63, high=0.65, unit="1")
    >>> b = Quantity(value=0.60, low=0.59, high=0.61, unit="1")
    >>> compare(a, b).verdict
    'higher'
    """
    apart = subtract(this, other, scatter)
    if apart is None:
        why = this.why if this.value is None else f"not on the other test: {other.why or 'it was not measured there'}"
        return not_measured(why or "it was not measured here", this.unit)
    difference, low, high = apart
    verdict = _verdict(low, high)
    open_above, open_below = this.bound == "lower", other.bound == "lower"
    if (open_above and (open_below or verdict != "higher")) or (open_below and verdict != "lower"):
        return not_measured(_why_open(open_above=open_above, open_below=open_below), this.unit)
    return Comparison(
        verdict=verdict,
        difference=difference,
        low=low,
        high=high,
        could_see=(high - low) / 2,
        unit=this.unit,
    )


def subtract(this: Quantity, other: Quantity, scatter: Scatter | None = None) -> tuple[float, float, float] | None:
    """Return this less other, and the low and high end of its 95 % interval, by the formula of `compare`.

    None where either has no value.
    """
    if this.value is None or this.low is None or this.high is None:
        return None
    if other.value is None or other.low is None or other.high is None:
        return None
    difference, extra = this.value - other.value, added_variance(scatter)
    low = difference - math.sqrt((this.value - this.low) ** 2 + (other.high - other.value) ** 2 + extra)
    high = difference + math.sqrt((this.high - this.value) ** 2 + (other.value - other.low) ** 2 + extra)
    return difference, low, high


def widen(quantity: Quantity, scatter: Scatter | None) -> Quantity:
    """Return a measure that is itself a difference to the reference with the series' scatter in its interval.

    Both ends move out to sqrt(half^2 + 2 (t s)^2), as in `compare`. Unchanged without a scatter or a value.
    """
    if scatter is None or quantity.value is None or quantity.low is None or quantity.high is None:
        return quantity
    extra = added_variance(scatter)
    low = quantity.value - math.sqrt((quantity.value - quantity.low) ** 2 + extra)
    high = quantity.value + math.sqrt((quantity.high - quantity.value) ** 2 + extra)
    return replace(quantity, low=low, high=high)


def not_measured(why: str, unit: str = "1") -> Comparison:
    """Return a comparison that can't be made, with the reason in the tester's words."""
    return Comparison(verdict="not measured", unit=unit, why=why)


def student_factor(degrees_of_freedom: int) -> float:
    """Return Student's two-sided 95 % factor.

    Raises ValueError where there are no degrees of freedom. Source: Student, Biometrika 6 (1908) 1 (from memory).

    >>> round(student_factor(10), 3)
    2.228
    """
    if degrees_of_freedom < 1:
        raise ValueError("degrees_of_freedom must be at least 1")
    from scipy.special import stdtrit  # slow to import, and only a series with repeats needs it

    return float(stdtrit(degrees_of_freedom, 1 - TAIL))


def added_variance(scatter: Scatter | None) -> float:
    """Return what test-to-test scatter adds under the roots of `compare`, 2 (t s)^2; zero without a scatter."""
    return 0.0 if scatter is None else 2 * (student_factor(scatter.degrees_of_freedom) * scatter.sigma) ** 2


def _verdict(low: float, high: float) -> VerdictWord:
    if low > 0:
        return "higher"
    if high < 0:
        return "lower"
    return "no measurable difference"


def _why_open(*, open_above: bool, open_below: bool) -> str:
    if open_above and open_below:
        return "both tests give only a lower bound"
    return f"{'this' if open_above else 'the other'} test gives only a lower bound"
