"""The data page: how to cite the series, what its licence allows, and the files of every test."""

from dataclasses import dataclass
from typing import Final

from basefog.publish.addresses import (
    address_of_stock,
    address_of_test,
    address_of_test_data,
    canonical_address,
)
from basefog.publish.pages.frame import SUMMARY, Link, SiteFrame, format_date
from basefog.publish.pages.licences import say_licence
from basefog.publish.pages.names import name_test
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Findings
from basefog.records.vocabulary import CONTRACT_VERSION

_LETTERS_FROM: Final = 40
"""From so many stocks on the list of tests gets a row of letters to jump by."""


@dataclass(frozen=True, kw_only=True, slots=True)
class TestData:
    """The data files of one test; `said` is its day and what the stock is called, for who hears the link alone."""

    test: Link
    current: bool
    said: str
    files: tuple[Link, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class StockData:
    """The data files of one stock; `letter` is where it is listed, if it is the first of that letter, else empty."""

    stock: Link
    letter: str
    tests: tuple[TestData, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class DataPage:
    """Template variable `view` of `data.html`.

    `cite` and `cite_test` are one line of plain text each, the second empty where no test counts; `letters` are those
    that stocks begin with, empty for a short list.
    """

    licence_words: str
    cite: str
    cite_test: str
    contract_version: int
    letters: tuple[str, ...]
    stocks: tuple[StockData, ...]


def page_of_data(series: Series, findings: Findings, site: SiteFrame) -> DataPage:
    """Return the list of everything that can be downloaded, and how to use it."""
    stocks = sorted(
        (stock for stock in series.stocks if stock.tests), key=lambda stock: (_sorted_as(stock), stock.slug)
    )
    first_of: dict[str, str] = {}
    if len(stocks) >= _LETTERS_FROM:
        for stock in stocks:
            first_of.setdefault(_sorted_as(stock)[:1].upper(), stock.slug)
    letters = {slug: letter for letter, slug in first_of.items()}
    return DataPage(
        licence_words=say_licence(series.licence),
        cite=cite_series(series, site),
        cite_test=cite_test(series, site),
        contract_version=CONTRACT_VERSION,
        letters=tuple(first_of),
        stocks=tuple(
            StockData(
                stock=Link(label=stock.name, address=address_of_stock(stock.slug)),
                letter=letters.get(stock.slug, ""),
                tests=tuple(_data_of(findings, stock, test) for test in reversed(stock.tests)),
            )
            for stock in stocks
        ),
    )


def cite_series(series: Series, site: SiteFrame) -> str:
    """Return a line that names the series as it is now: author, title, state, address, licence.

    The state is the newest edition, or the day of the newest test where no edition was recorded.
    """
    days = [test.date for stock in series.stocks for test in stock.tests]
    state = ""
    if series.editions:
        edition = series.editions[-1]
        state = f"Edition {edition.number}, {format_date(edition.date)}"
    elif days:
        state = f"Newest test of {format_date(max(days))}"
    address = canonical_address(site.address, SUMMARY) if site.address else ""
    return _line(series, series.title, state, address)


def cite_test(series: Series, site: SiteFrame) -> str:
    """Return a line that names one test, the reference's current one or the first there is, by its lasting address."""
    stocks = [series.reference_stock, *series.stocks]
    tests = [(stock, stock.current_test) for stock in stocks if stock.current_test is not None]
    if not tests:
        return ""
    stock, test = tests[0]
    if test is None:
        return ""
    address = canonical_address(site.address, address_of_test(test)) if site.address else ""
    return _line(series, f"{stock.name}, test of {name_test(test)}. In: {series.title}", "", address)


def _line(series: Series, title: str, state: str, address: str) -> str:
    parts = [f"{series.author}: {title}" if series.author else title, state, address, series.licence or ""]
    return ". ".join(part for part in parts if part) + "."


def _data_of(findings: Findings, stock: Stock, test: Test) -> TestData:
    files = [Link(label="JSON", address=address_of_test_data(test))]
    if findings.tests[test.key].curve is not None:
        files.append(Link(label="curve", address=address_of_test_data(test, "curve.csv")))
    files.append(Link(label="readings", address=address_of_test_data(test, "readings.csv")))
    return TestData(
        test=Link(label=test.id, address=address_of_test(test)),
        current=test.id == stock.current,
        said=f"{stock.name}, {name_test(test)}",
        files=tuple(files),
    )


def _sorted_as(stock: Stock) -> str:
    return stock.name.casefold()
