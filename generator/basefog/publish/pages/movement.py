"""What a retest or a repeat changed, in a sentence: what moved most for its error comes first."""

from basefog.publish.pages.names import in_a_sentence, name_test
from basefog.publish.pages.quantities import format_difference, format_quantity
from basefog.publish.pages.words import standing_of
from basefog.records.content import Series, Test
from basefog.records.findings import Comparison, Findings, Quantity
from basefog.records.vocabulary import MEASURE_BY_ID

_MOST_MOVES = 3

_TELLS_THE_SAME = frozenset({"iso_speed", "contrast_corrected_speed", "speed_point", "print_exposure"})
"""Measures whose move another one tells: speed in stops, base plus fog."""


def say_movement(series: Series, findings: Findings, test: Test) -> str:
    """Return what moved beyond error against the test before, most for its error first; empty without such a test.

    For a retest that is what its reason was about, if the reason was right.
    """
    found = findings.tests[test.key]
    if found.moved_from is None:
        return ""
    before = findings.of(test.stock, found.moved_from)
    old = series.stock(test.stock).test(found.moved_from)
    names = {patch.id: f"{patch.name}, from grey," for patch in series.patches}
    moves: list[tuple[float, str]] = []
    for name, move in found.movement.items():
        if name not in _TELLS_THE_SAME:
            told = _tell(in_a_sentence(MEASURE_BY_ID[name].name), move, before.measures[name], found.measures[name])
            moves += [] if told is None else [told]
    for patch, move in found.patch_movement.items():
        pair = before.patches[patch].stops_from_grey, found.patches[patch].stops_from_grey
        told = _tell(names[patch], move, *pair)
        moves += [] if told is None else [told]
    verb = "replaces" if test.replaces is not None else "repeats"
    lead = f"This test {verb} that of {name_test(old)}"
    if not moves:
        return f"{lead}: nothing moved by more than error."
    moves.sort(key=lambda move: -move[0])
    more = len(moves) - _MOST_MOVES
    ending = f"; so did {more} more" if more > 0 else ""
    return f"{lead}. Beyond error moved " + "; ".join(words for _, words in moves[:_MOST_MOVES]) + ending + "."


def _tell(name: str, move: Comparison, old: Quantity, new: Quantity) -> tuple[float, str] | None:
    """Return how far a figure moved for its error, and the move in words; None where it is no more than error."""
    if standing_of(move) not in ("higher", "lower") or move.difference is None or not move.could_see:
        return None
    signed = move.unit == "stops"
    values = [format_quantity(figure, signed=signed).value for figure in (old, new)]
    unit = " stops" if signed else ""
    size = format_difference(move)
    return (
        abs(move.difference) / move.could_see,
        f"{name} from {values[0]} to {values[1]}{unit} ({size.value} {size.spread.strip('()')})",
    )
