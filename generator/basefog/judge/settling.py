"""How many more tests, of a stock or of the reference, would make a verdict firm if the difference is what it seems."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

from basefog.judge.factors import bonferroni_factor, dunnett_factor, student_factor

MOST_TESTS = 20


@dataclass(frozen=True, kw_only=True, slots=True)
class Repeated:
    """How well the reference's figure is known.

    `one_test` is the variance that one test has to itself: the mean unshared reading variance of its group and the
    test-to-test scatter s^2, both as they stand in the figure's unit. `tests` is how many its mean is of.
    """

    one_test: float
    tests: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Compared:
    """One stock's difference to the reference.

    `one_test` and `tests` are the stock's, as in `Repeated`. `lasting` is the variance of the difference that repeats
    leave as it is (wedge and lamp so far as they don't cancel; of comparative measures the reference's readings), and
    `lasting_of_reference` is the part of it that the reference gives to every stock alike.
    """

    difference: float
    one_test: float
    tests: int
    lasting: float = 0.0
    lasting_of_reference: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Settled:
    """So many more tests, of the stock or of the reference, would settle a verdict.

    0 tests of nobody where it is firm already. `by_repeats` is false, and the others None, where 20 tests of either
    would not do.
    """

    tests: int | None
    of: Literal["stock", "reference"] | None
    by_repeats: bool = True


FIRM = Settled(tests=0, of=None)
NOT_BY_REPEATS = Settled(tests=None, of=None, by_repeats=False)


def count_tests_to_settle(
    compared: Sequence[Compared], *, reference: Repeated, degrees: float | None, repeats_tell: bool
) -> tuple[Settled | None, ...]:
    """Return what would settle each of one measure's verdicts, in the order given.

    `compared` holds all stocks that have the measure. It is the smallest m of 1 to 20 with |difference| >= d(m)
    sqrt(V(m)), where n + m tests of the stock or of the reference and nu + m degrees of freedom are counted; the stock
    where both need as many. None where the verdict isn't firm and `repeats_tell` is false: without repeats nobody knows
    what a repeat would bring. Where it is true, degrees can't be None.

    d(m) of a stock keeps today's correlations: those of one stock among many hardly move it. Tests of the reference
    lessen every stock's correlation, and d(m) is computed anew. Because d grows as they fall, a stock that is poorly
    known may be settled by m tests of the reference and not by m + 1, so that every m is tried.

    Raises ValueError where a variance or a number of tests is out of range, or repeats tell without degrees of freedom.

    >>> stocks = [Compared(difference=0.10, one_test=0.002, tests=1), Compared(difference=0.4, one_test=0.002, tests=1)]
    >>> settled, firm = count_tests_to_settle(
    ...     stocks, reference=Repeated(one_test=0.002, tests=4), degrees=6, repeats_tell=True
    ... )
    >>> settled.tests, settled.of, firm.tests
    (2, 'stock', 0)
    """
    if repeats_tell and degrees is None:
        raise ValueError("degrees must be given where repeats tell the scatter")
    _check(compared, reference)
    shares = [_share(stock, reference, 0) for stock in compared]

    @cache
    def factor_by_stock(more: int) -> float:
        return dunnett_factor(shares, None if degrees is None else degrees + more)

    @cache
    def factor_by_reference(more: int) -> float:
        return dunnett_factor([_share(stock, reference, more) for stock in compared], (degrees or 0) + more)

    found: list[Settled | None] = []
    for stock in compared:
        if abs(stock.difference) > factor_by_stock(0) * math.sqrt(_variance(stock, reference)):
            found.append(FIRM)
        elif not repeats_tell or degrees is None:
            found.append(None)
        elif stock.difference == 0:
            found.append(NOT_BY_REPEATS)
        else:
            bounds = _bounds(len(compared), degrees)
            by_stock = [math.sqrt(_variance(stock, reference, of_stock=m)) for m in range(MOST_TESTS + 1)]
            by_reference = [math.sqrt(_variance(stock, reference, of_reference=m)) for m in range(MOST_TESTS + 1)]
            found.append(
                _fewest(
                    _first(abs(stock.difference), by_stock, bounds, factor_by_stock),
                    _first(abs(stock.difference), by_reference, bounds, factor_by_reference),
                )
            )
    return tuple(found)


def _fewest(of_stock: int | None, of_reference: int | None) -> Settled:
    if of_stock is not None and (of_reference is None or of_stock <= of_reference):
        return Settled(tests=of_stock, of="stock")
    if of_reference is not None:
        return Settled(tests=of_reference, of="reference")
    return NOT_BY_REPEATS


@lru_cache(maxsize=256)
def _bounds(count: int, degrees: float) -> tuple[tuple[float, float], ...]:
    """Return what Dunnett's factor for so many stocks lies between after 0, 1 ... 20 more tests."""
    return tuple(
        (student_factor(degrees + more), bonferroni_factor(count, degrees + more)) for more in range(MOST_TESTS + 1)
    )


def _first(
    size: float, errors: Sequence[float], bounds: Sequence[tuple[float, float]], factor: Callable[[int], float]
) -> int | None:
    """Return the smallest number of tests with which a difference of this size is firm, or None.

    The factor costs a thousand times what its bounds do, and they decide most cases.
    """
    for more in range(1, MOST_TESTS + 1):
        least, most = bounds[more]
        if size < least * errors[more]:
            continue
        if size >= most * errors[more] or size >= factor(more) * errors[more]:
            return more
    return None


def _variance(stock: Compared, reference: Repeated, *, of_stock: int = 0, of_reference: int = 0) -> float:
    return (
        stock.one_test / (stock.tests + of_stock)
        + reference.one_test / (reference.tests + of_reference)
        + stock.lasting
    )


def _share(stock: Compared, reference: Repeated, more: int) -> float:
    """Return lambda^2, the reference's part of a difference's variance, after so many more tests of the reference."""
    variance = _variance(stock, reference, of_reference=more)
    part = reference.one_test / (reference.tests + more) + stock.lasting_of_reference
    return min(part / variance, 1.0) if variance > 0 else 0.0


def _check(compared: Sequence[Compared], reference: Repeated) -> None:
    if any(figure.tests < 1 for figure in compared) or reference.tests < 1:
        raise ValueError("tests must be at least 1")
    if not (all(figure.one_test >= 0 for figure in compared) and reference.one_test >= 0):
        raise ValueError("one_test must not be below 0")
    if not all(0 <= stock.lasting_of_reference <= stock.lasting for stock in compared):
        raise ValueError("lasting_of_reference must lie between 0 and lasting")
