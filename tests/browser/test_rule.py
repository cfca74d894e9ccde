"""The browser's rule is Python's: the same differences, verdicts and figures from the same numbers."""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import pytest
from basefog.measure.verdicts import compare_measures
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page

from basefog.measure import measure_series
from basefog.measure.intervals import added_variance, compare, widen
from basefog.measure.speed import WHY_AXES, measure_speed_from_reference, why_axes_differ
from basefog.picture.texture.scan_measures import compare_scan_measures
from basefog.publish.data.values import quantity_json
from basefog.publish.pages.page_of_any_two import WHY_DENSE
from basefog.publish.pages.quantities import (
    decimals_of_column,
    decimals_of_row,
    format_could_see,
    format_difference,
    format_quantity,
)
from basefog.publish.pages.words import compare_with_zero
from basefog.read import read_series
from basefog.records.findings import Comparison, Curve, Findings, Quantity
from basefog.records.numbers import format_number
from chromium import IN_CHROMIUM, new_context

if TYPE_CHECKING:
    from basefog.measure.curve_fit import FittedCurve

ROOT = Path(__file__).parents[2]
# Each example asks the browser for a hundred cases; making a failing one smaller would ask it for hours.
FEW = settings(max_examples=6, phases=(Phase.explicit, Phase.generate))
MEMBERS = ("difference", "low", "high", "could_see")

pytestmark = IN_CHROMIUM


@dataclass(frozen=True, kw_only=True)
class FakeCurve:
    """What `why_axes_differ` looks at."""

    absolute: bool
    axis: str


@pytest.fixture(scope="module")
def page(browser: Browser) -> Page:
    """Give an empty page with the rule alone."""
    page = new_context(browser).new_page()
    page.add_script_tag(path=ROOT / "themes/neutral/assets/rule.js")
    return page


@pytest.fixture(scope="module")
def demo() -> Findings:
    series = read_series(ROOT / "content").series
    assert series is not None
    return measure_series(series)


def run(page: Page, function: str, cases: Sequence[object]) -> list[Any]:
    """Return what a function of the rule gives for each list of arguments, all in one call of the browser."""
    found: list[Any] = page.evaluate(f"cases => cases.map(([...given]) => ({function})(...given) ?? null)", cases)
    return found


def published(quantity: Quantity) -> Quantity:
    """Return a quantity as one who reads the published data has it."""
    data: Mapping[str, Any] = quantity_json(quantity)
    return Quantity(
        value=data.get("value"),
        low=data.get("low"),
        high=data.get("high"),
        unit=quantity.unit,
        why=data.get("why"),
        bound=data.get("bound"),
        at_density=data.get("at_density"),
    )


def raw(quantity: Quantity) -> dict[str, object]:
    """Return a quantity in the shape of the data files, not rounded."""
    members = {name: getattr(quantity, name) for name in ("value", "low", "high", "why", "bound", "at_density")}
    return {name: value for name, value in members.items() if value is not None or name == "value"}


def axis_of(curve: Curve | FakeCurve | None) -> dict[str, object]:
    """Return what a test's JSON says of its exposure axis."""
    return {} if curve is None else {"absolute": curve.absolute, "axis": curve.axis}


def assert_same(found: Mapping[str, Any], expected: Comparison) -> None:
    assert found["verdict"] == expected.verdict
    assert found.get("why") == expected.why
    for name in MEMBERS:
        value = getattr(expected, name)
        if value is None:
            assert found.get(name) is None
        else:
            assert found[name] == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_every_pair_of_the_demo_is_compared_as_python_does(page: Page, demo: Findings) -> None:
    """All measures of every two tests: the verdict to the letter, the rest to a thousand millionth."""
    measures = {key: {name: published(q) for name, q in test.measures.items()} for key, test in demo.tests.items()}
    cases, expected = [], []
    for a, b in itertools.combinations(sorted(measures), 2):
        for name, comparison in compare_measures(measures[a], measures[b], demo.scatter).items():
            if name == "iso_speed":
                continue
            cases.append(
                [raw(measures[a][name]), raw(measures[b][name]), added_variance(demo.scatter.get(name)), "", ""]
            )
            expected.append(comparison)
    found = run(page, "rule.compareMeasure", cases)

    assert len(cases) > 4000
    for one, other in zip(found, expected, strict=True):
        assert_same(one, other)


