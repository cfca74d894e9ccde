"""What a stock asks of the enlarger: exposure against the reference's, in seconds, stops and per cent."""

import math
from dataclasses import dataclass

from basefog.publish.pages.quantities import QuantityText, format_quantity
from basefog.publish.pages.words import say_percent
from basefog.records.content import Series
from basefog.records.findings import Quantity, TestFindings
from basefog.records.numbers import format_number


@dataclass(frozen=True, kw_only=True, slots=True)
class Printing:
    """Enlarging exposure: `change` is empty where there is nothing to compare with."""

    exposure: QuantityText
    reference: QuantityText | None
    change: str
    magnification: str
    paper: str


def printing_of(series: Series, found: TestFindings, reference: TestFindings | None) -> Printing | None:
    """Return what to print a test with, None where it could not be had."""
    quantity = found.measures.get("print_exposure")
    if quantity is None or quantity.value is None:
        return None
    other = reference.measures.get("print_exposure") if reference is not None else None
    magnification = series.enlarging.magnification
    return Printing(
        exposure=format_quantity(quantity),
        reference=format_quantity(other) if other is not None and other.value is not None else None,
        change=_change(quantity, other),
        magnification=f"{magnification:g}" if magnification else "",
        paper=series.enlarging.paper or "",
    )


def _change(quantity: Quantity, other: Quantity | None) -> str:
    if other is None or not other.value or not quantity.value:
        return ""
    ratio = quantity.value / other.value
    stops = format_number(math.log2(ratio), 2, signed=True)
    return f"{say_percent(ratio)}, which is {stops} stops"
