"""Movement: new less old, with their own errors alone (measures.md, "Movement")."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from basefog.judge import find_findings
from basefog.records.content import Stock, Test
from basefog.records.findings import Findings, Quantity, TestFindings
from basefog.records.vocabulary import MEASURES
from measure.bench_content import make_frames, make_series, make_stock, make_test, make_wedge, soft_toe

PLACES = {"grey": 0.60, "dark": 0.30, "red": 0.45}
STOPS = [third / 3 for third in range(-4, 6)]


def film_test(name: str, *, gradient: float = 0.62, place: float = 0.0, red: float = 0.0, **also: object) -> Test:
    density = soft_toe(gradient, 0.15, place)
    frames = make_frames(
        lambda log_exposure: float(density(np.array(log_exposure))), {**PLACES, "red": 0.45 + red}, stops=STOPS
    )
    return make_test(name, frames=frames, wedge=make_wedge(density), **also)  # type: ignore[arg-type]


def retested(old: Test, new: Test) -> Stock:
    return make_stock(old.stock, [replace(old, replaced_by=new.id), new])


REFERENCE = make_stock("marl-400", [film_test("marl-400/2026-01-10")])
OLD = film_test("tern-100/2026-03-01")
NEW = film_test("tern-100/2026-03-02", gradient=0.70, place=-0.1, red=0.06, replaces="2026-03-01")


@cache
def findings() -> Findings:
    return find_findings(make_series([REFERENCE, retested(OLD, NEW)]), {})


def old_and_new() -> tuple[TestFindings, TestFindings]:
    return findings().tests[OLD.key], findings().tests[NEW.key]


def test_a_retest_tells_how_every_measure_moved() -> None:
    """New less old of all that can be subtracted, the comparative measures among them, in contract order."""
    old, new = old_and_new()

    assert new.moved_from == "2026-03-01"
    assert list(new.movement) == [measure.id for measure in MEASURES if measure.id != "matching_time"]
    for name in ("speed_point", "gamma", "speed_from_reference", "shadow_match", "print_exposure"):
        after, before = new.measures[name].value, old.measures[name].value
        assert after is not None
        assert before is not None
        assert new.movement[name].difference == pytest.approx(after - before)
    assert new.movement["gamma"].verdict == "higher"
    assert new.movement["speed_point"].verdict == "lower"
    assert new.movement["speed_from_reference"].verdict == "higher"


def own(quantity: Quantity) -> float:
    assert quantity.parts is not None
    return quantity.parts.unshared


@pytest.mark.parametrize("name", ["speed_from_reference", "shadow_match", "print_exposure"])
def test_the_references_error_cancels(name: str) -> None:
    """Of a comparative measure both tests' own parts count and the reference's, in both alike, does not."""
    old, new = (test.measures[name] for test in old_and_new())
    expected = 1.95996 * math.sqrt(own(old) + own(new))

    found = old_and_new()[1].movement[name]

    assert found.could_see == pytest.approx(expected, rel=1e-5)
    assert new.half_width is not None
    assert old.of_reference is not None
    assert old.of_reference.unshared > 0


def test_patches_move_too() -> None:
    """Red rendered 0.06 log units lighter moved by 0.2 stop; dark did not; the grey patch moves by definition never."""
    new = old_and_new()[1]

    assert set(new.patch_movement) == {"dark", "red"}
    assert new.patch_movement["red"].difference == pytest.approx(0.06 / math.log10(2), abs=0.01)
    assert new.patch_movement["red"].verdict == "higher"
    assert new.patch_movement["dark"].verdict == "no measurable difference"


def test_no_move_is_firm() -> None:
    """A movement is one pair, not one of many: whether it is firm is not asked, nor what would settle it."""
    new = old_and_new()[1]

    for move in (*new.movement.values(), *new.patch_movement.values()):
        assert move.firm is None
        assert move.to_settle is None
        assert move.from_reference is None


def test_what_replaces_nothing_moves_nothing() -> None:
    """A first test has no movement, and a further one that is neither retest nor repeat hasn't either."""
    further = film_test("tern-100/2026-03-02", gradient=0.7)
    found = find_findings(make_series([REFERENCE, make_stock("tern-100", [OLD, further])]), {})

    for test in found.tests.values():
        assert (test.movement, test.patch_movement, test.moved_from) == ({}, {}, None)


