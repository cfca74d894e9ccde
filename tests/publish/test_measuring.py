"""Measuring by steps: what is kept is what would be made, and what is made anew is what a change touches."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from basefog.judge.groups import current_group
from basefog.measure import Asked, Measure, Member, measure_here, measure_series
from basefog.publish.measuring import measure_by
from basefog.records.content import Frame, Paper, Prose, Series, Test, read_only
from basefog.records.findings import MeasuredTest
from basefog.records.problem import Place
from basefog.records.vocabulary import LOG10_2
from basefog.site.digest import digest_of
from basefog.site.steps import open_steps
from measure.bench_content import PLACE, make_frames, make_series, make_stock, make_test, make_wedge, soft_toe

PLACES = {"grey": 0.60, "dark": 0.30, "red": 0.45}
PAPER = Paper(
    id="warm-2",
    log_exposure=read_only(np.linspace(0.0, 2.0, 21)),
    density=read_only(0.05 + 2.0 / (1 + np.exp(-4 * (np.linspace(0.0, 2.0, 21) - 1.0)))),
    place=PLACE,
)
STOPS = [third / 3 for third in range(-4, 6)]
TIMES = {"tern-100/2026-03-14": (8.0, 0.62), "tern-100/2026-03-15": (6.0, 0.52), "tern-100/2026-03-16": (11.0, 0.70)}
ASK = {"vole-50/2026-03-01", "wren-25/2026-03-01"}
"""Tests that take from the others how well exposures repeat: one without a wedge exposure, one with a single frame."""


def read(name: str, shift: float = 0.0) -> Test:
    """Return a test with a wedge exposure and a bracket whose shutter was off by 0.15 stop and less."""
    time_min, gradient = TIMES.get(name, (8.0, 0.62))
    density = soft_toe(gradient, 0.15, shift)
    return make_test(
        name,
        frames=[shot for number, stop in enumerate(STOPS) for shot in frame_of(number, stop, density)],
        wedge=make_wedge(density),
        time_min=time_min,
        development_of="2026-03-14" if time_min != 8.0 else None,
    )


def frame_of(number: int, stop: float, density: object) -> Iterator[Frame]:
    off = 0.05 * ((3 * number) % 7 - 3)
    assert callable(density)
    for frame in make_frames(lambda place: float(density(np.array(place + LOG10_2 * off))), PLACES, stops=[stop]):
        yield replace(frame, frame=f"{number:02}")


def series_of(*changed: Test) -> Series:
    """Return a series with repeats of the reference, a family of times, and the two that ask; some tests changed."""
    single = read("wren-25/2026-03-01", 0.2)
    assert single.bracket is not None
    tests = {
        test.key: test
        for test in (
            read("marl-400/2026-01-10"),
            replace(read("marl-400/2026-02-10", 0.06), repeat=True),
            *(read(name, 0.15) for name in reversed(TIMES)),
            replace(read("vole-50/2026-03-01", 0.1), wedge=None),
            replace(single, bracket=replace(single.bracket, frames=single.bracket.frames[4:5])),
            read("yaffle-200/2026-03-02", 0.25),
        )
    } | {test.key: test for test in changed}
    slugs = sorted({test.stock for test in tests.values()})
    stocks = [make_stock(slug, [test for test in tests.values() if test.stock == slug]) for slug in slugs]
    return make_series(stocks, papers=[PAPER])


def find_test(series: Series, key: str) -> Test:
    slug, test = key.split("/")
    return series.stock(slug).test(test)


def measure(series: Series, how: Measure = measure_here) -> dict[str, MeasuredTest]:
    return measure_series(series, current_group(series.reference_stock), how)


def keys_of(series: Series) -> dict[tuple[str, ...], str]:
    """Return the digest of all that each family is measured from, by the keys of its tests."""
    found: dict[tuple[str, ...], str] = {}

    def note(asked: Sequence[Asked]) -> Iterator[tuple[Member, ...]]:
        found.update({tuple(test.key for test in one.tests): digest_of(one) for one in asked})
        yield from measure_here(asked)

    measure(series, note)
    return found


@cache
def keys_before() -> dict[tuple[str, ...], str]:
    return keys_of(series_of())


def changed_by(*changed: Test) -> set[str]:
    """Return the keys of the tests that are measured anew after a change."""
    before, after = keys_before(), keys_of(series_of(*changed))
    assert before.keys() == after.keys()
    return {key for family in before if before[family] != after[family] for key in family}


def reread(test: Test) -> Test:
    """Return a test with another reading of one step."""
    assert test.wedge is not None
    steps = [
        replace(step, readings=(step.readings[0] + 0.02,)) if step.step == "12" else step for step in test.wedge.steps
    ]
    return replace(test, wedge=replace(test.wedge, steps=tuple(steps)))


@pytest.mark.parametrize("processes", [1, 2])
def test_what_is_kept_is_what_would_be_made(tmp_path: Path, processes: int) -> None:
    """Made by steps, in one process or two, and found again, every test has what measuring it here gives."""
    series = series_of()
    expected = digest_of(measure(series))

    for _ in range(2):
        with open_steps(tmp_path, processes=processes) as steps:
            assert digest_of(measure(series, measure_by(steps))) == expected


def test_what_is_kept_serves_after_a_change(tmp_path: Path) -> None:
    """After a reading changed, what is put together of kept and new results is what measuring all anew gives."""
    changed = series_of(reread(find_test(series_of(), "tern-100/2026-03-15")))

    for series in (series_of(), changed):
        with open_steps(tmp_path, processes=1) as steps:
            found = measure(series, measure_by(steps))

    assert digest_of(found) == digest_of(measure(changed))
    assert digest_of(found) != digest_of(measure(series_of()))


def test_what_no_measure_hangs_on_changes_no_key() -> None:
    """Notes, lines that moved in their files, a batch, a correction and a further repeat's name leave all as it was."""
    test = find_test(series_of(), "yaffle-200/2026-03-02")
    assert test.wedge is not None
    assert test.bracket is not None
    moved = Place(path="elsewhere.csv", line=7)

    assert (
        changed_by(replace(test, notes=Prose(text="A note.", place=moved), emulsion="0421", print_exposure_s=9.0))
        == set()
    )
    assert (
        changed_by(
            replace(
                test,
                place=moved,
                wedge=replace(test.wedge, steps=tuple(replace(step, place=moved) for step in test.wedge.steps)),
                bracket=replace(
                    test.bracket, frames=tuple(replace(frame, place=moved) for frame in test.bracket.frames)
                ),
            )
        )
        == set()
    )
    assert changed_by(replace(test, developed=replace(test.developed, batch="b-7", agitation="gentle"))) == set()


