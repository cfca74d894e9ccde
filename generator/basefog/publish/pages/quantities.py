"""Quantities as a reader sees them: rounded once by their uncertainty, with unit, and with the why where missing."""

import re
from dataclasses import dataclass
from typing import Final

from basefog.measure.speed import STANDARD_SPEEDS
from basefog.records.findings import Comparison, Quantity
from basefog.records.numbers import (
    PLUS_MINUS,
    decimals_for,
    decimals_of_interval,
    format_number,
    has_width,
    is_lopsided,
    round_to_digits,
)

UNIT_LABELS: Final = {"D": "", "1": "", "um": "µm", "ISO": ""}
"""Units that pages write otherwise than data files do; density and ratios stand without one."""

_APOSTROPHE: Final = re.compile(r"(?<=[^\W\d_])'(?=[^\W\d_])")


@dataclass(frozen=True, kw_only=True, slots=True)
class QuantityText:
    """A quantity in parts, so that a table can align them; all are empty where `why` says that there is no value.

    `spread` is `± 0.011`, or `0.601 to 0.630` in brackets where the interval leans to one side. `rounds` says to which
    step of the standard scale a speed rounds.
    """

    value: str = ""
    spread: str = ""
    unit: str = ""
    rounds: str = ""
    at_least: bool = False
    note: str = ""
    why: str = ""

    @property
    def plain(self) -> str:
        """The quantity in one line of text."""
        if not self.value:
            return f"not measured: {self.why}" if self.why else "not measured"
        parts = ("at least" if self.at_least else "", self.value, self.spread, self.unit)
        return " ".join(part for part in parts if part) + (f", {self.rounds}" if self.rounds else "")


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
    rounds = ""
    if quantity.unit == "ISO" and quantity.exact is not None:
        value, spread = _format_interval(quantity.exact, quantity.low, quantity.high, signed=False)
        if round_to_digits(quantity.value, 3) in STANDARD_SPEEDS and quantity.value != quantity.exact:
            rounds = f"rounds to {quantity.value:g}"
    else:
        value, spread = _format_interval(quantity.value, quantity.low, quantity.high, signed=signed)
    return QuantityText(
        value=value,
        spread=spread,
        unit=unit,
        rounds=rounds,
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


def format_limit(comparison: Comparison) -> str:
    """Return the 95 % limit of a difference, with the decimals that its error has everywhere; empty without one.

    >>> format_limit(Comparison(verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04,
    ...     could_see=0.03))
    '0.030'
    """
    if comparison.could_see is None or comparison.difference is None:
        return ""
    if comparison.low is None or comparison.high is None or not has_width(comparison.could_see):
        return format_half(comparison.could_see)
    return format_number(
        comparison.could_see, decimals_of_interval(comparison.difference, comparison.low, comparison.high)
    )


def tidy(text: str | None) -> str:
    """Return words of the tester or of the numbers fit for the middle of a sentence: one line, no closing stop.

    >>> tidy("Each film by its maker's time. ")
    'Each film by its maker’s time'
    """
    return set_apostrophes(" ".join((text or "").split()).rstrip(". "))


def set_apostrophes(text: str) -> str:
    """Return words with the apostrophes between their letters as they are printed, not as they are typed.

    Those at a word's end stay: there they may as well close a quotation.

    >>> set_apostrophes("the film's, not 'the films' 6' high")
    "the film’s, not 'the films' 6' high"
    """
    return _APOSTROPHE.sub("’", text)


def _format_interval(value: float, low: float | None, high: float | None, *, signed: bool) -> tuple[str, str]:
    if low is None or high is None or not has_width((high - low) / 2):
        # Nothing says how sure it is: the digits that are there, without padding.
        text = format_number(value, decimals_for(None), signed=signed)
        return text.rstrip("0").rstrip("."), ""
    half = (high - low) / 2
    places = decimals_of_interval(value, low, high)
    text = format_number(value, places, signed=signed)
    if is_lopsided(value, low, high):
        return text, f"({' to '.join(format_number(end, places, signed=signed) for end in (low, high))})"
    return text, f"{PLUS_MINUS} {format_number(half, places)}"


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
