import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.judge import settling
from basefog.judge.factors import dunnett_factor, student_factor
from basefog.judge.settling import Compared, Repeated, Settled, count_tests_to_settle

ONE_TEST = st.floats(0.0001, 0.01)
stocks_of_a_measure = st.lists(
    st.builds(
        Compared,
        difference=st.floats(-0.5, 0.5),
        one_test=ONE_TEST,
        tests=st.integers(1, 4),
        lasting=st.floats(0.0003, 0.002),
        lasting_of_reference=st.floats(0, 0.0003),
    ),
    min_size=1,
    max_size=5,
)


def settle_by_definition(
    compared: list[Compared], reference: Repeated, degrees: float, place: int
) -> tuple[int | None, str | None]:
    """Return tests and whose, from the definition alone: every m, for the stock before the reference."""
    stock = compared[place]

    def variance(one: Compared, mine: int, references: int) -> float:
        return one.one_test / (one.tests + mine) + reference.one_test / (reference.tests + references) + one.lasting

    def part(one: Compared, references: int) -> float:
        common = reference.one_test / (reference.tests + references) + one.lasting_of_reference
        return common / variance(one, 0, references)

    today = dunnett_factor([part(one, 0) for one in compared], degrees)
    if abs(stock.difference) > today * math.sqrt(variance(stock, 0, 0)):
        return 0, None
    for more in range(1, 21):
        factor = dunnett_factor([part(one, 0) for one in compared], degrees + more)
        if abs(stock.difference) >= factor * math.sqrt(variance(stock, more, 0)):
            return more, "stock"
        factor = dunnett_factor([part(one, more) for one in compared], degrees + more)
        if abs(stock.difference) >= factor * math.sqrt(variance(stock, 0, more)):
            return more, "reference"
    return None, None


@given(stocks_of_a_measure, ONE_TEST, st.integers(1, 5), st.sampled_from([1, 2, 5, 12, 60]))
@settings(max_examples=30)
def test_every_number_is_tried(compared: list[Compared], one_test: float, tests: int, degrees: int) -> None:
    """What is found is what trying every m by the definition finds."""
    reference = Repeated(one_test=one_test, tests=tests)

    found = count_tests_to_settle(compared, reference=reference, degrees=degrees, repeats_tell=True)

    for place, settled in enumerate(found):
        assert settled is not None
        assert (settled.tests, settled.of) == settle_by_definition(compared, reference, degrees, place)
        assert settled.by_repeats == (settled.tests is not None)


@pytest.mark.parametrize("degrees", [3, 12])
@pytest.mark.parametrize(("one_test", "lasting_of_reference"), [(0.001, 0.0), (0.004, 0.0), (0.001, 0.0012)])
def test_a_row_of_differences(degrees: int, one_test: float, lasting_of_reference: float) -> None:
    """Of forty stocks, each 0.005 further off than the last, each needs what the definition says."""
    compared = [
        Compared(
            difference=0.06 + 0.005 * place,
            one_test=0.001 + 0.0002 * (place % 4),
            tests=1,
            lasting=lasting_of_reference,
            lasting_of_reference=lasting_of_reference,
        )
        for place in range(40)
    ]
    reference = Repeated(one_test=one_test, tests=1)

    found = count_tests_to_settle(compared, reference=reference, degrees=degrees, repeats_tell=True)

    expected = [settle_by_definition(compared, reference, degrees, place) for place in range(40)]
    assert [(settled.tests, settled.of) for settled in found if settled] == expected
    assert len(set(expected)) >= 6


def test_one_stock_by_hand() -> None:
    """One stock of one test, the reference of four, variance 0.002 a test, 0.10 apart, six degrees of freedom.

    Today t = 2.447 times sqrt(0.002 + 0.0005) is 0.1224. One more test of the stock: 2.365 sqrt(0.0015) = 0.0916.
    """
    (settled,) = count_tests_to_settle(
        [Compared(difference=-0.10, one_test=0.002, tests=1)],
        reference=Repeated(one_test=0.002, tests=4),
        degrees=6,
        repeats_tell=True,
    )

    assert settled == Settled(tests=1, of="stock")