def test_repeats_are_set_against_the_member_before() -> None:
    """Second less first, third less second, never against the first throughout."""
    tests = [
        OLD,
        film_test("tern-100/2026-03-02", gradient=0.66, repeat=True),
        film_test("tern-100/2026-03-03", gradient=0.64, repeat=True),
    ]
    found = find_findings(make_series([REFERENCE, make_stock("tern-100", tests)]), {})
    second, third = found.tests[tests[1].key], found.tests[tests[2].key]

    assert (second.moved_from, third.moved_from) == ("2026-03-01", "2026-03-02")
    assert second.movement["gamma"].verdict == "higher"
    assert third.movement["gamma"].difference == pytest.approx(-0.02, abs=0.002)
    assert third.patch_movement["red"].verdict == "no measurable difference"


def test_a_test_without_a_bracket_moves_no_patch() -> None:
    """Where either has no bracket no patch can have moved, and the match was not measured."""
    bare = replace(NEW, bracket=None)
    found = find_findings(make_series([REFERENCE, retested(OLD, bare)]), {}).tests[NEW.key]

    assert found.patch_movement == {}
    assert found.movement["shadow_match"].why == "no bracket was read"
    assert found.movement["gamma"].verdict == "higher"


def test_speed_points_on_other_axes_do_not_move() -> None:
    """A retest on another wedge, relative as the first, has moved in contrast and not in speed."""
    assert NEW.wedge is not None
    other = replace(NEW, wedge=replace(NEW.wedge, wedge="long-31"))
    found = find_findings(make_series([REFERENCE, retested(OLD, other)]), {}).tests[NEW.key]

    assert found.movement["speed_point"].why == "both log exposures are relative, and not on the same wedge"
    assert found.movement["gamma"].verdict == "higher"


def test_the_reference_moves_as_any_other() -> None:
    """A retest of the reference has no verdicts and is zero by definition, and tells how far it moved all the same.

    It was 0.10 log units slower, which is 0.33 stop in every light.
    """
    old = film_test("marl-400/2026-01-10")
    new = film_test("marl-400/2026-02-10", place=0.10, replaces="2026-01-10")
    found = find_findings(make_series([retested(old, new), make_stock("tern-100", [OLD])]), {})
    moved = found.tests[new.key]

    assert moved.against_reference == {}
    assert moved.measures["shadow_match"].value == moved.measures["speed_from_reference"].value == 0.0
    assert moved.movement["speed_from_reference"].difference == pytest.approx(-0.10 / math.log10(2), abs=0.01)
    assert moved.movement["shadow_match"].difference == pytest.approx(0.10 / math.log10(2), abs=0.02)
    assert moved.movement["print_exposure"].difference == pytest.approx(0.0, abs=1e-9)
    before, after = (found.tests[test.key].measures["base_plus_fog"] for test in (old, new))
    per_density = 12.0 * math.log(10)
    assert moved.movement["print_exposure"].could_see == pytest.approx(
        1.95996 * per_density * math.sqrt(own(before) + own(after)), rel=1e-4
    )
    assert moved.patch_movement["dark"].verdict == "no measurable difference"


def test_a_far_move_is_remarked_on() -> None:
    """A retest 0.3 log units off the test it replaces says so beside its figures."""
    far = replace(film_test("tern-100/2026-03-02", place=0.3, replaces="2026-03-01"))
    found = find_findings(make_series([REFERENCE, retested(OLD, far)]), {}).tests[far.key]

    assert ["the speed point moved by +0.30" in remark.message for remark in found.remarks] == [True]
