"""Quantities as a reader sees them: rounded once by their uncertainty, with unit, and with the why where missing."""

from collections.abc import Iterable
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


def decimals_of_row(half_widths: Iterable[float | None]) -> int | None:
    """Return the decimals of figures that stand side by side: those of the least sure one, so that none has more.

    A far surer one among them still keeps a digit of its uncertainty. None where nothing says how sure any is.

    >>> decimals_of_row([0.0091, 0.010, None]), decimals_of_row([0.5, 0.004]), decimals_of_row([None])
    (3, 3, None)
    """
    halves = sorted(half for half in half_widths if half is not None and has_width(half))
    return max(decimals_for(halves[-1]), _first_decimal(halves[0])) if halves else None


def decimals_of_column(half_widths: Iterable[float | None]) -> int | None:
    """Return the decimals of figures that stand in one column: those of the middle one by its uncertainty.

    >>> decimals_of_column([0.0091, 0.010, 0.2]), decimals_of_column([])
    (3, None)
    """
    halves = sorted(half for half in half_widths if half is not None and has_width(half))
    return max(decimals_for(halves[len(halves) // 2]), _first_decimal(halves[0])) if halves else None


def _first_decimal(half_width: float) -> int:
    """Return how many decimals keep one digit of an uncertainty."""
    return max(0, decimals_for(half_width) - 1)


def format_quantity(quantity: Quantity, *, signed: bool = False, decimals: int | None = None) -> QuantityText:
    """Return a quantity for a page; `decimals`, where given, are those of the figures that it stands beside.

    >>> format_quantity(Quantity(value=0.6123, low=0.601, high=0.623, unit="1")).plain
    '0.612 ± 0.011'
    >>> format_quantity(Quantity(value=None, low=None, high=None, unit="1", why="the curve ends early")).plain
    'not measured: the curve ends early'
    """
    unit = UNIT_LABELS.get(quantity.unit, quantity.unit)
    if quantity.value is None:
        return QuantityText(unit=unit, why=tidy(quantity.why) or "no reason was given")
    interval = (quantity.value, quantity.low, quantity.high)
    if quantity.unit == "ISO" and round_to_digits(quantity.value, 3) in STANDARD_SPEEDS:
        value, spread = _format_standard_speed(*interval)
    else:
        value, spread = _format_interval(*interval, signed=signed, decimals=decimals)
    return QuantityText(
        value=value,
        spread=spread,
        unit=unit,
        at_least=quantity.bound == "lower",
        note=_notes_of(quantity),
    )


def format_difference(comparison: Comparison, *, decimals: int | None = None) -> QuantityText:
    """Return a difference for a page, its sign always written.

    >>> format_difference(Comparison(verdict="lower", difference=-0.0384, low=-0.0764, high=-0.0004)).plain
    '−0.0384 ± 0.0380'
    """
    unit = UNIT_LABELS.get(comparison.unit, comparison.unit)
    if comparison.difference is None:
        return QuantityText(unit=unit, why=tidy(comparison.why) or "no reason was given")
    value, spread = _format_interval(
        comparison.difference, comparison.low, comparison.high, signed=True, decimals=decimals
    )
    return QuantityText(value=value, spread=spread, unit=unit)


def format_could_see(could_see: float, *, decimals: int | None = None) -> str:
    """Return the smallest difference that a test could have seen, rounded up so that it never claims too much.

    >>> format_could_see(0.0191), format_could_see(0.03), format_could_see(1.21), format_could_see(0.198, decimals=2)
    ('0.02', '0.03', '1.3', '0.20')
    """
    places = decimals_for(could_see) if decimals is None else decimals
    text = format_number(could_see, places)
    if float(text) < settle(could_see, places):
        text = format_number(could_see + 10.0**-places, places)
    return text.rstrip("0").rstrip(".") if "." in text and decimals is None else text


def tidy(text: str | None) -> str:
    """Return words of the tester or of the numbers fit for the middle of a sentence: one line, no closing stop."""
    return " ".join((text or "").split()).rstrip(". ")


def _format_interval(
    value: float, low: float | None, high: float | None, *, signed: bool, decimals: int | None
) -> tuple[str, str]:
    if low is None or high is None or not has_width((high - low) / 2):
        # Nothing says how sure it is: the digits that are there, without padding.
        text = format_number(value, decimals_for(None), signed=signed)
        return text.rstrip("0").rstrip("."), ""
    half = (high - low) / 2
    places = decimals_for(half) if decimals is None else decimals
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


def _format_standard_speed(value: float, low: float | None, high: float | None) -> tuple[str, str]:
    """Return a step of the standard scale, and what it was rounded from: the step may well lie beyond that interval."""
    if low is None or high is None:
        return f"{value:g}", ""
    decimals = 0 if low >= 10 else 1
    return f"{value:g}", f"(0.80/H lies between {format_number(low, decimals)} and {format_number(high, decimals)})"


def _notes_of(quantity: Quantity) -> str:
    notes = [tidy(quantity.note)] if quantity.note else []
    if quantity.at_density is not None:
        notes.append(f"at net density {format_number(quantity.at_density, 2)}")
    if quantity.relative_to_average is not None:
        notes.append(f"{format_number(quantity.relative_to_average, 2)} × the average")
    return "; ".join(notes)