def test_the_reference_where_it_is_what_is_poorly_known() -> None:
    """With the numbers of tests exchanged the reference is the one to repeat."""
    (settled,) = count_tests_to_settle(
        [Compared(difference=0.10, one_test=0.002, tests=4)],
        reference=Repeated(one_test=0.002, tests=1),
        degrees=6,
        repeats_tell=True,
    )

    assert settled == Settled(tests=1, of="reference")


def test_a_tie_goes_to_the_stock() -> None:
    """Where both need as many, the stock is named: 2.228 sqrt(0.002 + 0.002 / 5) = 0.1092, with 3 more it is 0.1131."""
    (settled,) = count_tests_to_settle(
        [Compared(difference=0.11, one_test=0.002, tests=1)],
        reference=Repeated(one_test=0.002, tests=1),
        degrees=6,
        repeats_tell=True,
    )

    assert settled == Settled(tests=4, of="stock")


@pytest.mark.parametrize(
    ("size", "expected"),
    [(1.0001, Settled(tests=20, of="stock")), (0.9999, Settled(tests=None, of=None, by_repeats=False))],
)
def test_twenty_are_the_most(size: float, expected: Settled) -> None:
    """What twenty tests just settle is told; what they just don't is not settled by repeats."""
    limit = student_factor(26) * math.sqrt(0.002 / 21 + 0.002 / 40)

    found = count_tests_to_settle(
        [Compared(difference=limit * size, one_test=0.002, tests=1)],
        reference=Repeated(one_test=0.002, tests=40),
        degrees=6,
        repeats_tell=True,
    )

    assert found == (expected,)


def test_firm_needs_nothing() -> None:
    """A firm verdict is told as 0 tests, also where repeats don't tell the scatter."""
    stock = Compared(difference=0.30, one_test=0.002, tests=1)

    for repeats_tell in (True, False):
        found = count_tests_to_settle(
            [stock], reference=Repeated(one_test=0.002, tests=4), degrees=6, repeats_tell=repeats_tell
        )
        assert found == (Settled(tests=0, of=None),)


@pytest.mark.parametrize("degrees", [None, 6])
def test_nobody_knows_without_repeats(degrees: float | None) -> None:
    """Where repeats don't tell the scatter nothing is foretold, with the strips' degrees of freedom or without."""
    stock = Compared(difference=0.05, one_test=0.002, tests=1)

    found = count_tests_to_settle(
        [stock], reference=Repeated(one_test=0.002, tests=4), degrees=degrees, repeats_tell=False
    )

    assert found == (None,)


@pytest.mark.parametrize(
    ("stock", "of_reference"),
    [
        (Compared(difference=0.10, one_test=0.002, tests=1, lasting=0.004), 0.002),
        (Compared(difference=0.001, one_test=0.002, tests=1), 0.002),
        (Compared(difference=0.0, one_test=0.0, tests=1), 0.0),
    ],
)
def test_repeats_do_not_help_everywhere(stock: Compared, of_reference: float) -> None:
    """A shared error as large as the difference, next to no difference, or none at all: 20 tests don't settle it."""
    reference = Repeated(one_test=of_reference, tests=4)

    found = count_tests_to_settle([stock], reference=reference, degrees=6, repeats_tell=True)

    assert found == (Settled(tests=None, of=None, by_repeats=False),)


