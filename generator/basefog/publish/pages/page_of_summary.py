"""The summary: every current test in one table."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from basefog.picture import compute_strip_greys
from basefog.publish.addresses import ANY_TWO, address_of_history, address_of_stock
from basefog.publish.pages.frame import NOTHING, Link
from basefog.publish.pages.measure_rows import SIGNED, TURNED, address_of_definition, verdict_text
from basefog.publish.pages.quantities import QuantityText, format_quantity
from basefog.publish.pages.summary_block import Standings, render_block, standings_of
from basefog.publish.pages.words import SIDES, Standing
from basefog.records.content import Series, Stock
from basefog.records.findings import Findings, TestFindings
from basefog.records.vocabulary import MEASURES, Measure

STRIPS: Final = "stocks/strips.png"
"""The strips of all stocks, one row of pixels a stock: a table of a thousand would be heavy with drawn ones."""

_FIRST_COLUMNS: Final = (
    "speed_from_reference",
    "average_gradient",
    "shadow_gradient",
    "highlight_gradient",
    "base_plus_fog",
    "rms_granularity",
    "mtf50",
)
"""Columns that stand in the table itself, where the series has them; a reader may choose others."""

_GROUPS: Final = (
    ("Speed", ("speed_from_reference", "shadow_match", "speed_point", "iso_speed", "contrast_corrected_speed")),
    ("Contrast", ("average_gradient", "contrast_index", "gamma", "matching_time")),
    ("Tones", ("shadow_gradient", "middle_gradient", "highlight_gradient", "useful_range")),
    ("Density", ("base_plus_fog", "maximum_density")),
    ("Grain and sharpness", ("rms_granularity", "grain_correlation", "print_graininess", "mtf50")),
    (
        "Printing",
        ("print_exposure", "print_shadow_contrast", "print_middle_contrast", "print_highlight_contrast"),
    ),
)
"""How the choice of columns is laid out; a measure that none names stands under the last heading, Other."""

_SPEED_CLASSES: Final = (("slow", 0.0), ("medium", 80.0), ("fast", 250.0), ("very fast", 800.0))
"""Box speeds as the trade speaks of them, each from its bound up to the next (common practice, no source)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """A measure that at least one stock has. `extra` columns wait until a reader asks for them."""

    id: str
    name: str
    unit: str
    definition_address: str
    extra: bool

    @property
    def label(self) -> str:
        """Its name with its unit, for where no heading stands above."""
        return f"{self.name}, {self.unit}" if self.unit else self.name