@pytest.mark.parametrize(
    ("key", "family"),
    [("yaffle-200/2026-03-02", {"yaffle-200/2026-03-02"}), ("tern-100/2026-03-15", set(TIMES))],
)
def test_a_reading_of_a_stock_changes_its_family_and_those_that_ask(key: str, family: set[str]) -> None:
    """A family is measured anew, and those without a shutter of their own, whose error the changed test has part in."""
    assert changed_by(reread(find_test(series_of(), key))) == family | ASK


def test_without_a_bracket_a_reading_changes_its_own_test_alone() -> None:
    """A test that tells no shutter has part in no other."""
    bare = replace(find_test(series_of(), "yaffle-200/2026-03-02"), bracket=None)
    before, after = keys_of(series_of(bare)), keys_of(series_of(reread(bare)))

    assert {family for family in before if before[family] != after[family]} == {("yaffle-200/2026-03-02",)}


@pytest.mark.parametrize("key", ["marl-400/2026-01-10", "marl-400/2026-02-10"])
def test_a_reading_of_the_reference_changes_all(key: str) -> None:
    """Every test is set against the reference's, its repeats included."""
    everything = {test.key for stock in series_of().stocks for test in stock.tests}

    assert changed_by(reread(find_test(series_of(), key))) == everything


def test_those_that_ask_are_measured_with_the_others_shutter() -> None:
    """The frames of the others repeat to 0.10 stop: twice as far, and the one that asks has a wider interval."""
    wild = find_test(series_of(), "yaffle-200/2026-03-02")
    assert wild.bracket is not None
    shaken = replace(
        wild,
        bracket=replace(
            wild.bracket,
            frames=tuple(
                replace(frame, stops=frame.stops + 0.6 * (-1) ** number)
                for number, frame in enumerate(wild.bracket.frames)
            ),
        ),
    )
    calm, rough = (measure(series)["vole-50/2026-03-01"].curve for series in (series_of(), series_of(shaken)))

    assert calm is not None
    assert rough is not None
    middle = calm.density.size // 2
    assert rough.high[middle] - rough.low[middle] > 1.2 * (calm.high[middle] - calm.low[middle])


def test_a_family_of_times_is_measured_together() -> None:
    """Each test of it has its own measures; the main one has the curve of contrast against time through all three."""
    found = measure(series_of())
    main = found["tern-100/2026-03-14"].contrast_time

    assert main is not None
    assert [point.time_min for point in main.points] == [6.0, 8.0, 11.0]
    for point in main.points:
        assert point.average_gradient == found[f"tern-100/{point.test}"].measures["average_gradient"]
    assert found["tern-100/2026-03-15"].contrast_time is None
