"""Quantities as a reader sees them: rounded once by their uncertainty, with unit, and with the why where missing."""

from dataclasses import dataclass
from typing import Final

from basefog.records.findings import Comparison, Quantity
from basefog.records.numbers import PLUS_MINUS, decimals_for, format_number

UNIT_LABELS: Final = {"D": "", "1": "", "um": "µm", "ISO": ""}
"""Units that pages write otherwise than data files do; density and ratios stand without one."""

_LOPSIDED = 0.15
"""From this share of the half width on, an interval is told by its ends: a plus-minus would hide that it leans."""


@dataclass(frozen=True, kw_only=True, slots=True)
class QuantityText:
    """A quantity in parts, so that a table can align them; all are empty where `why` says that there is no value.

    `spread` is `± 0.011`, or `0.601 to 0.630` in brackets where the interval leans to one side.
    """

    value: str = ""
    spread: str = ""
    unit: str = ""
    at_least: bool = False
    note: str = ""
    why: str = ""

    @property
    def plain(self) -> str:
        """The quantity in one line of text."""
        if not self.value:
            return f"not measured: {self.why}" if self.why else "not measured"
        parts = ("at least" if self.at_least else "", self.value, self.spread, self.unit)
        return " ".join(part for part in parts if part)


def format_quantity(quantity: Quantity, *, signed: bool = False) -> QuantityText:
    """Return a quantity for a page.

    >>> format_quantity(Quantity(value=0.6123, low=0.601, high=0.623, unit="1")).plain
    '0.612 ± 0.011'
    >>> format_quantity(Quantity(value=None, low=None, high=None, unit="1", why="the curve ends early")).plain
    'not measured: the curve ends early'
    """
    unit = UNIT_LABELS.get(quantity.unit, quantity.unit)
    if quantity.value is None:
        return QuantityText(unit=unit, why=tidy(quantity.why) or "no reason was given")
    value, spread = _format_interval(quantity.value, quantity.low, quantity.high, signed=signed, unit=quantity.unit)
    return QuantityText(
        value=value,
        spread=spread,
        unit=unit,
        at_least=quantity.bound == "lower",
        note=_notes_of(quantity),
    )


def format_difference(comparison: Comparison) -> QuantityText:
    """Return a difference for a page, its sign always written."""
    unit = UNIT_LABELS.get(comparison.unit, comparison.unit)
    if comparison.difference is None:
        return QuantityText(unit=unit, why=tidy(comparison.why) or "no reason was given")
    value, spread = _format_interval(comparison.difference, comparison.low, comparison.high, signed=True, unit="")
    return QuantityText(value=value, spread=spread, unit=unit)


def format_could_see(could_see: float) -> str:
    """Return the smallest difference that a test could have seen, rounded up so that it never claims too much.

    >>> format_could_see(0.0191), format_could_see(0.03), format_could_see(1.21)
    ('0.02', '0.03', '1.3')
    """
    decimals = decimals_for(could_see)
    text = format_number(could_see, decimals)
    if float(text) < could_see - 1e-12:
        text = format_number(could_see + 10.0**-decimals, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def tidy(text: str | None) -> str:
    """Return words of the tester or of the numbers fit for the middle of a sentence: one line, no closing stop."""
    return " ".join((text or "").split()).rstrip(". ")


def _format_interval(
    value: float, low: float | None, high: float | None, *, signed: bool, unit: str
) -> tuple[str, str]:
    if low is None or high is None or low == high:
        # Nothing says how sure it is: the digits that are there, without padding.
        text = format_number(value, decimals_for(None), signed=signed)
        return text.rstrip("0").rstrip("."), ""
    half = (high - low) / 2
    decimals = decimals_for(half)
    if unit == "ISO":
        # The value is a step of the standard scale, the interval is not: neither is rounded by the other.
        decimals = 0 if low >= 10 else 1
        ends = f"{format_number(low, decimals)} to {format_number(high, decimals)}"
        return f"{value:g}", f"({ends})"
    text = format_number(value, decimals, signed=signed)
    if abs((high + low) / 2 - value) <= _LOPSIDED * half:
        return text, f"{PLUS_MINUS} {format_number(half, decimals)}"
    low_text, high_text = (format_number(end, decimals, signed=signed) for end in (low, high))
    return text, f"({low_text} to {high_text})"


def _notes_of(quantity: Quantity) -> str:
    notes = [tidy(quantity.note)] if quantity.note else []
    if quantity.unit == "ISO" and quantity.low is not None:
        notes.append("the interval is unrounded")
    if quantity.at_density is not None:
        notes.append(f"at net density {format_number(quantity.at_density, 2)}")
    if quantity.relative_to_average is not None:
        notes.append(f"{format_number(quantity.relative_to_average, 2)} × the average")
    return "; ".join(notes)
