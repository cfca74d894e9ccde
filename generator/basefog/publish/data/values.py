"""Quantities, comparisons and arrays as the data files give them: rounded here, once.

A value and its interval keep one digit beyond the first significant digit of half the interval's width, and one or two
more where fewer would hide on which side of zero the interval lies: what pages show after the sign is `half` as it is.
Where no interval is known, and in arrays, the decimals are fixed: `CURVE_DECIMALS` for log exposure, density and
gradient (the band of a good curve is a few thousandths wide), `STOPS_DECIMALS` for stops and `DENSITY_DECIMALS` for
densities that stand alone. Readings are never rounded.
"""

import math
from collections.abc import Mapping
from typing import Final

from basefog.measure.resampling import NORMAL_FACTOR
from basefog.records.content import FloatArray
from basefog.records.findings import Comparison, ErrorParts, Quantity
from basefog.records.numbers import MOST_DECIMALS, decimals_for, decimals_of_interval, round_to, round_to_digits
from basefog.records.vocabulary import MEASURE_BY_ID

CURVE_DECIMALS: Final = 4
STOPS_DECIMALS: Final = 3
DENSITY_DECIMALS: Final = 3
TIME_DECIMALS: Final = 3
FREQUENCY_DECIMALS: Final = 2
ERROR_DIGITS: Final = 4
"""Digits of what an error is formed from: enough that an interval formed from it differs by less than a thousandth."""
EXACT_DIGITS: Final = 9
"""Digits of a speed before it was rounded: rounding it once more by its error then goes as from the start, because
pages settle a figure to five decimals more than they write."""

Json = dict[str, object]


def quantity_json(quantity: Quantity) -> Json:
    """Return a measure: value, low, high, half and unit, and where its error comes from; or null and why.

    >>> quantity_json(Quantity(value=0.61234, low=0.6011, high=0.6231, unit="1"))
    {'value': 0.612, 'low': 0.601, 'high': 0.623, 'half': 0.011, 'unit': '1'}
    >>> quantity_json(Quantity(value=None, low=None, high=None, unit="ISO", why="log exposure is relative"))
    {'value': None, 'why': 'log exposure is relative'}
    """
    places = decimals_for(quantity.half_width)
    if quantity.value is None:
        data: Json = {"value": None, "why": quantity.why or "not measured"}
    else:
        exact = quantity.value if quantity.exact is None else quantity.exact
        places = _places(exact, quantity.low, quantity.high)
        data = {"value": round_to(quantity.value, places)}
        data |= _interval(quantity.low, quantity.high, places)
        data["unit"] = quantity.unit
        data |= _given(why=quantity.why, bound=quantity.bound)
    data |= _given(note=quantity.note)
    if quantity.at_density is not None:
        data["at_density"] = round_to(quantity.at_density, DENSITY_DECIMALS)
    if quantity.as_read is not None:
        data["as_read"] = round_to(quantity.as_read, places)
    if quantity.relative_to_average is not None:
        data["relative_to_average"] = round_to(quantity.relative_to_average, 3)
    return data if quantity.value is None else data | _error_json(quantity)


def pooled_json(quantity: Quantity) -> Json:
    """Return a stock's figure: as a measure, and of how many tests it is the mean."""
    return quantity_json(quantity) | {"tests": quantity.tests}


def _error_json(quantity: Quantity) -> Json:
    """Return where a quantity's error comes from, so that anyone can form a difference of two from the data.

    Half widths and sensitivities are in the quantity's unit; of a speed, whose error is one of its logarithm, they are
    what that comes to at the speed itself. A measure that is itself a difference to the reference gives the parts of
    what was subtracted too, which count where the two are set against each other.
    """
    # The slope of 10^x: a speed changes by so much for each unit of its logarithm.
    per_unit = 1.0 if quantity.exact is None else quantity.exact * math.log(10)
    data: Json = {} if quantity.exact is None else {"exact": round_to_digits(quantity.exact, EXACT_DIGITS)}
    if quantity.parts is not None:
        data |= _parts_json(quantity.parts, per_unit)
    if quantity.of_reference is not None:
        data["of_reference"] = _parts_json(quantity.of_reference, per_unit)
    if quantity.scatter is not None:
        data["scatter"] = round_to_digits(quantity.scatter * per_unit, ERROR_DIGITS)
    if any(batch is not None for batch in quantity.batches):
        data["batches"] = list(quantity.batches)
    return data


