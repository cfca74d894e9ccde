"""How many more tests, of a stock or of the reference, would make a verdict firm if the difference is what it seems."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from basefog.judge.factors import NEARLY, dunnett_factor, dunnett_factors
from basefog.records.content import FloatArray

MOST_TESTS = 20
NEVER = MOST_TESTS + 1
NODES = 5  # numbers of tests of the reference whose correlations stand for those of all 20

Whose = Literal["stock", "reference"]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int_]


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
    of: Whose | None
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
    if not compared:
        return ()
    trial = _Trial.of(compared, reference, degrees)
    course = trial.course_by_stock()
    firm = trial.find_firm(course)
    if not repeats_tell:
        return tuple(FIRM if one else None for one in firm)
    by_stock = trial.find_fewest("stock", course, ~firm)
    # A tie goes to the stock: tests of the reference need only be tried where fewer of them could do.
    hopeful = ~firm & trial.may_be_fewer(course, by_stock)
    by_reference = np.full(len(compared), NEVER)
    if hopeful.any():
        by_reference = trial.find_fewest("reference", trial.course_by_reference(), hopeful)
    return tuple(
        FIRM if one else _fewest(int(of_stock), int(of_reference))
        for one, of_stock, of_reference in zip(firm, by_stock, by_reference, strict=True)
    )


def _fewest(of_stock: int, of_reference: int) -> Settled:
    if min(of_stock, of_reference) > MOST_TESTS:
        return NOT_BY_REPEATS
    if of_stock <= of_reference:
        return Settled(tests=of_stock, of="stock")
    return Settled(tests=of_reference, of="reference")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Course:
    """A factor after 0, 1 ... 20 more tests, (21,), and how far off it may be, as a part of it."""

    factor: FloatArray
    off: FloatArray


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Trial:
    """All stocks of a measure at once: arrays (k,) of what `Compared` holds.

    Factors that are nearly right decide nearly all verdicts, one course of them for all stocks. The exact factor,
    which costs more than a course of 21, is asked only where the two could say different things.
    """

    size: FloatArray
    one_test: FloatArray
    tests: FloatArray
    lasting: FloatArray
    lasting_of_reference: FloatArray
    reference: Repeated
    degrees: float | None

    @classmethod
    def of(cls, compared: Sequence[Compared], reference: Repeated, degrees: float | None) -> "_Trial":
        return cls(
            size=np.array([abs(stock.difference) for stock in compared]),
            one_test=np.array([stock.one_test for stock in compared]),
            tests=np.array([float(stock.tests) for stock in compared]),
            lasting=np.array([stock.lasting for stock in compared]),
            lasting_of_reference=np.array([stock.lasting_of_reference for stock in compared]),
            reference=reference,
            degrees=degrees,
        )

    def course_by_stock(self) -> _Course:
        """Return Dunnett's factors for tests of a stock, which keep today's correlations."""
        if self.degrees is None:
            today = np.full(MOST_TESTS + 1, self._exact_factor("stock", 0))
            return _Course(factor=today, off=np.zeros(MOST_TESTS + 1))
        factor = dunnett_factors(self._shares(0), self._all_degrees())
        return _Course(factor=factor, off=np.full(MOST_TESTS + 1, NEARLY))

    def course_by_reference(self) -> _Course:
        """Return Dunnett's factors for tests of the reference, each number of which has correlations of its own.

        At fixed degrees of freedom the logarithm of the factor is a smooth function of log(n + m): its polynomial
        through Chebyshev's nodes. It is off by less than it moves by when the middle node is left out.
        """
        tests = self.reference.tests
        first, last = math.log(tests + 1), math.log(tests + MOST_TESTS)
        nodes = (first + last) / 2 + (last - first) / 2 * np.cos(np.pi * (np.arange(NODES) + 0.5) / NODES)
        degrees = self._all_degrees()
        known = np.log([dunnett_factors(self._shares(math.exp(node) - tests), degrees) for node in nodes])
        at = np.log(tests + np.arange(MOST_TESTS + 1.0))
        whole = np.sum(_lagrange(nodes, at) * known, axis=0)
        fewer = np.delete(np.arange(NODES), NODES // 2)
        moved = np.abs(np.sum(_lagrange(nodes[fewer], at) * known[fewer], axis=0) - whole)
        return _Course(factor=np.exp(whole), off=NEARLY + moved)

    def find_firm(self, course: _Course) -> BoolArray:
        """Return which verdicts are firm as it is, (k,)."""
        return self._beyond("stock", 0, course, self.size > 0)

    def find_fewest(self, of: Whose, course: _Course, asked: BoolArray) -> IntArray:
        """Return the fewest tests with which each of the stocks asked for is firm, NEVER where 20 don't do, (k,)."""
        fewest = np.full(self.size.size, NEVER)
        left = asked & (self.size > 0)
        for more in range(1, MOST_TESTS + 1):
            beyond = self._beyond(of, more, course, left)
            fewest[beyond] = more
            left &= ~beyond
        return fewest

    def may_be_fewer(self, by_stock: _Course, fewest: IntArray) -> BoolArray:
        """Return which stocks fewer tests of the reference than of the stock may settle, (k,).

        The factor for tests of the reference is nowhere below that for as many of the stock: correlations fall.
        """
        hopeful = np.zeros(self.size.size, dtype=np.bool_)
        for more in range(1, MOST_TESTS + 1):
            least = by_stock.factor[more] * (1 - 2 * NEARLY) * self._error("reference", more)
            hopeful |= (self.size >= least) & (more < fewest)
        return hopeful

    def _beyond(self, of: Whose, more: int, course: _Course, asked: BoolArray) -> BoolArray:
        """Return which of the stocks asked for so many more tests make firm, (k,)."""
        error = self._error(of, more)
        limit = course.factor[more] * error
        if (asked & (np.abs(self.size - limit) <= course.off[more] * limit)).any():
            limit = self._exact_factor(of, more) * error
        # As it is a verdict is firm beyond its limit; what repeats would bring is told from the limit on.
        return np.asarray(asked & (self.size >= limit if more else self.size > limit))

    def _exact_factor(self, of: Whose, more: int) -> float:
        """Return Dunnett's factor after so many more tests."""
        shares = self._shares(more if of == "reference" else 0)
        return dunnett_factor(shares.tolist(), None if self.degrees is None else self.degrees + more)

    def _all_degrees(self) -> FloatArray:
        return (self.degrees or 0.0) + np.arange(MOST_TESTS + 1.0)

    def _error(self, of: Whose, more: int) -> FloatArray:
        """Return the standard error of every difference after so many more tests, (k,)."""
        return np.sqrt(self._variance(more if of == "stock" else 0, more if of == "reference" else 0))

    def _variance(self, of_stock: float, of_reference: float) -> FloatArray:
        return np.asarray(
            self.one_test / (self.tests + of_stock)
            + self.reference.one_test / (self.reference.tests + of_reference)
            + self.lasting
        )

    def _shares(self, more: float) -> FloatArray:
        """Return lambda^2, the reference's part of each variance, after so many more tests of the reference, (k,)."""
        variance = self._variance(0, more)
        part = self.reference.one_test / (self.reference.tests + more) + self.lasting_of_reference
        return np.minimum(np.divide(part, variance, out=np.zeros_like(part), where=variance > 0), 1.0)


def _lagrange(nodes: FloatArray, at: FloatArray) -> FloatArray:
    """Return what each node's value counts in the polynomial through all of them, (nodes, at)."""
    parts = [
        np.prod([(at - other) / (node - other) for other in nodes if other != node], axis=0) for node in nodes.tolist()
    ]
    return np.array(parts)


def _check(compared: Sequence[Compared], reference: Repeated) -> None:
    if any(figure.tests < 1 for figure in compared) or reference.tests < 1:
        raise ValueError("tests must be at least 1")
    if not (all(figure.one_test >= 0 for figure in compared) and reference.one_test >= 0):
        raise ValueError("one_test must not be below 0")
    if not all(0 <= stock.lasting_of_reference <= stock.lasting for stock in compared):
        raise ValueError("lasting_of_reference must lie between 0 and lasting")
