"""Which tests a stock's figure is the mean of (measures.md, "A stock's figure")."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from basefog.judge.groups import current_group, find_predecessor, group_repeats
from basefog.records.content import Exposure, Stock, Test
from measure.bench_content import make_stock, make_test

FIRST = make_test("tern-100/2026-03-01")
SECOND = make_test("tern-100/2026-03-02", repeat=True)
THIRD = make_test("tern-100/2026-03-03", repeat=True)


def stock_of(*tests: Test, current: str | None = None) -> Stock:
    stock = make_stock("tern-100", tests)
    return stock if current is None else replace(stock, current=current)


def ids(groups: tuple[tuple[Test, ...], ...]) -> list[list[str]]:
    return [[test.id[-2:] for test in group] for group in groups]


def test_repeats_join_the_first_test() -> None:
    """A test and the repeats after it are one group, by date."""
    assert ids(group_repeats(stock_of(FIRST, SECOND, THIRD))) == [["01", "02", "03"]]


def test_a_test_that_is_no_repeat_begins_a_group() -> None:
    """Of two tests that don't say repeat each has its own group, and a repeat joins the newest alike."""
    other = make_test("tern-100/2026-03-02")

    assert ids(group_repeats(stock_of(FIRST, other, THIRD))) == [["01"], ["02", "03"]]


def test_replaced_and_withdrawn_tests_are_in_no_group() -> None:
    """A retest starts afresh, and a withdrawn repeat tells nothing."""
    replaced = replace(FIRST, replaced_by="2026-03-02")
    retest = make_test("tern-100/2026-03-02", replaces="2026-03-01")
    withdrawn = make_test("tern-100/2026-03-04", repeat=True, withdrawn="light leak")

    assert ids(group_repeats(stock_of(replaced, retest, THIRD, withdrawn))) == [["02", "03"]]


def test_repeat_that_replaces_a_repeat_takes_its_place() -> None:
    """A repeat done over is in the group of what both repeat."""
    spoilt = replace(SECOND, replaced_by="2026-03-03")
    over = make_test("tern-100/2026-03-03", repeat=True, replaces="2026-03-02")

    assert ids(group_repeats(stock_of(FIRST, spoilt, over))) == [["01", "03"]]


def test_repeats_of_a_withdrawn_test_are_a_group() -> None:
    """Where the first was withdrawn, the earliest repeat begins the group: all but it have to say repeat."""
    withdrawn = replace(FIRST, withdrawn="light leak")

    assert ids(group_repeats(stock_of(withdrawn, SECOND, THIRD))) == [["02", "03"]]


def test_other_development_times_are_in_no_group() -> None:
    """A test of a contrast-time family is no repeat of its main test, and no repeat joins it."""
    member = make_test("tern-100/2026-03-02", development_of="2026-03-01", time_min=8.0)

    assert ids(group_repeats(stock_of(FIRST, member, THIRD))) == [["01", "03"]]


def exposed(test: Test, *, wedge: str | None = None, lux_s: float | None = None, u_lux_s: float | None = None) -> Test:
    return replace(test, exposure=Exposure(wedge=wedge, lux_s=lux_s, u_lux_s=u_lux_s))


OTHERWISE: dict[str, Callable[[Test], Test]] = {
    "exposure_index": lambda test: replace(test, exposure_index=200.0),
    "developer": lambda test: replace(test, developed=replace(test.developed, developer="another")),
    "temperature_c": lambda test: replace(test, developed=replace(test.developed, temperature_c=24.0)),
    "time_min": lambda test: replace(test, developed=replace(test.developed, time_min=9.0)),
    "wedge": lambda test: exposed(test, wedge="contact-31"),
    "lux_s": lambda test: exposed(test, lux_s=0.8),
    "u_lux_s": lambda test: exposed(test, lux_s=0.8, u_lux_s=0.02),
}