def test_tests_of_the_reference_can_widen() -> None:
    """Among precise stocks d grows so much, as the reference's error falls, that a poorly known one is further off.

    Its own error lasts, so that no tests settle it, and each test of the reference would put it further off.
    """
    precise = [Compared(difference=0.0, one_test=0.0001, tests=4) for _ in range(40)]
    poor = Compared(difference=0.0, one_test=0.0, tests=1, lasting=1.0)

    def limit(more: int) -> float:
        common = 0.002 / (1 + more)
        shares = [common / (common + 0.0001 / 4)] * 40 + [common / (common + 1.0)]
        return math.sqrt(1.0 + common) * dunnett_factor(shares, 500 + more)

    assert limit(0) < limit(1) < limit(2)
    reference = Repeated(one_test=0.002, tests=1)
    for size, expected in (
        (1.001, Settled(tests=0, of=None)),
        (0.98, Settled(tests=None, of=None, by_repeats=False)),
    ):
        stocks = [*precise, replace(poor, difference=limit(0) * size)]

        assert count_tests_to_settle(stocks, reference=reference, degrees=500, repeats_tell=True)[-1] == expected


@pytest.mark.parametrize("tests", [1, 2, 5])
@pytest.mark.parametrize("degrees", [2, 9])
def test_stocks_of_very_unequal_precision(tests: int, degrees: int) -> None:
    """Sixty stocks whose own variances lie 10,000 times apart, each near a limit, need what the definition says."""
    rng = np.random.default_rng(100 * tests + degrees)
    compared = [
        Compared(
            difference=float(difference) * math.sqrt(variance + 0.001), one_test=float(variance), tests=1 + place % 3
        )
        for place, (variance, difference) in enumerate(
            zip(0.002 * 10 ** rng.uniform(-2, 2, 60), rng.uniform(1, 6, 60), strict=True)
        )
    ]
    reference = Repeated(one_test=0.002, tests=tests)

    found = count_tests_to_settle(compared, reference=reference, degrees=degrees, repeats_tell=True)

    expected = [settle_by_definition(compared, reference, degrees, place) for place in range(60)]
    assert [(settled.tests, settled.of) for settled in found if settled] == expected


def test_most_factors_are_never_computed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A thousand stocks need at most one exact factor for each number of tests, where two verdicts hang on a hair."""
    asked: list[tuple[tuple[float, ...], float | None]] = []

    def count(lambda_squared: list[float], degrees: float | None) -> float:
        asked.append((tuple(lambda_squared), degrees))
        return dunnett_factor(lambda_squared, degrees)

    monkeypatch.setattr(settling, "dunnett_factor", count)
    compared = [
        Compared(difference=0.0005 * place, one_test=0.002 + 1e-6 * place, tests=1 + place % 3) for place in range(1000)
    ]

    found = count_tests_to_settle(compared, reference=Repeated(one_test=0.002, tests=3), degrees=9, repeats_tell=True)

    assert {settled.tests for settled in found if settled} >= {0, 1, 2, 3, None}
    assert len(asked) == len(set(asked)) <= 41


def test_no_stock_at_all() -> None:
    """A measure that no stock has needs nothing."""
    reference = Repeated(one_test=0.002, tests=3)

    assert count_tests_to_settle([], reference=reference, degrees=9, repeats_tell=True) == ()


def test_what_is_out_of_range_is_refused() -> None:
    """Tests below 1, a negative variance, a part larger than the whole, repeats without degrees: each is named."""
    stock, reference = Compared(difference=0.1, one_test=0.002, tests=1), Repeated(one_test=0.002, tests=3)
    for wrong, message in (
        (replace(stock, tests=0), "tests must be at least 1"),
        (replace(stock, one_test=-0.1), "one_test must not be below 0"),
        (replace(stock, lasting=0.1, lasting_of_reference=0.2), "lasting_of_reference must lie between"),
    ):
        with pytest.raises(ValueError, match=message):
            count_tests_to_settle([wrong], reference=reference, degrees=9, repeats_tell=True)
    with pytest.raises(ValueError, match="tests must be at least 1"):
        count_tests_to_settle([stock], reference=replace(reference, tests=0), degrees=9, repeats_tell=True)
    with pytest.raises(ValueError, match="one_test must not be below 0"):
        count_tests_to_settle([stock], reference=replace(reference, one_test=-1), degrees=9, repeats_tell=True)
    with pytest.raises(ValueError, match="degrees must be given"):
        count_tests_to_settle([stock], reference=reference, degrees=None, repeats_tell=True)
