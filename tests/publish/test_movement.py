"""What a retest or a repeat moved, told with what moved most for its error first."""

from dataclasses import replace

import pytest

from basefog.publish.pages.movement import say_movement
from basefog.publish.pages.verdict import verdict_of
from basefog.records.content import Series, Test
from basefog.records.findings import Comparison, Findings, Quantity
from publish.invented import about, furnish, make_findings, make_series


def figure(value: float, half: float, unit: str = "1") -> Quantity:
    return Quantity(value=value, low=value - half, high=value + half, unit=unit)


OLD = {
    "gamma": figure(0.60, 0.01),
    "shadow_match": figure(0.73, 0.10, "stops"),
    "base_plus_fog": figure(0.210, 0.01, "D"),
    "mtf50": figure(40.0, 1.0, "cycles/mm"),
    "useful_range": figure(8.0, 0.5, "stops"),
    "iso_speed": figure(200.0, 5.0, "ISO"),
    "contrast_corrected_speed": figure(180.0, 5.0, "ISO"),
    "speed_point": figure(-2.1, 0.02, "log H"),
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
    "gamma": about(0.03, 0.014),
    "shadow_match": about(-0.70, 0.14, "stops"),
    "base_plus_fog": about(0.003, 0.014, "D"),
    "mtf50": about(4.0, 1.4, "cycles/mm"),
    "useful_range": about(1.0, 0.7, "stops"),
    "iso_speed": about(3.0, 0.1, "stops"),
    "contrast_corrected_speed": about(3.0, 0.1, "stops"),
    "speed_point": about(1.0, 0.1, "log H"),
    "print_exposure": about(3.0, 0.1, "s"),
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


def said_of(moves: dict[str, Comparison], *, patch: Comparison | None = None) -> str:
    return say_movement(*retested(moves, patch=patch)).replace("\u00a0", " ")


def test_what_moved_most_for_its_error_leads() -> None:
    """The shadow match moved by five times its error, sharpness by three, gamma by two; the last is only counted."""
    assert said_of(MOVES) == (
        "This test replaces that of 14 March 2026, and four figures moved by more than error, these three the furthest "
        "beyond it: shadow match fell from +0.73 to +0.03 stops (−0.70 ± 0.14); MTF50 rose from 40.0 to 44.0 "
        "cycles/mm (+4.0 ± 1.4); gamma rose from 0.600 to 0.630 (+0.030 ± 0.014)."
    )


@pytest.mark.parametrize("sign", [1, -1])
def test_patches_move_too(sign: int) -> None:
    """A patch is told by its name: the way it came out, with its stops from grey."""
    said = said_of({}, patch=about(sign * 0.9, 0.07, "stops"))

    assert said == (
        "This test replaces that of 14 March 2026, and one figure moved by more than error: Red came out "
        f"{'lighter' if sign > 0 else 'darker'}, from −0.500 to +0.400 stops from grey "
        f"({'+' if sign > 0 else '−'}0.900 ± 0.070)."
    )


def test_a_patch_stands_among_the_measures_by_its_size_for_its_error() -> None:
    """Red moved by 13 times its error, the shadow match by five, gamma by two."""
    said = said_of({name: MOVES[name] for name in ("gamma", "shadow_match")}, patch=about(0.9, 0.07, "stops"))

    assert ", and three figures moved by more than error: Red came out lighter, " in said
    assert said.index("Red") < said.index("shadow match") < said.index("gamma")


@pytest.mark.parametrize(
    "told_elsewhere", ["iso_speed", "contrast_corrected_speed", "speed_point", "print_exposure", "average_gradient"]
)
def test_a_speed_is_told_once(told_elsewhere: str) -> None:
    """Speeds and the print exposure move with the speed in stops and base plus fog, which tell them."""
    only = {name: MOVES[name] for name in (told_elsewhere, "base_plus_fog")}

    assert said_of(only) == "This test replaces that of 14 March 2026: nothing moved by more than error."


@pytest.mark.parametrize("half", [0.0, None])
def test_a_move_without_an_error_is_not_beyond_it(half: float | None) -> None:
    """Where nothing says how sure a figure is, nothing says that it moved."""
    assert said_of({"gamma": replace(MOVES["gamma"], could_see=half)}).endswith(": nothing moved by more than error.")


def test_an_interval_that_leans_stands_in_one_bracket() -> None:
    """Told by its ends, it has no bracket of its own within the sentence's."""
    leaning = replace(MOVES["shadow_match"], low=-1.10, high=-0.60)

    assert said_of({"shadow_match": leaning}).endswith(
        "error: shadow match fell from +0.73 to +0.03 stops (−0.70 −1.10 to −0.60)."
    )


def test_only_figures_that_say_a_side_have_a_sign() -> None:
    """Useful range is in stops as the shadow match is, but no stops from anywhere."""
    assert said_of({"useful_range": MOVES["useful_range"]}).endswith(
        "error: useful range rose from 8.00 to 9.00 stops (+1.00 ± 0.70)."
    )


@pytest.mark.parametrize("at", [3, 4])
def test_more_than_three_moves_are_counted(at: int) -> None:
    """Three are told; from the fourth on the sentence says of how many they are the furthest."""
    said = said_of({name: MOVES[name] for name in ("gamma", "shadow_match", "mtf50", "useful_range")[:at]})

    assert said.count(" from ") == 3
    assert f"and {'three' if at == 3 else 'four'} figures moved by more than error" in said
    assert (", these three the furthest beyond it: " in said) == (at == 4)


def test_a_repeat_repeats() -> None:
    """What was not forced is no replacement; a repeat that was forced replaces."""
    series, findings, second = retested(MOVES)
    repeat = replace(second, replaces=None, repeat=True)

    assert say_movement(series, findings, repeat).startswith("This test repeats that of 14 March 2026, ")
    assert say_movement(series, findings, replace(second, repeat=True)).startswith("This test replaces that of ")


def test_a_first_test_moved_nothing() -> None:
    """Without a test before there is no sentence, and the verdict begins with its lead."""
    series, findings, second = retested(MOVES)
    first = series.stock("marl-400").tests[0]

    assert say_movement(series, findings, first) == ""
    assert verdict_of(series, findings, second).plain.startswith("This test replaces that of 14 March 2026, ")
