"""Quantities, comparisons and arrays as the data files give them: rounded here, once.

A value and its interval keep one digit beyond the first significant digit of half the interval's width. Where no
interval is known, and in arrays, the decimals are fixed: `CURVE_DECIMALS` for log exposure, density and gradient (the
band of a good curve is a few thousandths wide), `STOPS_DECIMALS` for stops and `DENSITY_DECIMALS` for densities that
stand alone. Readings are never rounded.
"""

from collections.abc import Mapping
from typing import Final

from basefog.records.content import FloatArray
from basefog.records.findings import Comparison, Quantity
from basefog.records.numbers import decimals_for, round_to
from basefog.records.vocabulary import MEASURE_BY_ID

CURVE_DECIMALS: Final = 4
STOPS_DECIMALS: Final = 3
DENSITY_DECIMALS: Final = 3
TIME_DECIMALS: Final = 3
FREQUENCY_DECIMALS: Final = 2
SCATTER_DIGITS: Final = 6
"""Enough that an interval formed from it differs by less than a millionth of itself."""

Json = dict[str, object]


def quantity_json(quantity: Quantity) -> Json:
    """Return a measure: value, low, high and unit, or null and why.

    >>> quantity_json(Quantity(value=0.61234, low=0.6011, high=0.6231, unit="1"))
    {'value': 0.612, 'low': 0.601, 'high': 0.623, 'unit': '1'}
    >>> quantity_json(Quantity(value=None, low=None, high=None, unit="ISO", why="log exposure is relative"))
    {'value': None, 'why': 'log exposure is relative'}
    """
    half = quantity.half_width
    if quantity.value is None:
        data: Json = {"value": None, "why": quantity.why or "not measured"}
    else:
        data = {"value": rounded(quantity.value, half)}
        data |= _interval(quantity.low, quantity.high, half)
        data["unit"] = quantity.unit
        data |= _given(why=quantity.why, bound=quantity.bound)
    data |= _given(note=quantity.note)
    if quantity.at_density is not None:
        data["at_density"] = round_to(quantity.at_density, DENSITY_DECIMALS)
    if quantity.relative_to_average is not None:
        data["relative_to_average"] = round_to(quantity.relative_to_average, 3)
    return data


def comparison_json(comparison: Comparison, unit: str | None = None) -> Json:
    """Return a difference with its interval, what could have been seen, and the verdict.

    `unit` is the unit a reader will assume; the comparison's own is given where it is another.
    """
    data = difference_json(comparison)
    if comparison.could_see is not None and comparison.difference is not None:
        data["could_see"] = rounded(comparison.could_see, _half(comparison))
    why = data.pop("why", None)
    data["verdict"] = comparison.verdict
    if why is not None:
        data["why"] = why
    if unit is not None and comparison.unit != unit and comparison.difference is not None:
        data["unit"] = comparison.unit
    return data


def difference_json(comparison: Comparison) -> Json:
    """Return a difference with its interval alone, or null and why."""
    if comparison.difference is None:
        return {"difference": None, "why": comparison.why or "not measured"}
    half = _half(comparison)
    return {"difference": rounded(comparison.difference, half), **_interval(comparison.low, comparison.high, half)}


def measures_json(measures: Mapping[str, Quantity]) -> Json:
    """Return every measure by its id, in the order they come."""
    return {name: quantity_json(quantity) for name, quantity in measures.items()}


def comparisons_json(comparisons: Mapping[str, Comparison]) -> Json:
    """Return every comparison by its measure's id, in the order they come."""
    return {name: comparison_json(found, MEASURE_BY_ID[name].unit) for name, found in comparisons.items()}


def rounded(value: float, half_width: float | None) -> float:
    """Return a value rounded by half the width of its interval."""
    return round_to(value, decimals_for(half_width))


def array_json(values: FloatArray, decimals: int = CURVE_DECIMALS) -> list[float]:
    """Return an array rounded to fixed decimals."""
    return [round_to(float(value), decimals) for value in values]


def _interval(low: float | None, high: float | None, half: float | None) -> Json:
    if low is None or high is None:
        return {}
    return {"low": rounded(low, half), "high": rounded(high, half)}


def _half(comparison: Comparison) -> float | None:
    if comparison.low is None or comparison.high is None:
        return comparison.could_see
    return (comparison.high - comparison.low) / 2


def _given(**members: str | None) -> Json:
    return {name: text for name, text in members.items() if text is not None}
