import math
from collections.abc import Sequence

import numpy as np
import pytest
from basefog.measure.scatter import group_repeats, pool_scatter

from basefog.measure.intervals import student_factor
from basefog.records.content import Stock, Test
from basefog.records.findings import Quantity, Scatter
from measure.bench_content import make_stock, make_test


def quantity(value: float | None) -> Quantity:
    return Quantity(value=value, low=value, high=value, unit="1", why=None if value is not None else "not read")


def repeated(slug: str, values: Sequence[float | None]) -> tuple[Stock, dict[str, dict[str, Quantity]]]:
    """Return a stock tested once and then repeated, and the gamma of each test."""
    tests = [make_test(f"{slug}/2026-03-{day + 1:02}", repeat=day > 0) for day in range(len(values))]
    return make_stock(slug, tests), {
        test.key: {"gamma": quantity(value)} for test, value in zip(tests, values, strict=True)
    }


def pool(*stocks: tuple[Stock, dict[str, dict[str, Quantity]]]) -> dict[str, Scatter]:
    quantities = {key: found for _, of_stock in stocks for key, found in of_stock.items()}
    return pool_scatter([stock for stock, _ in stocks], quantities, ["gamma", "contrast_index"])


def test_scatter_is_pooled_over_stocks() -> None:
    """The squares about each stock's own mean are added and shared over n - 1 of each: 1 + 2 + 1 degrees."""
    # About their means: 0.02^2 / 2, 2 x 0.03^2, 0.04^2 / 2.
    expected = math.sqrt((0.0002 + 0.0018 + 0.0008) / 4)

    found = pool(
        repeated("alder", [0.60, 0.62]), repeated("birch", [0.70, 0.73, 0.76]), repeated("cedar", [0.50, 0.54])
    )

    assert list(found) == ["gamma"]
    assert found["gamma"].sigma == pytest.approx(expected)
    assert (found["gamma"].degrees_of_freedom, found["gamma"].stocks) == (4, 3)
    assert found["gamma"].measure == "gamma"


def test_two_stocks_with_repeats_are_not_enough() -> None:
    """Scatter counts once three stocks have repeats of that measure; a repeat without a value is none."""
    two = [repeated("alder", [0.60, 0.62]), repeated("birch", [0.70, 0.73])]

    assert pool(*two) == {}
    assert pool(*two, repeated("cedar", [0.50, None])) == {}
    assert pool(*two, repeated("cedar", [0.50])) == {}
    assert pool(*two, repeated("cedar", [0.50, None, 0.52]))["gamma"].degrees_of_freedom == 3


def test_difference_of_stocks_is_no_scatter() -> None:
    """Stocks may differ as they like: only what a stock does against itself counts."""
    near = pool(*(repeated(slug, [0.60, 0.62]) for slug in ("alder", "birch", "cedar")))
    far = pool(repeated("alder", [0.10, 0.12]), repeated("birch", [0.60, 0.62]), repeated("cedar", [2.00, 2.02]))

    assert far["gamma"].sigma == pytest.approx(near["gamma"].sigma)


def ids(groups: tuple[tuple[Test, ...], ...]) -> list[list[str]]:
    return [[test.id for test in group] for group in groups]


def test_repeats_join_the_newest_test_that_is_none() -> None:
    """A forced retest starts afresh: the repeats after it repeat it, not what it replaced."""
    first = make_test("tern-100/2026-03-01")
    forced = make_test("tern-100/2026-03-02", replaces="2026-03-01")
    again = make_test("tern-100/2026-03-03", repeat=True)
    third = make_test("tern-100/2026-03-04", repeat=True, replaces="2026-03-03")

    assert ids(group_repeats(make_stock("tern-100", [first, forced, again, third]))) == [
        ["2026-03-02", "2026-03-03", "2026-03-04"]
    ]


def test_repeat_joins_the_test_it_names() -> None:
    """A repeat that replaces a named test repeats that one, whatever lies between."""
    first = make_test("tern-100/2026-03-01")
    other = make_test("tern-100/2026-03-02")
    again = make_test("tern-100/2026-03-03", repeat=True, replaces="2026-03-01")

    assert ids(group_repeats(make_stock("tern-100", [first, other, again]))) == [["2026-03-01", "2026-03-03"]]


def test_withdrawn_and_varied_tests_are_no_repeats() -> None:
    """A withdrawn test tells nothing of the scatter, nor does another development time."""
    tests = [
        make_test("tern-100/2026-03-01"),
        make_test("tern-100/2026-03-02", repeat=True, withdrawn="fogged"),
        make_test("tern-100/2026-03-03", development_of="2026-03-01"),
    ]

    assert group_repeats(make_stock("tern-100", tests)) == ()


def test_repeat_without_a_first_test_starts_its_own_set() -> None:
    """A stock whose first test was withdrawn is known by its repeats alone."""
    tests = [
        make_test("tern-100/2026-03-01", withdrawn="fogged"),
        make_test("tern-100/2026-03-02", repeat=True),
        make_test("tern-100/2026-03-03", repeat=True),
    ]

    assert ids(group_repeats(make_stock("tern-100", tests))) == [["2026-03-02", "2026-03-03"]]


def test_pooled_scatter_with_students_factor_covers() -> None:
    """Two new tests of one film differ by less than t s root two in 95 % of series, whatever s happened to be."""
    generator = np.random.default_rng(20260314)

    def holds(_: int) -> bool:
        values = 0.6 + 0.02 * generator.standard_normal((3, 2))
        scatter = pool(
            *(
                repeated(slug, list(map(float, row)))
                for slug, row in zip(("alder", "birch", "cedar"), values, strict=True)
            )
        )["gamma"]
        apart = 0.02 * float(np.diff(generator.standard_normal(2))[0])
        return abs(apart) <= student_factor(scatter.degrees_of_freedom) * scatter.sigma * math.sqrt(2)

    covered = float(np.mean([holds(number) for number in range(2000)]))

    assert 0.93 <= covered <= 0.97