def test_speeds_of_the_demo_are_compared_as_python_does(page: Page, demo: Findings) -> None:
    """Stops by which one is faster, from the two speed points, with the scatter of repeats."""
    points = {key: published(test.measures["speed_point"]) for key, test in sorted(demo.tests.items())}
    scatter = demo.scatter["speed_from_reference"]
    pairs = list(itertools.permutations(points, 2))
    found = run(
        page,
        "rule.compareSpeed",
        [[raw(points[a]), raw(points[b]), added_variance(scatter), ""] for a, b in pairs],
    )

    assert found
    for (a, b), one in zip(pairs, found, strict=True):
        assert_same(one, compare_with_zero(widen(measure_speed_from_reference(points[a], points[b], ""), scatter)))


def test_rounding_turns_no_verdict_unsaid(page: Page, demo: Findings) -> None:
    """Published numbers are rounded once; where that turns a verdict, the page says that it stands at the limit.

    Against the reference, where the stocks' own pages tell the verdict too, it turns none in the demo.
    """
    cases, turned = [], []
    for a, b in itertools.permutations(sorted(demo.tests), 2):
        one, other = demo.tests[a].measures, demo.tests[b].measures
        for name, exact in compare_measures(one, other, demo.scatter).items():
            pair = published(one[name]), published(other[name])
            rounded = compare(*pair, demo.scatter.get(name))
            if name != "iso_speed" and exact.verdict != rounded.verdict:
                turned.append((a, b))
                cases.append([{"low": rounded.low, "high": rounded.high}, raw(pair[0]), raw(pair[1])])

    assert 0 < len(turned) < 20
    assert all(b != demo.reference for _, b in turned)
    assert all(run(page, "rule.isClose", cases))


def test_verdicts_against_the_reference_are_those_published(page: Page, demo: Findings) -> None:
    """From the published numbers alone the browser comes to the published verdicts; differences within rounding."""
    reference = demo.of_reference
    assert reference is not None
    for test in demo.tests.values():
        names = [name for name in test.against_reference if name != "iso_speed"]
        axes = run(page, "rule.axes", [[axis_of(test.curve), axis_of(reference.curve)]])[0]
        cases = [
            [
                raw(published(test.measures[name])),
                raw(published(reference.measures[name])),
                added_variance(demo.scatter.get(name)),
                WHY_AXES[axes] if axes and name == "speed_point" else "",
                "",
            ]
            for name in names
        ]
        for name, found in zip(names, run(page, "rule.compareMeasure", cases), strict=True):
            told = test.against_reference[name]

            assert found["verdict"] == told.verdict, (test.key, name)
            assert found.get("why") == told.why
            if told.difference is not None:
                assert told.could_see is not None
                assert found["difference"] == pytest.approx(told.difference, abs=0.1 * told.could_see)


@st.composite
def quantities(draw: st.DrawFn, *, missing: bool = True) -> Quantity:
    """Quantities with lopsided intervals, lower bounds and densities; some are missing."""
    if missing and draw(st.integers(0, 9)) == 0:
        return Quantity(value=None, low=None, high=None, unit="1", why="it was not read")
    value = draw(st.floats(-20, 20).map(lambda x: round(x, 3)))
    down, up = (draw(st.floats(1e-3, 5).map(lambda x: round(x, 4))) for _ in range(2))
    return Quantity(
        value=value,
        low=value - down,
        high=value + up,
        unit="1",
        bound=draw(st.sampled_from([None, None, "lower"])),
        at_density=draw(st.sampled_from([None, None, 0.875, 1.0, 1.19])),
    )


@FEW
@given(pairs=st.lists(st.tuples(quantities(), quantities(), st.floats(0, 2)), min_size=60, max_size=120))
def test_any_two_quantities_are_compared_as_python_does(
    page: Page, pairs: list[tuple[Quantity, Quantity, float]]
) -> None:
    """Lopsided, bounded, missing, at other densities, with and without scatter."""
    found = run(page, "rule.compareMeasure", [[raw(a), raw(b), 0, "", WHY_DENSE] for a, b, _ in pairs])
    speeds = run(page, "rule.compare", [[raw(a), raw(b), variance] for a, b, variance in pairs])

    for (a, b, variance), one, wide in zip(pairs, found, speeds, strict=True):
        assert_same(one, compare_scan_measures({"rms_granularity": a}, {"rms_granularity": b}, {})["rms_granularity"])
        plain = compare(a, b)
        if plain.difference is not None and "difference" in wide:
            assert wide["high"] - wide["difference"] == pytest.approx(
                math.hypot((plain.high or 0.0) - plain.difference, math.sqrt(variance)), rel=1e-9
            )


