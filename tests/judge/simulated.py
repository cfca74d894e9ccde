"""Series of equal stocks in numbers alone: true scatter and reading errors known, figures as measuring would give."""

from dataclasses import dataclass, replace

import numpy as np

from basefog.judge.pooling import pool_group
from basefog.judge.scatter import pool_repeats
from basefog.judge.verdicts import Judge, find_judge
from basefog.records.content import Stock, Test
from basefog.records.findings import Comparison, Quantity, Scatter
from judge.figures import figure
from measure.bench_content import make_stock, make_test

MEASURE = "average_gradient"


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """How a series is tested: the tests of each stock, the reference first, and the errors of one test.

    `scatter` is the true test-to-test scatter; `reading` the standard uncertainty of one test's reading, one a stock.
    """

    tests: tuple[int, ...]
    reading: tuple[float, ...]
    scatter: float
    told_by_repeats: bool = True


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Simulated:
    """One series: what each stock's verdict was, and what judged it."""

    verdicts: tuple[Comparison, ...]
    judge: Judge


def simulate(plan: Plan, generator: np.random.Generator) -> Simulated:
    """Return the verdicts of one series in which every stock is the reference's equal: all differences are false."""
    stocks: list[Stock] = []
    figures: dict[str, dict[str, Quantity]] = {}
    for number, (count, reading) in enumerate(zip(plan.tests, plan.reading, strict=True)):
        tests: list[Test] = []
        for repeat in range(count):
            test = make_test(f"stock-{number:02d}/2026-0{1 + repeat}-01", repeat=repeat > 0)
            error = plan.scatter * generator.standard_normal() + reading * generator.standard_normal()
            figures[test.key] = {MEASURE: figure(0.6 + error, reading=reading)}
            tests.append(test)
        stocks.append(make_stock(f"stock-{number:02d}", tests))
    scatter = pool_repeats(stocks, figures, [MEASURE]).get(MEASURE) if plan.told_by_repeats else None
    of_stocks = [_figure_of(stock, figures, scatter) for stock in stocks]
    named = {stock.slug: one for stock, one in zip(stocks[1:], of_stocks[1:], strict=True)}
    judge = find_judge(MEASURE, named, of_stocks[0], scatter)
    return Simulated(verdicts=tuple(judge.judge(one) for one in named.values()), judge=judge)


def _figure_of(stock: Stock, figures: dict[str, dict[str, Quantity]], scatter: Scatter | None) -> Quantity:
    told = [
        {MEASURE: replace(figures[test.key][MEASURE], scatter=None if scatter is None else scatter.sigma)}
        for test in stock.tests
    ]
    return told[0][MEASURE] if len(told) == 1 else pool_group(told)[MEASURE]
