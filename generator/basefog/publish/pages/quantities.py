"""Quantities as a reader sees them: rounded once by their uncertainty, with unit, and with the why where missing."""

from dataclasses import dataclass
from typing import Final

from basefog.measure.speed import STANDARD_SPEEDS
from basefog.records.findings import Comparison, Quantity
from basefog.records.numbers import (
    PLUS_MINUS,
    decimals_for,
    format_number,
    has_width,
    round_to,
    round_to_digits,
    settle,
)

UNIT_LABELS: Final = {"D": "", "1": "", "um": "µm", "ISO": ""}
"""Units that pages write otherwise than data files do; density and ratios stand without one."""

_MORE_DECIMALS = 2
"""So many more than usual are written where fewer would hide on which side of zero an interval lies."""

_NOTHING = 1e-12
"""Below this a difference of rounded figures is none."""

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
    """Return a quantity for a page, rounded to two digits of its error.

    >>> format_quantity(Quantity(value=0.6123, low=0.601, high=0.623, unit="1")).plain
    '0.612 ± 0.011'
    >>> format_quantity(Quantity(value=None, low=None, high=None, unit="1", why="the curve ends early")).plain
    'not measured: the curve ends early'
    """
    unit = UNIT_LABELS.get(quantity.unit, quantity.unit)
    if quantity.value is None:
        return QuantityText(unit=unit, why=tidy(quantity.why) or "no reason was given")
    if quantity.unit == "ISO" and quantity.exact is not None:
        value, spread = _format_interval(quantity.exact, quantity.low, quantity.high, signed=False)
        if round_to_digits(quantity.value, 3) in STANDARD_SPEEDS and quantity.value != quantity.exact:
            spread = f"{spread}, rounds to {quantity.value:g}".lstrip(", ")
    else:
        value, spread = _format_interval(quantity.value, quantity.low, quantity.high, signed=signed)
    return QuantityText(
        value=value,
        spread=spread,
        unit=unit,
        at_least=quantity.bound == "lower",
        note=_notes_of(quantity),
    )


def format_difference(comparison: Comparison) -> QuantityText:
    """Return a difference for a page, its sign always written, rounded to two digits of its error.

    >>> format_difference(Comparison(verdict="lower", difference=-0.0384, low=-0.0764, high=-0.0004)).plain
    '−0.0384 ± 0.0380'
    """
    unit = UNIT_LABELS.get(comparison.unit, comparison.unit)
    if comparison.difference is None:
        return QuantityText(unit=unit, why=tidy(comparison.why) or "no reason was given")
    value, spread = _format_interval(comparison.difference, comparison.low, comparison.high, signed=True)
    return QuantityText(value=value, spread=spread, unit=unit)


def format_half(half: float) -> str:
    """Return half an interval alone, as it stands after the sign: the 95 % limit of a difference.

    >>> format_half(0.0191), format_half(1.21), format_half(14.2)
    ('0.019', '1.2', '14')
    """
    return format_number(half, decimals_for(half))


def tidy(text: str | None) -> str:
    """Return words of the tester or of the numbers fit for the middle of a sentence: one line, no closing stop."""
    return " ".join((text or "").split()).rstrip(". ")


def _format_interval(value: float, low: float | None, high: float | None, *, signed: bool) -> tuple[str, str]:
    if low is None or high is None or not has_width((high - low) / 2):
        # Nothing says how sure it is: the digits that are there, without padding.
        text = format_number(value, decimals_for(None), signed=signed)
        return text.rstrip("0").rstrip("."), ""
    half = (high - low) / 2
    places = decimals_for(half)
    leans = settle(abs((high + low) / 2 - value) / half, 3) > _LOPSIDED
    ways = [(by_ends, more) for by_ends in ((True,) if leans else (False, True)) for more in range(_MORE_DECIMALS + 1)]
    for by_ends, more in ways:
        text = format_number(value, places + more, signed=signed)
        if by_ends:
            spread = " to ".join(format_number(end, places + more, signed=signed) for end in (low, high))
            shown = (round_to(low, places + more), round_to(high, places + more))
            spread = f"({spread})"
        else:
            middle, width = round_to(value, places + more), round_to(half, places + more)
            spread, shown = f"{PLUS_MINUS} {format_number(half, places + more)}", (middle - width, middle + width)
        # What is shown must not hide on which side of zero the interval lies: that is what a verdict rests on.
        if _side_of_zero(*shown) == _side_of_zero(low, high):
            break
    return text, spread


def _side_of_zero(low: float, high: float) -> int:
    """Return 1 where all of an interval lies above zero, -1 where below, 0 where it reaches it."""
    return int(low > _NOTHING) - int(high < -_NOTHING)


def _notes_of(quantity: Quantity) -> str:
    notes = [tidy(quantity.note)] if quantity.note else []
    if quantity.as_read is not None and quantity.at_density is not None:
        read = format_number(quantity.as_read, decimals_for(quantity.half_width))
        notes.append(f"read as {read} at net density {format_number(quantity.at_density, 2)}")
    elif quantity.at_density is not None:
        notes.append(f"at net density {format_number(quantity.at_density, 2)}")
    if quantity.tests > 1:
        notes.append(f"mean of {quantity.tests} tests")
    if quantity.relative_to_average is not None:
        notes.append(f"{format_number(quantity.relative_to_average, 2)} × the average")
    return "; ".join(notes)