def test_axes_are_told_apart_as_python_does(page: Page) -> None:
    """Absolute, relative to one wedge or another, or to each bracket's own metered exposure."""
    curves = [FakeCurve(absolute=absolute, axis=axis) for absolute in (True, False) for axis in ("w1", "w2", "bracket")]
    pairs = list(itertools.product(curves, curves))
    found = run(page, "rule.axes", [[axis_of(a), axis_of(b)] for a, b in pairs])

    assert [WHY_AXES[name] if name else "" for name in found] == [
        why_axes_differ(cast("FittedCurve", a), cast("FittedCurve", b)) for a, b in pairs
    ]
    assert run(page, "rule.axes", [[{}, axis_of(curves[0])]]) == [""]


def test_what_is_never_subtracted_is_not(page: Page) -> None:
    """A reason given beforehand stands, unless a value is missing, whose own reason is nearer."""
    known = Quantity(value=125.0, low=118.0, high=133.0, unit="ISO")
    gone = Quantity(value=None, low=None, high=None, unit="ISO", why="log exposure is relative")
    iso = compare_measures({"iso_speed": known}, {"iso_speed": known}, {})["iso_speed"]
    first, second = run(
        page, "rule.compareMeasure", [[raw(known), raw(known), 0, iso.why, ""], [raw(gone), raw(known), 0, iso.why, ""]]
    )

    assert_same(first, iso)
    assert_same(second, compare_measures({"iso_speed": gone}, {"iso_speed": known}, {})["iso_speed"])


@FEW
@given(
    rows=st.lists(
        st.tuples(quantities(missing=False), quantities(missing=False), st.booleans(), st.integers(0, 4)),
        min_size=60,
        max_size=120,
    )
)
def test_figures_are_written_as_python_writes_them(
    page: Page, rows: list[tuple[Quantity, Quantity, bool, int]]
) -> None:
    """Value and spread, decimals of rows and columns, and what could have been seen."""
    halves = [[a.half_width, b.half_width] for a, b, _, _ in rows]
    decimals = run(page, "rule.decimalsOf", [[[raw(a), raw(b)]] for a, b, _, _ in rows])
    column = run(page, "rule.decimalsOf", [[[raw(a) for a, _, _, _ in rows], 0.5]])
    written = run(page, "rule.write", [[raw(a), signed, places] for a, _, signed, places in rows])
    alone = run(page, "rule.write", [[raw(a)] for a, *_ in rows])
    differences = run(
        page, "rule.write", [[{"difference": a.value, "low": a.low, "high": a.high}, True] for a, *_ in rows]
    )
    seen = run(page, "rule.writeSeen", [[a.half_width, places] for a, _, _, places in rows])
    bare = run(page, "rule.writeSeen", [[a.half_width] for a, *_ in rows])

    assert decimals == [decimals_of_row(both) for both in halves]
    assert column == [decimals_of_column(a for a, _ in halves)]
    for at, (quantity, _, signed, places) in enumerate(rows):
        text = format_quantity(quantity, signed=signed, decimals=places)
        assert written[at] == [text.value, text.spread]
        text = format_quantity(quantity)
        assert alone[at] == [text.value, text.spread]
        comparison = Comparison(
            verdict="higher", difference=quantity.value, low=quantity.low, high=quantity.high, unit="1"
        )
        text = format_difference(comparison)
        assert differences[at] == [text.value, text.spread]
        half = quantity.half_width
        assert half is not None
        assert seen[at] == format_could_see(half, decimals=places)
        assert bare[at] == format_could_see(half)


def test_halves_go_to_the_even_digit(page: Page) -> None:
    """Python rounds exact halves to the even digit, and so do the pages: 12.5 is 12, 13.5 is 14, 0.125 is 0.12."""
    cases = [[value * sign, places, signed] for value in (0.5, 1.5, 2.5, 12.5, 13.5, 0.125, 0.375, 2.675, 1.15, 0.0)
             for sign in (1, -1) for places in (0, 1, 2) for signed in (False, True)]  # fmt: skip
    found = run(page, "rule.number", cases)

    assert found == [format_number(value, int(places), signed=bool(signed)) for value, places, signed in cases]


def test_a_speed_stands_on_the_standard_scale(page: Page) -> None:
    """A standard speed is told with what it was rounded from, one without an interval alone."""
    speeds = [
        Quantity(value=125.0, low=116.6, high=141.2, unit="ISO"),
        Quantity(value=8.0, low=7.61, high=8.44, unit="ISO"),
    ]
    texts = [format_quantity(speed) for speed in speeds]

    assert run(page, "rule.writeSpeed", [[raw(speed)] for speed in speeds]) == [[t.value, t.spread] for t in texts]
