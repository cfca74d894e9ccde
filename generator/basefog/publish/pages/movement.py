"""What a retest or a repeat changed, in a sentence: what moved most for its error comes first."""

from basefog.publish.pages.measure_rows import SIGNED
from basefog.publish.pages.names import in_a_sentence, name_test
from basefog.publish.pages.quantities import UNIT_LABELS, format_difference, format_quantity
from basefog.publish.pages.sizes import say_count
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
    verb = "replaces" if test.replaces is not None else "repeats"
    lead = f"This test {verb} that of {name_test(series.stock(test.stock).test(found.moved_from))}"
    moves = [
        (_size_for_error(move), _say_measure(name, move, before.measures[name], found.measures[name]))
        for name, move in found.movement.items()
        if name not in _TELLS_THE_SAME and _size_for_error(move)
    ]
    moves += [
        (
            _size_for_error(move),
            _say_patch(
                patch.name, move, before.patches[patch.id].stops_from_grey, found.patches[patch.id].stops_from_grey
            ),
        )
        for patch in series.patches
        if (move := found.patch_movement.get(patch.id)) is not None and _size_for_error(move)
    ]
    if not moves:
        return f"{lead}: nothing moved by more than error."
    moves.sort(key=lambda move: -move[0])
    figures = "one figure" if len(moves) == 1 else f"{say_count(len(moves))} figures"
    furthest = f", these {say_count(_MOST_MOVES)} the furthest beyond it" if len(moves) > _MOST_MOVES else ""
    told = "; ".join(words for _, words in moves[:_MOST_MOVES])
    return f"{lead}, and {figures} moved by more than error{furthest}: {told}."


def _size_for_error(move: Comparison) -> float:
    """Return how many times its error a figure moved; zero where that is no more than error, or its error unknown."""
    if standing_of(move) not in ("higher", "lower") or move.difference is None or not move.could_see:
        return 0.0
    return abs(move.difference) / move.could_see


def _say_measure(name: str, move: Comparison, old: Quantity, new: Quantity) -> str:
    """Return how a measure moved: `shadow match fell from +0.80 to +0.08 stops (−0.73 ± 0.14)`."""
    verb = "rose" if standing_of(move) == "higher" else "fell"
    unit = UNIT_LABELS.get(move.unit, move.unit)
    told = _from_to(move, old, new, unit=f"\u00a0{unit}" if unit else "", signed=name in SIGNED)
    return f"{in_a_sentence(MEASURE_BY_ID[name].name)} {verb} {told}"


def _say_patch(name: str, move: Comparison, old: Quantity, new: Quantity) -> str:
    """Return how a patch moved: `Yellow came out lighter, from +1.733 to +1.801 stops from grey (+0.068 ± 0.055)`."""
    side = "lighter" if standing_of(move) == "higher" else "darker"
    told = _from_to(move, old, new, unit="\u00a0stops from grey", signed=True)
    return f"{name} came out {side}, {told}"


def _from_to(move: Comparison, old: Quantity, new: Quantity, *, unit: str, signed: bool) -> str:
    first, last = (format_quantity(figure, signed=signed).value for figure in (old, new))
    size = format_difference(move)
    # No bracket stands within another: an interval that leans to one side brings its own.
    return f"from {first} to {last}{unit} ({size.value} {size.spread.strip('()')})"
