"""The summary: every current test in one table."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from basefog.publish.addresses import address_of_history, address_of_stock
from basefog.publish.pages.frame import Link, format_date
from basefog.publish.pages.measure_rows import SIGNED, address_of_definition, verdict_text
from basefog.publish.pages.page_of_test import Strip, strips_of
from basefog.publish.pages.quantities import QuantityText, decimals_of_column, format_quantity
from basefog.publish.pages.verdict import verdict_of
from basefog.publish.pages.words import SIDES, Standing, comparison_of
from basefog.records.content import Series, Stock
from basefog.records.findings import Findings, TestFindings
from basefog.records.vocabulary import MEASURES, Measure

_FIRST_COLUMNS: Final = (
    "speed_from_reference",
    "average_gradient",
    "shadow_gradient",
    "highlight_gradient",
    "base_plus_fog",
    "rms_granularity",
    "mtf50",
)
"""Columns that are always shown, where the series has them; a reader may add one of the others."""

_NOTHING: Final = Markup()


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """A measure that at least one stock has. `extra` columns wait until a reader asks for them."""

    id: str
    name: str
    unit: str
    definition: str
    definition_address: str
    extra: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """One measure of one stock; `sort` is its plain value for a script, empty where it is missing."""

    column: Column
    quantity: QuantityText
    sort: str
    standing: Standing
    verdict: str


@dataclass(frozen=True, kw_only=True, slots=True)
class SummaryRow:
    """One stock. `retests` counts its earlier tests that count for its history."""

    stock: Link
    slug: str
    maker: str
    box_speed: str
    tested: str
    test: str
    is_reference: bool
    retested: int
    history: str
    strip: Strip | None
    verdict: str
    words: str
    cells: tuple[Cell, ...]
    curve: Markup = _NOTHING


@dataclass(frozen=True, kw_only=True, slots=True)
class SummaryPage:
    """Template variable `view` of `summary.html`."""

    reference: Link | None
    columns: tuple[Column, ...]
    box_speeds: tuple[str, ...]
    rows: tuple[SummaryRow, ...]
    without_test: tuple[Link, ...]


def page_of_summary(series: Series, findings: Findings) -> SummaryPage:
    """Return the summary's view-model: the reference first, the others by name."""
    stocks = sorted(
        (stock for stock in series.stocks if stock.current is not None),
        key=lambda stock: (stock.slug != series.reference, stock.name.casefold(), stock.slug),
    )
    current = [(stock, findings.of(stock.slug, stock.current or "")) for stock in stocks]
    columns = _columns_of([found for _, found in current])
    decimals = {
        column.id: decimals_of_column(
            found.measures[column.id].half_width for _, found in current if column.id in found.measures
        )
        for column in columns
    }
    speeds = sorted({stock.box_speed for stock in stocks})
    return SummaryPage(
        reference=Link(label=series.reference_stock.name, address=address_of_stock(series.reference))
        if findings.reference
        else None,
        columns=columns,
        box_speeds=tuple(f"{speed:g}" for speed in speeds),
        rows=tuple(
            _row(series, findings, stock, found, columns=columns, decimals=decimals) for stock, found in current
        ),
        without_test=tuple(
            Link(label=stock.name, address=address_of_history(stock.slug))
            for stock in series.stocks
            if stock.current is None
        ),
    )


def _columns_of(tests: list[TestFindings]) -> tuple[Column, ...]:
    def known(measure: Measure) -> bool:
        return any(test.measures[measure.id].value is not None for test in tests if measure.id in test.measures)

    shown = [measure for measure in MEASURES if known(measure)]
    first = [measure for wanted in _FIRST_COLUMNS for measure in shown if measure.id == wanted]
    return tuple(
        Column(
            id=measure.id,
            name=measure.name,
            unit=format_unit(measure.unit),
            definition=measure.definition,
            definition_address=address_of_definition(measure.id),
            extra=measure not in first,
        )
        for measure in [*first, *(measure for measure in shown if measure not in first)]
    )


def format_unit(unit: str) -> str:
    """Return a unit as a table's head tells it.

    A speed has none: its name says which scale it is on, and not every arithmetic speed is an ISO speed.

    >>> format_unit("D"), format_unit("um"), format_unit("1"), format_unit("ISO")
    ('density', 'µm', '', '')
    """
    return {"D": "density", "um": "µm", "1": "", "ISO": ""}.get(unit, unit)


def _row(
    series: Series,
    findings: Findings,
    stock: Stock,
    found: TestFindings,
    *,
    columns: tuple[Column, ...],
    decimals: Mapping[str, int | None],
) -> SummaryRow:
    test = stock.test(found.test)
    strips = strips_of((stock.name, ""), found, None)
    main_tests = [other for other in stock.tests if other.development_of is None]
    return SummaryRow(
        stock=Link(label=stock.name, address=address_of_stock(stock.slug)),
        slug=stock.slug,
        maker=stock.maker or "",
        box_speed=f"{stock.box_speed:g}",
        tested=format_date(test.date),
        test=test.id,
        is_reference=found.key == findings.reference,
        retested=len(main_tests) - 1,
        history=address_of_history(stock.slug),
        strip=strips[0] if strips else None,
        verdict=verdict_of(series, findings, test).lead,
        words=" ".join([stock.name, stock.maker or "", f"{stock.box_speed:g}", stock.process or ""]).lower(),
        cells=tuple(_cell(found, column, decimals[column.id]) for column in columns),
    )


def _cell(found: TestFindings, column: Column, decimals: int | None) -> Cell:
    quantity = found.measures.get(column.id)
    if quantity is None:
        return Cell(column=column, quantity=QuantityText(why="not computed"), sort="", standing="unknown", verdict="")
    comparison = comparison_of(found, column.id)
    words = ""
    standing: Standing = "unknown"
    if comparison is not None:
        higher, lower = SIDES.get(column.id, ("higher", "lower"))
        verdict = verdict_text(comparison, higher=higher, lower=lower)
        standing, words = verdict.standing, verdict.words
    return Cell(
        column=column,
        quantity=format_quantity(quantity, signed=column.id in SIGNED, decimals=decimals),
        sort="" if quantity.value is None else f"{quantity.value:.6g}",
        standing=standing,
        verdict=words,
    )
