"""What a stock asks of the enlarger: exposure against the reference's, in seconds, stops and per cent."""

from dataclasses import dataclass
from typing import Final

from basefog.measure.printing import compute_enlarging_factor, express_in_percent, express_in_stops
from basefog.publish.pages.quantities import QuantityText, format_quantity
from basefog.records.content import Series
from basefog.records.findings import Quantity, TestFindings
from basefog.records.numbers import format_number

_MAGNIFICATIONS: Final = (3.0, 5.0, 8.0, 12.0, 16.0)
"""Sizes of print that the exposure is told for besides the series' own."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintSize:
    """The exposure at another magnification."""

    magnification: str
    exposure: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Printing:
    """Enlarging exposure: `percent` and `stops` against the reference's are empty where there is none."""

    exposure: QuantityText
    reference: QuantityText | None
    percent: str
    stops: str
    magnification: str
    paper: str
    sizes: tuple[PrintSize, ...]


def printing_of(series: Series, found: TestFindings, reference: TestFindings | None) -> Printing | None:
    """Return what to print a test with, None where it could not be had."""
    quantity = found.measures.get("print_exposure")
    if quantity is None or quantity.value is None:
        return None
    other = reference.measures.get("print_exposure") if reference is not None else None
    other_s = other.value if other is not None else None
    magnification = series.enlarging.magnification
    return Printing(
        exposure=format_quantity(quantity),
        reference=format_quantity(other) if other is not None and other_s else None,
        percent=format_quantity(express_in_percent(quantity, other_s), signed=True).plain if other_s else "",
        stops=format_quantity(express_in_stops(quantity, other_s), signed=True).plain if other_s else "",
        magnification=f"{magnification:g}" if magnification else "",
        paper=series.enlarging.paper or "",
        sizes=_sizes(quantity, magnification),
    )


def _sizes(quantity: Quantity, magnification: float | None) -> tuple[PrintSize, ...]:
    """Return the exposure at other magnifications by (m + 1)^2, none where the series tells no magnification."""
    exposure_s = quantity.value
    if exposure_s is None or magnification is None:
        return ()
    return tuple(
        PrintSize(
            magnification=f"{other:g}",
            exposure=format_number(exposure_s * compute_enlarging_factor(magnification, other), 1),
        )
        for other in _MAGNIFICATIONS
        if other != magnification
    )
