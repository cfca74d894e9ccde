"""What the summary's script needs beside the table: orders, places, the measures not shown, what filters go by."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from basefog.judge import ON_THE_AXIS, WHY_NO_DIFFERENCE, Places, find_places, has_difference, rule_of
from basefog.measure.curve_fit import BRACKET_AXIS
from basefog.records.findings import Scatter, TestFindings
from basefog.records.numbers import round_to_digits

_RANKED_DIGITS: Final = 6
"""Digits to which two values are told to be equal."""

_TIES: Final = (
    "Places out of {count}: those that can’t be told apart within the error of the tests are given as a range, and "
    "stocks with the same range are tied."
)

_BOUNDS: Final = "A lower bound stands before what is surely below it; against all else it is not told apart."

_AXES: Final = "Log exposures without a scale in common are not told apart."


@dataclass(frozen=True, kw_only=True, slots=True)
class Standings:
    """How all stocks of the summary stand in one measure, in the order of its rows.

    `ranks` count from 1 at the highest value, equal values sharing one, 0 where there is no value. `places` are None
    where there is no value; all of them where no two can be compared. `note` says how places are to be read.
    """

    ranks: tuple[int, ...]
    places: tuple[Places | None, ...]
    note: str


def standings_of(measure: str, found: Sequence[TestFindings], scatter: Scatter | None) -> Standings:
    """Return how stocks stand in one measure, by their figures."""
    quantities = [test.figure(measure) if measure in test.measures else None for test in found]
    values = [None if quantity is None else quantity.value for quantity in quantities]
    # Equal readings may be added up in another order: what differs by less than any digit says is equal.
    settled = [None if value is None else round_to_digits(value, _RANKED_DIGITS) for value in values]
    order = {value: rank for rank, value in enumerate(sorted({v for v in settled if v is not None}, reverse=True), 1)}
    ranks = tuple(0 if value is None else order[value] for value in settled)
    if not has_difference(measure):
        note = f"No places are given: {WHY_NO_DIFFERENCE}."
        return Standings(ranks=ranks, places=(None,) * len(ranks), note=note)
    axes = [_axis_of(test) for test in found]
    on_axis = measure in ON_THE_AXIS
    placed = iter(
        find_places(
            [quantity for quantity in quantities if quantity is not None],
            rule_of(measure, scatter, firm=None),
            axes=[axis for axis, quantity in zip(axes, quantities, strict=True) if quantity is not None]
            if on_axis
            else None,
        )
    )
    places = tuple(None if quantity is None else next(placed) for quantity in quantities)
    notes = [_TIES.format(count=sum(rank > 0 for rank in ranks))]
    if any(quantity is not None and quantity.bound for quantity in quantities):
        notes.append(_BOUNDS)
    if on_axis and len({axis for axis, value in zip(axes, values, strict=True) if value is not None}) > 1:
        notes.append(_AXES)
    return Standings(ranks=ranks, places=places, note=" ".join(notes))


def _axis_of(found: TestFindings) -> str:
    """Return what a test's log exposures are counted from; those of a bracket by its own metered exposure."""
    if found.curve is None:
        return found.key
    if found.curve.absolute:
        return "absolute"
    return found.key if found.curve.axis == BRACKET_AXIS else f"on {found.curve.axis}"


def render_block(data: Mapping[str, object]) -> Markup:
    """Return data as JSON that may stand within a script element."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)  # noqa: S704  # escaped above