@pytest.mark.parametrize("what", OTHERWISE)
def test_only_tests_under_the_same_conditions_are_one(what: str) -> None:
    """A repeat at another index, developer, temperature, time, wedge or lamp begins a group of its own."""
    changed = OTHERWISE[what](SECOND)
    again = OTHERWISE[what](THIRD)

    assert ids(group_repeats(stock_of(FIRST, changed))) == [["01"], ["02"]]
    assert ids(group_repeats(stock_of(FIRST, changed, again))) == [["01"], ["02", "03"]]


def test_a_lamp_whose_error_is_another_is_another_lamp() -> None:
    """Equal lux_s with another u_lux_s is no repeat: their errors would not be one."""
    lamp = exposed(FIRST, lux_s=0.8, u_lux_s=0.02)
    other = exposed(SECOND, lux_s=0.8, u_lux_s=0.03)

    assert ids(group_repeats(stock_of(lamp, other))) == [["01"], ["02"]]


@pytest.mark.parametrize("what", ["batch", "agitation", "emulsion"])
def test_what_a_repeat_may_differ_in(what: str) -> None:
    """Another batch, agitation or emulsion is what a repeat is to tell the scatter of."""
    changed = (
        replace(SECOND, emulsion="0417-2")
        if what == "emulsion"
        else replace(SECOND, developed=replace(SECOND.developed, **{what: "other"}))  # type: ignore[arg-type]
    )

    assert ids(group_repeats(stock_of(FIRST, changed))) == [["01", "02"]]


def test_a_repeat_finds_its_conditions_again() -> None:
    """A repeat joins the newest group done alike, whatever was tested between."""
    between = replace(make_test("tern-100/2026-03-02"), exposure_index=200.0)

    assert ids(group_repeats(stock_of(FIRST, between, THIRD))) == [["01", "03"], ["02"]]


def test_the_group_of_the_current_test() -> None:
    """A stock's figure is of the group that its current test is in, also where that is not the newest."""
    other = make_test("tern-100/2026-03-04")
    stock = stock_of(FIRST, SECOND, other)

    assert [test.id for test in current_group(stock)] == ["2026-03-04"]
    assert [test.id for test in current_group(replace(stock, current="2026-03-02"))] == ["2026-03-01", "2026-03-02"]


def test_no_current_test_no_group() -> None:
    """A stock all of whose tests were withdrawn has no figure."""
    withdrawn = replace(FIRST, withdrawn="light leak")

    assert current_group(replace(make_stock("tern-100", [withdrawn]), current=None)) == ()


def test_a_current_test_outside_every_group_stands_alone() -> None:
    """A test that is current by its own word, though it varies the time of another, is its stock's only figure."""
    member = make_test("tern-100/2026-03-02", development_of="2026-03-01")

    assert current_group(stock_of(FIRST, member)) == (member,)


def test_retest_is_set_against_what_it_replaces() -> None:
    """Also where the retest says that it is a repeat."""
    replaced = replace(FIRST, replaced_by="2026-03-03")
    retest = replace(THIRD, replaces="2026-03-01")

    assert find_predecessor(stock_of(replaced, SECOND, retest), retest) is replaced


def test_repeat_is_set_against_the_member_before() -> None:
    """The second repeat against the first, and the first test against nothing."""
    stock = stock_of(FIRST, SECOND, THIRD)

    assert find_predecessor(stock, THIRD) is SECOND
    assert find_predecessor(stock, SECOND) is FIRST
    assert find_predecessor(stock, FIRST) is None


def test_what_has_nothing_before_it() -> None:
    """A further test that is neither, a repeat under new conditions, and a withdrawn repeat have no predecessor."""
    other = make_test("tern-100/2026-03-02")
    changed = replace(SECOND, exposure_index=200.0)
    withdrawn = replace(SECOND, withdrawn="light leak")

    assert find_predecessor(stock_of(FIRST, other), other) is None
    assert find_predecessor(stock_of(FIRST, changed), changed) is None
    assert find_predecessor(stock_of(FIRST, withdrawn), withdrawn) is None
