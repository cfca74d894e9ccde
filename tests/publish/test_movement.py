"""What a retest or a repeat moved, told with what moved most for its error first."""

from dataclasses import replace

import pytest

from basefog.publish.pages.movement import say_movement
from basefog.publish.pages.verdict import verdict_of
from basefog.records.content import Series, Test
from basefog.records.findings import Comparison, Findings, Quantity
from publish.invented import furnish, make_findings, make_series


def move(difference: float, half: float, unit: str = "1") -> Comparison:
    low, high = difference - half, difference + half
    return Comparison(
        verdict="higher" if low > 0 else "lower" if high < 0 else "no measurable difference",
        difference=difference,
        low=low,
        high=high,
        could_see=half,
        unit=unit,
    )


def figure(value: float, half: float, unit: str = "1") -> Quantity:
    return Quantity(value=value, low=value - half, high=value + half, unit=unit)


OLD = {
    "gamma": figure(0.60, 0.01),
    "shadow_match": figure(0.73, 0.10, "stops"),
    "base_plus_fog": figure(0.210, 0.01, "D"),
    "mtf50": figure(40.0, 1.0, "cycles/mm"),
    "useful_range": figure(8.0, 0.5, "stops"),
    "iso_speed": figure(200.0, 5.0, "ISO"),
    "print_exposure": figure(12.0, 0.5, "s"),
    "average_gradient": Quantity(value=None, low=None, high=None, unit="1", why="too short"),
}
NEW = OLD | {
    "gamma": figure(0.63, 0.01),
    "shadow_match": figure(0.03, 0.10, "stops"),
    "base_plus_fog": figure(0.213, 0.01, "D"),
    "mtf50": figure(44.0, 1.0, "cycles/mm"),
    "useful_range": figure(9.0, 0.5, "stops"),
}
MOVES = {
    "gamma": move(0.03, 0.014),
    "shadow_match": move(-0.70, 0.14, "stops"),
    "base_plus_fog": move(0.003, 0.014, "D"),
    "mtf50": move(4.0, 1.4, "cycles/mm"),
    "useful_range": move(1.0, 0.7, "stops"),
    "iso_speed": move(3.0, 0.1, "stops"),
    "print_exposure": move(3.0, 0.1, "s"),
    "average_gradient": Comparison(verdict="not measured", why="too short"),
}


def retested(moves: dict[str, Comparison], *, patch: Comparison | None = None) -> tuple[Series, Findings, Test]:
    """Return the invented series, whose reference has a retest, with these moves."""
    series = make_series()
    first, second = series.stock("marl-400").tests
    findings = make_findings(series)
    red = furnish(findings.tests[second.key]).patches["red"]
    tests = dict(findings.tests)
    tests[first.key] = replace(
        tests[first.key],
        measures=tests[first.key].measures | OLD,  # type: ignore[operator]  # a dict
        patches={"red": replace(red, stops_from_grey=figure(-0.5, 0.05, "stops"))},
    )
    tests[second.key] = replace(
        tests[second.key],
        measures=tests[second.key].measures | NEW,  # type: ignore[operator]  # a dict
        patches={"red": replace(red, stops_from_grey=figure(0.4, 0.05, "stops"))},
        movement=moves,
        patch_movement={} if patch is None else {"red": patch},
        moved_from=first.id,
    )
    return series, replace(findings, tests=tests), second


def test_what_moved_most_for_its_error_leads() -> None:
    """The shadow match moved by five times its error, sharpness by three, gamma by two; the last is only counted."""
    said = say_movement(*retested(MOVES))

    assert said == (
        "This test replaces that of 14 March 2026. Beyond error moved shadow match from +0.73 to +0.03 stops "
        "(−0.70 ± 0.14); MTF50 from 40.0 to 44.0 (+4.0 ± 1.4); gamma from 0.600 to 0.630 (+0.030 ± 0.014); "
        "so did 1 more."
    )


def test_patches_move_too() -> None:
    """A patch is told by its name, with its stops from grey."""
    said = say_movement(*retested({}, patch=move(0.9, 0.07, "stops")))

    assert said.endswith("Beyond error moved Red, from grey, from −0.500 to +0.400 stops (+0.900 ± 0.070).")


def test_a_speed_is_told_once() -> None:
    """Speeds and the print exposure move with the speed in stops and base plus fog, which tell them."""
    only = {name: MOVES[name] for name in ("iso_speed", "print_exposure", "average_gradient", "base_plus_fog")}

    assert (
        say_movement(*retested(only)) == "This test replaces that of 14 March 2026: nothing moved by more than error."
    )


@pytest.mark.parametrize("at", [3, 4])
def test_more_than_three_moves_are_counted(at: int) -> None:
    """Three are told; from the fourth on they are counted."""
    moves = {name: MOVES[name] for name in ("gamma", "shadow_match", "mtf50", "useful_range")[:at]}
    said = say_movement(*retested(moves))

    assert said.count(" from ") == 3
    assert said.endswith("; so did 1 more.") == (at == 4)


def test_a_repeat_repeats() -> None:
    """What was not forced is no replacement."""
    series, findings, second = retested(MOVES)

    assert say_movement(series, findings, replace(second, replaces=None, repeat=True)).startswith(
        "This test repeats that of 14 March 2026. "
    )


def test_a_first_test_moved_nothing() -> None:
    """Without a test before there is no sentence, and the verdict begins with its lead."""
    series, findings, second = retested(MOVES)
    first = series.stock("marl-400").tests[0]

    assert say_movement(series, findings, first) == ""
    assert verdict_of(series, findings, second).plain.startswith("This test replaces that of 14 March 2026. ")