def _parts_json(parts: ErrorParts, per_unit: float) -> Json:
    data: Json = {"from_readings": _half_of(parts.unshared, per_unit)}
    if parts.wedge is not None:
        data["from_wedge"] = {
            "id": parts.wedge.wedge,
            "half": _half_of(parts.wedge.variance, per_unit),
            "by_step": _slopes_json({step: slope * per_unit for step, slope in parts.wedge.by_step.items()}),
        }
    if parts.lamp is not None:
        data["from_lamp"] = {
            "half": _half_of(parts.lamp.variance, per_unit),
            "lux_s": parts.lamp.lux_s,
            "u_lux_s": parts.lamp.u_lux_s,
        }
    return data


def _slopes_json(slopes: Mapping[str, float]) -> Json:
    """Return slopes to the decimals of the greatest, without the steps that count nothing beside it.

    Digits of their own would tell, of those steps, only how a processor's kernels round.
    """
    greatest = round_to_digits(max(map(abs, slopes.values())), ERROR_DIGITS)
    decimals = min(max(0, ERROR_DIGITS - math.floor(math.log10(greatest))), MOST_DECIMALS)
    rounded = {step: round_to(slope, decimals) for step, slope in slopes.items()}
    return {step: slope for step, slope in rounded.items() if slope != 0}


def _half_of(variance: float, per_unit: float) -> float:
    return round_to_digits(NORMAL_FACTOR * math.sqrt(variance) * per_unit, ERROR_DIGITS)


def comparison_json(comparison: Comparison, unit: str | None = None) -> Json:
    """Return a difference with its interval, what could have been seen, the verdict, and how sure that is.

    `unit` is the unit a reader will assume; the comparison's own is given where it is another.
    """
    data = difference_json(comparison)
    if comparison.could_see is not None and comparison.difference is not None:
        places = _places(comparison.difference, comparison.low, comparison.high, comparison.could_see)
        data["could_see"] = round_to(comparison.could_see, places)
    why = data.pop("why", None)
    data["verdict"] = comparison.verdict
    if why is not None:
        data["why"] = why
    if unit is not None and comparison.unit != unit and comparison.difference is not None:
        data["unit"] = comparison.unit
    if comparison.firm is not None:
        data["firm"] = comparison.firm
    if comparison.from_reference is not None:
        data["from_reference"] = round_to(comparison.from_reference, 3)
    if comparison.counts:
        data["counts"] = list(comparison.counts)
    if (settle := comparison.to_settle) is not None:
        data["to_settle"] = {"tests": settle.tests, "of": settle.of} | (
            {} if settle.why is None else {"why": settle.why}
        )
    return data


def difference_json(comparison: Comparison) -> Json:
    """Return a difference with its interval alone, or null and why."""
    if comparison.difference is None:
        return {"difference": None, "why": comparison.why or "not measured"}
    places = _places(comparison.difference, comparison.low, comparison.high, comparison.could_see)
    return {"difference": round_to(comparison.difference, places)} | _interval(comparison.low, comparison.high, places)


def measures_json(measures: Mapping[str, Quantity]) -> Json:
    """Return every measure by its id, in the order they come."""
    return {name: quantity_json(quantity) for name, quantity in measures.items()}


def comparisons_json(comparisons: Mapping[str, Comparison]) -> Json:
    """Return every comparison by its measure's id, in the order they come."""
    return {name: comparison_json(found, MEASURE_BY_ID[name].unit) for name, found in comparisons.items()}


def array_json(values: FloatArray, decimals: int = CURVE_DECIMALS) -> list[float]:
    """Return an array rounded to fixed decimals."""
    return [round_to(float(value), decimals) for value in values]


def _interval(low: float | None, high: float | None, places: int) -> Json:
    if low is None or high is None:
        return {}
    return {"low": round_to(low, places), "high": round_to(high, places), "half": round_to((high - low) / 2, places)}


def _places(value: float, low: float | None, high: float | None, half_width: float | None = None) -> int:
    """Return the decimals of a value and its interval, by half its width where its ends are not known."""
    return decimals_for(half_width) if low is None or high is None else decimals_of_interval(value, low, high)


def _given(**members: str | None) -> Json:
    return {name: text for name, text in members.items() if text is not None}
