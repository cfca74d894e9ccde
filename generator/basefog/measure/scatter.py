"""How far the same test scatters when it is done again: pooled from the repeats of the whole series."""

from collections.abc import Iterable, Mapping

import numpy as np

from basefog.records.content import Stock, Test
from basefog.records.findings import Quantity, Scatter

STOCKS_FOR_SCATTER = 3
"""Stocks that need repeats of a measure before its scatter counts (measures.md, "Verdicts")."""


def group_repeats(stock: Stock) -> tuple[tuple[Test, ...], ...]:
    """Return the sets of tests of a stock that are one test done again, oldest first, each of two or more.

    A test marked `repeat: true` joins the test it replaces where it names one, else the newest earlier test that is
    no repeat. Withdrawn tests, and those that vary only the development time of another, are left out.
    """
    groups: list[list[Test]] = []
    for test in stock.tests:
        if test.withdrawn is not None or test.development_of is not None:
            continue
        if test.repeat and groups:
            named = [group for group in groups if any(member.id == test.replaces for member in group)]
            (named or groups)[-1].append(test)
        else:
            groups.append([test])
    return tuple(tuple(group) for group in groups if len(group) > 1)


def pool_scatter(
    stocks: Iterable[Stock], quantities: Mapping[str, Mapping[str, Quantity]], names: Iterable[str]
) -> dict[str, Scatter]:
    """Return the test-to-test scatter of every measure that at least three stocks have repeats of.

    Arguments: `quantities` by test key (`stock/test`), then by name; `names` the names to pool, in order. Repeats
    without a value of a measure count nothing towards it.

    sigma^2 = sum over sets of sum (x_i - mean of set)^2 / degrees of freedom, where a set of n values gives n - 1
    degrees. What the repeats' own reading errors add is part of sigma, so that it errs on the wide side (project).
    """
    grouped = [(stock.slug, group) for stock in stocks for group in group_repeats(stock)]
    pooled = {name: _pool(name, grouped, quantities) for name in names}
    return {name: scatter for name, scatter in pooled.items() if scatter is not None}


def _pool(
    name: str, grouped: list[tuple[str, tuple[Test, ...]]], quantities: Mapping[str, Mapping[str, Quantity]]
) -> Scatter | None:
    """Return the scatter of one measure, None where fewer than three stocks have repeats of it."""
    sum_of_squares, degrees, slugs = 0.0, 0, set[str]()
    for slug, group in grouped:
        values = [value for test in group if (value := _value(quantities, test, name)) is not None]
        if len(values) < 2:
            continue
        sum_of_squares += float(np.sum((np.array(values) - np.mean(values)) ** 2))
        degrees += len(values) - 1
        slugs.add(slug)
    if len(slugs) < STOCKS_FOR_SCATTER:
        return None
    return Scatter(
        measure=name, sigma=float(np.sqrt(sum_of_squares / degrees)), degrees_of_freedom=degrees, stocks=len(slugs)
    )


def _value(quantities: Mapping[str, Mapping[str, Quantity]], test: Test, name: str) -> float | None:
    quantity = quantities.get(test.key, {}).get(name)
    return None if quantity is None else quantity.value