@dataclass(frozen=True, kw_only=True, slots=True)
class ColumnGroup:
    """Columns that are offered together."""

    name: str
    columns: tuple[Column, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeedClass:
    """A class of box speeds; `label` tells its lower bound."""

    id: str
    label: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """One measure of one stock. `address` is its place on the stock's page, where also stands why it is missing."""

    column: Column
    quantity: QuantityText
    address: str
    standing: Standing
    verdict: str

    @property
    def mark(self) -> str:
        """The sign of a difference to the reference beyond error."""
        return {"higher": "▲", "lower": "▼"}.get(self.standing, "") if self.quantity.value else ""

    @property
    def text(self) -> str:
        """The cell in one line as the script reads it: value, sign, then `±` or brackets; empty where missing."""
        if not self.quantity.value:
            return ""
        at_least = "≥ " if self.quantity.at_least else ""
        return f"{at_least}{self.quantity.value}{self.mark} {self.quantity.spread}".rstrip()


@dataclass(frozen=True, kw_only=True, slots=True)
class SummaryRow:
    """One stock. `tests` counts those of its history; `strip` its place in the picture of strips, None without one."""

    stock: Link
    slug: str
    maker: str
    box_speed: str
    test: str
    is_reference: bool
    tests: int
    history: str
    greys: tuple[int, ...]
    strip: int | None
    cells: tuple[Cell, ...]
    curve: Markup = NOTHING


@dataclass(frozen=True, kw_only=True, slots=True)
class SummaryPage:
    """Template variable `view` of `summary.html`.

    `columns` are all measures of the series, those of the table first; a row has a cell for each that is not `extra`.
    `block` is JSON for the script; `strips` the address of the picture of all strips, empty where there is none;
    `any_two` that of the page that compares any two tests.
    """

    reference: Link | None
    columns: tuple[Column, ...]
    groups: tuple[ColumnGroup, ...]
    speed_classes: tuple[SpeedClass, ...]
    makers: tuple[str, ...]
    any_retested: bool
    rows: tuple[SummaryRow, ...]
    without_test: tuple[Link, ...]
    strips: str
    any_two: str
    block: Markup


def page_of_summary(series: Series, findings: Findings) -> SummaryPage:
    """Return the summary's view-model: the reference first, the others by name."""
    stocks = sorted(
        (stock for stock in series.stocks if stock.current is not None),
        key=lambda stock: (stock.slug != series.reference, stock.name.casefold(), stock.slug),
    )
    found = [findings.of(stock.slug, stock.current or "") for stock in stocks]
    columns = _columns_of(found)
    cells = {column.id: _cells_of(column, found) for column in columns}
    shown = [column for column in columns if not column.extra]
    makers = sorted({stock.maker for stock in stocks if stock.maker}, key=lambda maker: (maker.casefold(), maker))
    classes = tuple(kind for kind in _SPEED_CLASSES if any(_speed_class(stock) == kind[0] for stock in stocks))
    rows = _rows(findings, stocks, found, cells={column.id: cells[column.id] for column in shown})
    return SummaryPage(
        reference=Link(label=series.reference_stock.name, address=address_of_stock(series.reference))
        if findings.reference
        else None,
        columns=columns,
        groups=_groups_of(columns),
        speed_classes=tuple(SpeedClass(id=name, label=_label_of(name, bound)) for name, bound in classes),
        makers=tuple(makers),
        any_retested=any(row.tests > 1 for row in rows),
        rows=rows,
        without_test=tuple(
            Link(label=stock.name, address=address_of_history(stock.slug))
            for stock in series.stocks
            if stock.current is None
        ),
        strips=STRIPS if any(row.strip is not None for row in rows) else "",
        any_two=ANY_TWO,
        block=_block_of(findings, stocks, found, columns=columns, cells=cells, classes=classes, makers=makers),
    )


def _columns_of(tests: Sequence[TestFindings]) -> tuple[Column, ...]:
    def known(measure: Measure) -> bool:
        return any(test.measures[measure.id].value is not None for test in tests if measure.id in test.measures)

    shown = [measure for measure in MEASURES if known(measure)]
    first = [measure for wanted in _FIRST_COLUMNS for measure in shown if measure.id == wanted]
    return tuple(
        Column(
            id=measure.id,
            name=measure.name,
            unit=format_unit(measure.unit),
            definition_address=address_of_definition(measure.id),
            extra=measure not in first,
        )
        for measure in [*first, *(measure for measure in shown if measure not in first)]
    )


def _groups_of(columns: Sequence[Column]) -> tuple[ColumnGroup, ...]:
    by_id = {column.id: column for column in columns}
    named = {measure for _, measures in _GROUPS for measure in measures}
    laid_out = (*_GROUPS, ("Other", tuple(column.id for column in columns if column.id not in named)))
    groups = [
        ColumnGroup(name=name, columns=tuple(by_id[measure] for measure in measures if measure in by_id))
        for name, measures in laid_out
    ]
    return tuple(group for group in groups if group.columns)


def format_unit(unit: str) -> str:
    """Return a unit as a table's head tells it.

    A speed has none: its name says which scale it is on, and not every arithmetic speed is an ISO speed.

    >>> format_unit("D"), format_unit("um"), format_unit("1"), format_unit("ISO")
    ('density', 'µm', '', '')
    """
    return {"D": "density", "um": "µm", "1": "", "ISO": ""}.get(unit, unit)


def _speed_class(stock: Stock) -> str:
    return next(name for name, bound in reversed(_SPEED_CLASSES) if stock.box_speed >= bound)


def _label_of(name: str, bound: float) -> str:
    """Return what a class of box speeds is called where it is chosen."""
    return f"{name}, from {bound:g}" if bound else f"{name}, below {_SPEED_CLASSES[1][1]:g}"


def _rows(
    findings: Findings,
    stocks: Sequence[Stock],
    found: Sequence[TestFindings],
    *,
    cells: Mapping[str, Sequence[Cell]],
) -> tuple[SummaryRow, ...]:
    greys = [compute_strip_greys(test.curve) if test.curve is not None else () for test in found]
    places = {index: place for place, index in enumerate(index for index, strip in enumerate(greys) if strip)}
    return tuple(
        SummaryRow(
            stock=Link(label=stock.name, address=address_of_stock(stock.slug)),
            slug=stock.slug,
            maker=stock.maker or "",
            box_speed=f"{stock.box_speed:g}",
            test=test.test,
            is_reference=test.key == findings.reference,
            tests=_tests_of(stock),
            history=address_of_history(stock.slug),
            greys=greys[index],
            strip=places.get(index),
            cells=tuple(column[index] for column in cells.values()),
        )
        for index, (stock, test) in enumerate(zip(stocks, found, strict=True))
    )


def _cells_of(column: Column, found: Sequence[TestFindings]) -> tuple[Cell, ...]:
    return tuple(_cell(test, column) for test in found)


def _cell(found: TestFindings, column: Column) -> Cell:
    quantity = found.figure(column.id) if column.id in found.measures else None
    if quantity is None:
        missing = QuantityText(why="not computed")
        return Cell(column=column, quantity=missing, address="", standing="unknown", verdict="")
    comparison = found.against_reference.get(column.id)
    words = ""
    standing: Standing = "unknown"
    if comparison is not None:
        higher, lower = SIDES.get(column.id, ("higher", "lower"))
        verdict = verdict_text(comparison, higher=higher, lower=lower, turned=column.id in TURNED)
        standing, words = verdict.standing, verdict.words
    return Cell(
        column=column,
        quantity=format_quantity(quantity, signed=column.id in SIGNED),
        address=f"{address_of_stock(found.stock)}#{column.id}",
        standing=standing,
        verdict=words,
    )


def _block_of(
    findings: Findings,
    stocks: Sequence[Stock],
    found: Sequence[TestFindings],
    *,
    columns: Sequence[Column],
    cells: Mapping[str, Sequence[Cell]],
    classes: Sequence[tuple[str, float]],
    makers: Sequence[str],
) -> Markup:
    """Return what the script needs of every column, in the order of the table, and of every stock."""
    names = [_natural(stock.name) for stock in stocks]
    ranks = {name: rank for rank, name in enumerate(sorted(set(names)), 1)}
    by_name = {"id": "name", "name": "Stock", "falls": False, "rank": [ranks[name] for name in names]}
    about = {
        # Choices count from 1 in the order of the form, where 0 is any.
        "speed": [1 + [name for name, _ in classes].index(_speed_class(stock)) for stock in stocks],
        "maker": [1 + makers.index(stock.maker) if stock.maker else 0 for stock in stocks],
        "retested": [int(_tests_of(stock) > 1) for stock in stocks],
        "process": [f" {stock.process}" if stock.process else "" for stock in stocks],
    }
    measures = [
        _measure_block(column, standings_of(column.id, found, findings.scatter.get(column.id)), cells[column.id])
        for column in columns
    ]
    return render_block({"columns": [by_name, {"id": "curve", "name": "Curve"}, *measures], "stocks": about})


def _measure_block(column: Column, standings: Standings, cells: Sequence[Cell]) -> dict[str, object]:
    """Return one measure for the script, its lists in the order of the rows; `text` only where no cell tells it."""
    block: dict[str, object] = {
        "id": column.id,
        "name": column.name,
        "falls": True,
        "rank": standings.ranks,
        "note": standings.note,
    }
    if any(standings.places):
        block["of"] = sum(rank > 0 for rank in standings.ranks)
        block["from"], block["to"] = zip(*(place or (0, 0) for place in standings.places), strict=True)
    if column.extra:
        block["label"] = column.label
        marks = "▼▲" if column.id in TURNED else "▲▼"
        block["signs"] = dict(zip(marks, SIDES.get(column.id, ("higher", "lower")), strict=True))
        block["text"] = "|".join(cell.text for cell in cells)
    return block


def _tests_of(stock: Stock) -> int:
    """Return how many tests make a stock's history; those that vary only a development time belong to another."""
    return sum(test.development_of is None for test in stock.tests)


def _natural(name: str) -> tuple[tuple[int, str], ...]:
    """Return what sorts a name so that its numbers count: Tern 50 before Tern 100.

    >>> sorted(["Tern 100", "tern 50", "Gull 25"], key=_natural)
    ['Gull 25', 'tern 50', 'Tern 100']
    """
    parts = re.split(r"(\d+)", name.casefold())
    return tuple((int(part), "") if part.isdecimal() else (0, part) for part in parts)
