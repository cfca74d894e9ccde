"""The browser's rule and Python's: both hold to known truth, and come to the same verdicts and figures."""

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page

from basefog.judge import Rule, compare, compare_any_two, find_findings
from basefog.measure.intervals import quantity_from_parts
from basefog.measure.speed import WHY_AXES, why_axes_differ
from basefog.publish.data.summary import wedges_json
from basefog.publish.data.test_json import render_test_json
from basefog.publish.data.values import pooled_json, quantity_json
from basefog.publish.pages.page_of_any_two import page_of_any_two
from basefog.publish.pages.quantities import format_difference, format_half, format_quantity
from basefog.read import read_series
from basefog.records.content import Series
from basefog.records.findings import Comparison, Curve, ErrorParts, Findings, LampPart, Quantity
from basefog.records.numbers import decimals_for, format_number
from basefog.records.vocabulary import ScatterSource
from chromium import IN_CHROMIUM, new_context
from judge.figures import figure
from small_series import SERIES, readings, write_small_series

if TYPE_CHECKING:
    from basefog.measure.curve_fit import FittedCurve

ROOT = Path(__file__).parents[2]
# Each example asks the browser for a hundred cases; making a failing one smaller would ask it for hours.
FEW = settings(max_examples=6, phases=(Phase.explicit, Phase.generate))
U_DENSITY = 0.01
WEDGES = {name: {str(step): U_DENSITY for step in range(1, 22)} for name in ("contact-21", "other-21")}

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


def run(page: Page, function: str, cases: Sequence[object]) -> list[Any]:
    """Return what a function of the rule gives for each list of arguments, all in one call of the browser."""
    found: list[Any] = page.evaluate(f"cases => cases.map(([...given]) => ({function})(...given) ?? null)", cases)
    return found


def raw(quantity: Quantity) -> dict[str, object]:
    """Return a quantity in the shape of the data files, not rounded."""
    members = {name: getattr(quantity, name) for name in ("value", "low", "high", "why", "bound", "exact")}
    return {name: value for name, value in members.items() if value is not None or name == "value"}


# Known truth: one thing that two figures share at a time, worked by hand.


def speed(exact: float, *, error: float, lamp: LampPart | None = None) -> Quantity:
    """Return a speed whose logarithm has this standard uncertainty from readings."""
    parts = ErrorParts(unshared=error**2, lamp=lamp)
    found = quantity_from_parts(exact, "ISO", parts)
    return replace(found, value=exact, exact=exact)


UNREAD = Quantity(value=None, low=None, high=None, unit="1", why="unread")
LAMP = LampPart(lux_s=0.8, u_lux_s=0.02, per_log_unit=1.0)
OF_LAMP = (0.02 / (0.8 * math.log(10))) ** 2
STUDENT, FIRM = 2.0, 3.0

CASES: dict[str, tuple[Quantity, Quantity, ScatterSource | None, float, float]] = {
    # 0.03^2 + 0.04^2
    "readings alone": (figure(0.62, reading=0.03), figure(0.55, reading=0.04), None, 0.07, 0.0025),
    # readings 2 x 0.01^2 = 2e-4; this wedge part (4 + 1) 1e-4, the other's (1 + 4) 1e-4; in common is step 2 alone, of
    # which 2 x (1 x 1) 1e-4 cancels: 2 + 5 + 5 - 2 = 10
    "a wedge, step by step": (
        figure(0.62, by_step={"1": 2.0, "2": 1.0}),
        figure(0.55, by_step={"2": 1.0, "3": 2.0}),
        None,
        0.07,
        10e-4,
    ),
    # 9 + 1 - 2 x min(3, 9, 1) = 8, and the readings' 2
    "a wedge, no more than either part": (
        figure(0.62, by_step={"1": 3.0}),
        figure(0.55, by_step={"1": 1.0}),
        None,
        0.07,
        10e-4,
    ),
    # 9 + 1, and the readings' 2: nothing is in common
    "two wedges": (
        figure(0.62, by_step={"1": 3.0}),
        figure(0.55, by_step={"1": 1.0}, wedge="other-21"),
        None,
        0.07,
        12e-4,
    ),
    # the readings' 2e-4 alone
    "one lamp": (figure(0.62, lamp=(0.8, 0.02)), figure(0.55, lamp=(0.8, 0.02)), None, 0.07, 2e-4),
    # and twice the lamp's own, where one states its error otherwise
    "two lamps": (
        figure(0.62, lamp=(0.8, 0.02)),
        figure(0.55, lamp=(1.6, 0.04)),
        None,
        0.07,
        2e-4 + 2 * OF_LAMP,
    ),
    # 0.02^2 (1 + 1/4), and the readings' 2e-4
    "scatter of one test and of a mean of four": (
        figure(0.62, scatter=0.02),
        figure(0.55, scatter=0.02, tests=4),
        "repeats",
        0.07,
        7e-4,
    ),
    # a is of batch x; b half of x, half of y. Of x a half is in common: 0.5^2 is left of a, 0.5^2 of b's y, and of b's
    # x nothing: 0.02^2 (0.25 + 0.25), and the readings' 2e-4
    "scatter between batches": (
        figure(0.62, scatter=0.02, batches=("x",)),
        figure(0.55, scatter=0.02, tests=2, batches=("x", "y")),
        "batches",
        0.07,
        4e-4,
    ),
    # two of which nobody knows the batch share none: 0.02^2 (1 + 1/2), and 2e-4
    "batches that are not known": (
        figure(0.62, scatter=0.02, batches=(None,)),
        figure(0.55, scatter=0.02, tests=2, batches=(None, None)),
        "batches",
        0.07,
        8e-4,
    ),
    # repeats tell of whole tests: that both were in one batch takes nothing away, 0.02^2 (1 + 1), and 2e-4
    "one batch, scatter from repeats": (
        figure(0.62, scatter=0.02, batches=("x",)),
        figure(0.55, scatter=0.02, batches=("x",)),
        "repeats",
        0.07,
        10e-4,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_both_rules_come_to_what_is_worked_by_hand(page: Page, name: str) -> None:
    """Difference, half width, verdict and firmness, to what rounding of the published parts allows."""
    this, other, source, difference, variance = CASES[name]
    error = math.sqrt(variance)
    rule = Rule(measure="gamma", student=STUDENT, firm=FIRM, source=source)
    python = compare(rule, this, other)
    script = run(page, "rule.compare", [[pooled_json(this), pooled_json(other), given_rule(source=source)]])[0]
    verdict = "higher" if difference > STUDENT * error else "no measurable difference"

    assert python.difference == pytest.approx(difference, rel=1e-9)
    assert python.could_see == pytest.approx(STUDENT * error, rel=1e-9)
    assert python.verdict == script["verdict"] == verdict
    assert python.firm == script["firm"] == (difference > FIRM * error)
    assert script["difference"] == pytest.approx(difference, rel=1e-9)
    assert script["half"] == pytest.approx(STUDENT * error, rel=1e-3)
    assert script["counts"] == list(python.counts)


def given_rule(**more: object) -> dict[str, object]:
    return {"student": STUDENT, "firm": FIRM, "wedges": WEDGES, **more}


def test_the_worked_cases_hold_each_verdict() -> None:
    """Among them are differences that are firm, that are not firm, and none that can be measured."""
    standings = {(d > STUDENT * math.sqrt(v), d > FIRM * math.sqrt(v)) for _, _, _, d, v in CASES.values()}

    assert standings == {(False, False), (True, False), (True, True)}


def test_speeds_are_compared_in_logarithms_and_told_in_stops(page: Page) -> None:
    """EI 200 less EI 100 is one stop; two errors of 0.03 in the logarithm are hypot(0.03, 0.03) / 0.30103 stops.

    The lamp, which both share, takes no part in it, though it is 0.011 in each logarithm.
    """
    lamp = replace(LAMP, per_log_unit=-1.0)
    this, other = speed(200.0, error=0.03, lamp=lamp), speed(100.0, error=0.03, lamp=lamp)
    half = STUDENT * math.hypot(0.03, 0.03) / 0.30103
    python = compare(Rule(measure="iso_speed", student=STUDENT, firm=FIRM, source=None), this, other)
    script = run(page, "rule.compare", [[quantity_json(this), quantity_json(other), given_rule(log="yes")]])[0]

    assert python.unit == "stops"
    for difference, found_half in ((python.difference, python.could_see), (script["difference"], script["half"])):
        assert difference == pytest.approx(1.0, abs=1e-5)
        assert found_half == pytest.approx(half, rel=1e-3)
    assert script["firm"] is python.firm is True


def test_a_stocks_figure_is_the_mean_and_a_named_test_its_own(page: Page) -> None:
    """`slug` takes `pooled` where the test has it, `slug/test` never."""
    data = {
        "measures": {"gamma": {"value": 0.60}, "mtf50": {"value": 40}},
        "pooled": {"gamma": {"value": 0.62, "tests": 3}, "red": {"value": -0.4}},
        "patches": {"red": {"stops_from_grey": -0.3}, "blue": {"stops_from_grey": 0.1}},
    }
    asked = [[{"own": own, "data": data}, what] for what in ("gamma", "mtf50", "red", "blue") for own in (False, True)]
    values = [found["value"] for found in run(page, "rule.figureOf", asked)]

    assert values == [0.62, 0.60, 40, 40, -0.4, -0.3, 0.1, 0.1]


def test_beside_the_reference_the_published_verdict_stands(page: Page) -> None:
    """As it is, and turned round where the reference is named first; a test of several is judged by its own figure.

    The stock's figure is published as 0.030 higher. Its current test's own 0.65 less the reference's 0.60 is 0.05, with
    2 x hypot(0.01, 0.01) = 0.028: beyond 3 times it, by Dunnett, it would have to be 0.042.
    """
    told = {"difference": 0.03, "low": 0.01, "high": 0.05, "could_see": 0.02, "verdict": "higher", "firm": False}
    stock = {
        "stock": "fell",
        "measures": {"gamma": quantity_json(figure(0.65))},
        "pooled": {"gamma": quantity_json(figure(0.63)) | {"tests": 2}},
        "against_reference": {"gamma": told},
        "patches": {},
    }
    reference = {"stock": "wold", "measures": {"gamma": quantity_json(figure(0.60))}, "patches": {}}
    a, own = ({"own": named, "isReference": False, "data": stock} for named in (False, True))
    b = {"own": False, "isReference": True, "data": reference}
    rule = given_rule(firm=9.0, dunnett=3.0)
    plain, turned, alone = run(
        page, "rule.judge", [[[a, b], "gamma", rule], [[b, a], "gamma", rule], [[own, b], "gamma", rule]]
    )

    assert [plain[name] for name in ("verdict", "difference", "low", "high", "half", "firm")] == [
        "higher", 0.03, 0.01, 0.05, 0.02, False,
    ]  # fmt: skip
    assert [turned[name] for name in ("verdict", "difference", "low", "high", "half", "firm")] == [
        "lower", -0.03, -0.05, -0.01, 0.02, False,
    ]  # fmt: skip
    assert alone["difference"] == pytest.approx(0.05)
    assert alone["half"] == pytest.approx(0.0283, rel=1e-2)
    assert alone["firm"] is True


@pytest.mark.parametrize(
    ("relative", "variance"),
    # Readings 0.03^2 and the reference's 0.04^2 make 25e-4; scatter 0.02^2 of this test, and of two of the reference's
    # half of 0.01^2, or, where it is a share of this test's value, half of 0.02^2.
    [(False, 25e-4 + 4e-4 + 0.5e-4), (True, 25e-4 + 4e-4 + 2e-4)],
)
def test_a_difference_to_the_reference_carries_the_references_part(
    page: Page, *, relative: bool, variance: float
) -> None:
    """The reference's figure itself, zero by definition, has no error: what was subtracted has."""
    found = figure(0.5, reading=0.03, scatter=0.02, of_reference=ErrorParts(unshared=0.04**2))
    zero = Quantity(value=0.0, low=0.0, high=0.0, unit="1", tests=2, batches=(None, None), scatter=0.01)
    stock = {
        "stock": "fell",
        "measures": {"shadow_match": quantity_json(found)},
        "pooled": {"shadow_match": {}},
        "against_reference": {},
        "patches": {},
    }
    reference = {
        "stock": "wold",
        "measures": {},
        "pooled": {"shadow_match": pooled_json(zero)},
        "patches": {},
    }
    two = [{"own": True, "data": stock}, {"own": False, "isReference": True, "data": reference}]
    rule = given_rule(source="repeats", dunnett=FIRM, relative=relative)
    script = run(page, "rule.judge", [[two, "shadow_match", rule]])[0]

    assert script["difference"] == 0.5
    assert script["half"] == pytest.approx(STUDENT * math.sqrt(variance), rel=1e-3)


@pytest.mark.parametrize(
    ("this", "other", "verdict", "why"),
    [
        (figure(2.1, bound="lower"), figure(2.0), "higher", None),
        (figure(2.1, bound="lower"), figure(2.2), "not measured", "this test gives only a lower bound"),
        (figure(2.1), figure(2.2, bound="lower"), "lower", None),
        (figure(2.3), figure(2.2, bound="lower"), "not measured", "the other test gives only a lower bound"),
        (
            figure(2.3, bound="lower"),
            figure(2.2, bound="lower"),
            "not measured",
            "both tests give only a lower bound",
        ),
        (replace(figure(2.3), parts=None), figure(2.2), "not measured", "the error of one of the two is not known"),
        (figure(2.3), UNREAD, "not measured", "not on the other test: unread"),
        (UNREAD, figure(2.3), "not measured", "unread"),
    ],
)
def test_bounds_and_what_is_missing(page: Page, this: Quantity, other: Quantity, verdict: str, why: str | None) -> None:
    """At least 2.1 is higher than 2.0, but not lower than 2.2; what has no value or no known error has no verdict."""
    python = compare(Rule(measure="gamma", student=STUDENT, firm=FIRM, source=None), this, other)
    script = run(page, "rule.compare", [[quantity_json(this), quantity_json(other), given_rule()]])[0]

    assert (python.verdict, python.why) == (verdict, why)
    assert (script["verdict"], script.get("why")) == (verdict, why)


def test_what_is_never_subtracted_is_not(page: Page) -> None:
    """A reason that holds for the measure stands before all others, one of the two axes after a missing value's."""
    known, gone = raw(figure(1.0)) | {"from_readings": 0.02}, {"value": None, "why": "it was not read"}
    found = run(
        page,
        "rule.compare",
        [
            [known, gone, given_rule(never="never")],
            [known, known, given_rule(apart="two axes")],
            [gone, known, given_rule(apart="two axes")],
        ],
    )

    assert [one["why"] for one in found] == ["never", "two axes", "it was not read"]


# Whole series: every pair by both rules.


@dataclass(frozen=True, kw_only=True, slots=True)
class Held:
    """What came of holding the script to Python: verdicts, differences among them, turned by rounding, close."""

    compared: int
    differing: int
    turned: int
    close: int


Pair = tuple[str, str, bool, bool]


def hold(page: Page, series: Series, findings: Findings, pairs: Iterable[Pair]) -> Held:
    """Hold the script's verdicts on these pairs to Python's, from the published data alone."""
    view = page_of_any_two(series, findings)
    tests = {test.key: test for stock in series.stocks for test in stock.tests}
    data = {key: render_test_json(series, test, findings.tests[key], ()) for key, test in tests.items()}
    rows = [asdict(row) for row in (*view.measures, *view.patches)]
    page.evaluate("given => { window.given = given; }", {"data": data, "rows": rows, "wedges": wedges_json(series)})
    asked = list(pairs)
    answers = run(page, JUDGE, [[findings.reference, dict(WHY_AXES), *pair] for pair in asked])
    counted = [0, 0, 0, 0]
    for (a, b, of_a, of_b), found in zip(asked, answers, strict=True):
        for row, script in zip(rows, found, strict=True):
            python = compare_any_two(findings, findings.tests[a], findings.tests[b], row["id"], pooled=(of_a, of_b))
            where = (a, b, of_a, of_b, row["id"], python, script)
            if python.difference is None:
                assert script["verdict"] == "not measured", where
                assert script.get("difference") is None, where
                continue
            assert python.could_see is not None
            if script["verdict"] == "not measured":
                assert "lower bound" in script["why"], where
                counted[2] += 1
                continue
            # What was published is rounded to two digits, what is formed from its parts hardly.
            rel = 0.05 if "could_see" in script else 0.002
            turned = (script["verdict"], script.get("firm")) != (python.verdict, python.firm)
            assert script["close"] or not turned, where
            assert script["half"] == pytest.approx(python.could_see, rel=rel), where
            assert script["difference"] == pytest.approx(python.difference, abs=0.12 * python.could_see), where
            assert script["counts"] == list(python.counts), where
            counted[0] += 1
            counted[1] += python.verdict != "no measurable difference"
            counted[2] += turned
            counted[3] += script["close"]
    return Held(compared=counted[0], differing=counted[1], turned=counted[2], close=counted[3])


# What compare.js does with the page's rows and the tests' data.
JUDGE = """(reference, whys, a, b, ofA, ofB) => {
  const { data, rows, wedges } = window.given;
  const side = (key, whole) => ({ own: !whole, isReference: key === reference, data: data[key] });
  const two = [side(a, ofA), side(b, ofB)];
  const axes = rule.axes(data[a].curve, data[b].curve);
  return rows.map((row) => rule.judge(two, row.id, {
    ...row, log: row.in_logarithms, apart: row.on_the_axis && whys[axes], wedges,
  }, "no bracket was read"));
}"""


def pairs_of(series: Series) -> list[Pair]:
    """Return every two tests both ways round, each as its stock's figure too where it carries that."""
    sides = [
        (test.key, whole)
        for stock in series.stocks
        for test in stock.tests
        for whole in ((False, True) if test.id == stock.current else (False,))
    ]
    return [(a, b, of_a, of_b) for (a, of_a), (b, of_b) in itertools.permutations(sides, 2) if a != b]


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Series, Findings]:
    """Return three stocks with a repeat each and one without, on a wedge and a lamp of known error."""
    folder = write_small_series(tmp_path_factory.mktemp("small"))
    lamp = "exposure: {wedge: contact-11, lux_s: 1.0, u_lux_s: 0.03}"
    (folder / "series.yaml").write_text(SERIES.replace("exposure: {wedge: contact-11, lux_s: 1.0}", lamp))
    wedge = folder / "wedges/contact-11.csv"
    head, *steps = wedge.read_text().split()
    wedge.write_text("\n".join([f"{head},u_density", *(f"{step},0.004" for step in steps)]) + "\n")
    write_test(folder, "fell-100", "2026-03-01", gradient=0.63, threshold=-1.88, repeat=True)
    write_test(folder, "wold-400", "2026-03-03", gradient=0.54, threshold=-2.43, repeat=True)
    for day, gradient, threshold in (("2026-02-05", 0.66, -1.93), ("2026-03-05", 0.65, -1.9)):
        write_test(folder, "down-125", day, gradient=gradient, threshold=threshold, repeat=day > "2026-03")
    write_test(folder, "heath-100", "2026-02-07", gradient=0.625, threshold=-1.9)
    for slug in ("down-125", "heath-100"):
        name = slug.replace("-", " ").title()
        (folder / f"stocks/{slug}/stock.yaml").write_text(f"name: {name}\nbox_speed: {slug[-3:]}\n")
    series = read_series(folder).series
    assert series is not None
    return series, find_findings(series, {})


def write_test(  # one argument a key
    folder: Path, slug: str, day: str, *, gradient: float, threshold: float, repeat: bool = False
) -> None:
    """Write one more test of a film that answers in a straight line from a threshold."""
    path = folder / "stocks" / slug / day
    path.mkdir(parents=True)
    keys = f"exposure_index: {slug[-3:]}\ndeveloped: {{time_min: 8}}\n" + ("repeat: true\n" if repeat else "")
    (path / "test.yaml").write_text(keys)
    (path / "wedge.csv").write_text(readings(gradient=gradient, threshold=threshold))


def test_every_two_of_a_small_series_are_compared_as_python_does(page: Page, small: tuple[Series, Findings]) -> None:
    """By wedge, lamp and repeats; differences and none among them; what rounding turned says that it is close."""
    series, findings = small
    held = hold(page, series, findings, pairs_of(series))
    figures = {"fell-100", "wold-400", "down-125"}

    assert {key.split("/")[0] for key, found in findings.tests.items() if found.group} == figures
    assert findings.scatter["average_gradient"].source == "repeats"
    assert held.compared > 700
    assert 0.2 < held.differing / held.compared < 0.9
    assert held.turned <= held.close < 0.1 * held.compared
    assert held.turned < 0.01 * held.compared


@pytest.fixture(scope="module")
def demo() -> tuple[Series, Findings]:
    series = read_series(ROOT / "content").series
    assert series is not None
    return series, find_findings(series, {})


def test_a_sample_of_the_demo_is_compared_as_python_does(page: Page, demo: tuple[Series, Findings]) -> None:
    """Every seventh pair, and all with the reference's figure, patches too; fewer than one verdict in 200 turned."""
    series, findings = demo
    pairs = pairs_of(series)
    with_reference = [pair for pair in pairs if (pair[1], pair[3]) == (findings.reference, True)]
    held = hold(page, series, findings, [*pairs[::7], *with_reference])

    assert held.compared > 3000
    assert held.turned <= held.close < 0.1 * held.compared
    assert held.turned < 0.005 * held.compared


def test_the_published_verdict_of_every_stock_is_the_scripts(page: Page, demo: tuple[Series, Findings]) -> None:
    """Beside the reference rounding turns none: the page of any two never contradicts a stock's own."""
    series, findings = demo
    reference = findings.reference
    assert reference is not None
    stocks = [
        stock.current_test.key for stock in series.stocks if stock.current_test and stock.slug != series.reference
    ]
    held = hold(page, series, findings, [(key, reference, True, True) for key in stocks])

    assert held.compared > 100
    assert held.turned == 0


# Axes, and how figures are written.


def test_axes_are_told_apart_as_python_does(page: Page) -> None:
    """Absolute, relative to one wedge or another, or to each bracket's own metered exposure."""
    curves = [FakeCurve(absolute=absolute, axis=axis) for absolute in (True, False) for axis in ("w1", "w2", "bracket")]
    pairs = list(itertools.product(curves, curves))
    found = run(page, "rule.axes", [[axis_of(a), axis_of(b)] for a, b in pairs])

    assert [WHY_AXES[name] if name else "" for name in found] == [
        why_axes_differ(cast("FittedCurve", a), cast("FittedCurve", b)) for a, b in pairs
    ]
    assert run(page, "rule.axes", [[{}, axis_of(curves[0])]]) == [""]


def axis_of(curve: Curve | FakeCurve) -> dict[str, object]:
    """Return what a test's JSON says of its exposure axis."""
    return {"absolute": curve.absolute, "axis": curve.axis}


@st.composite
def quantities(draw: st.DrawFn) -> Quantity:
    """Quantities with even and lopsided intervals, some near zero."""
    value = draw(st.floats(-20, 20).map(lambda x: round(x, 3)))
    down = draw(st.floats(1e-3, 5).map(lambda x: round(x, 4)))
    up = draw(st.sampled_from([down, down, round(1.6 * down, 4), abs(value)]))
    return Quantity(value=value, low=value - down, high=value + up, unit="1")


@FEW
@given(rows=st.lists(st.tuples(quantities(), st.booleans()), min_size=60, max_size=120))
def test_figures_are_written_as_python_writes_them(page: Page, rows: list[tuple[Quantity, bool]]) -> None:
    """Value and spread of quantities and differences, halves alone, and their decimals."""
    written = run(page, "rule.write", [[raw(quantity), signed] for quantity, signed in rows])
    differences = run(
        page, "rule.write", [[{"difference": q.value, "low": q.low, "high": q.high}, True] for q, _ in rows]
    )
    halves = [quantity.half_width or 0.0 for quantity, _ in rows]

    assert run(page, "rule.writeHalf", [[half] for half in halves]) == [format_half(half) for half in halves]
    assert run(page, "rule.decimalsFor", [[half] for half in halves]) == [decimals_for(half) for half in halves]
    for at, (quantity, signed) in enumerate(rows):
        text = format_quantity(quantity, signed=signed)
        assert written[at] == [text.value, text.spread, ""]
        found = Comparison(verdict="higher", difference=quantity.value, low=quantity.low, high=quantity.high)
        text = format_difference(found)
        assert differences[at] == [text.value, text.spread, ""]


def test_halves_go_to_the_even_digit(page: Page) -> None:
    """Python rounds exact halves to the even digit, and so do the pages: 12.5 is 12, 13.5 is 14, 0.125 is 0.12."""
    cases = [[value * sign, places, signed] for value in (0.5, 1.5, 2.5, 12.5, 13.5, 0.125, 0.375, 2.675, 1.15, 0.0)
             for sign in (1, -1) for places in (0, 1, 2) for signed in (False, True)]  # fmt: skip
    found = run(page, "rule.number", cases)

    assert found == [format_number(value, int(places), signed=bool(signed)) for value, places, signed in cases]


def test_a_standard_speed_tells_what_it_was_rounded_from(page: Page) -> None:
    """143 ± 9 rounds to 160; one that stands on a step of the scale already says no more than itself."""
    speeds = [
        Quantity(value=160.0, low=134.2, high=152.4, unit="ISO", exact=143.3),
        Quantity(value=8.0, low=7.61, high=8.41, unit="ISO", exact=8.0),
        Quantity(value=125.0, low=None, high=None, unit="ISO", exact=118.0),
    ]
    texts = [format_quantity(speed) for speed in speeds]

    assert texts[0].plain == "143.3 ± 9.1, rounds to 160"
    assert run(page, "rule.write", [[raw(speed), False, "yes"] for speed in speeds]) == [
        [t.value, t.spread, t.rounds] for t in texts
    ]


def test_the_figures_of_the_demo_are_written_as_on_the_stocks_own_pages(
    page: Page, demo: tuple[Series, Findings]
) -> None:
    """From the published data: one number has one error on every page, speeds as exactly as the others."""
    _, findings = demo
    figures = [
        (name, quantity)
        for test in findings.tests.values()
        for name, quantity in (*test.measures.items(), *test.pooled.items())
        if quantity.value is not None
    ]
    found = run(
        page, "rule.write", [[published(q), False, "yes" if name == "iso_speed" else ""] for name, q in figures]
    )
    other = [
        (name, format_quantity(quantity).plain, text)
        for (name, quantity), text in zip(figures, found, strict=True)
        if [(told := format_quantity(quantity)).value, told.spread, told.rounds] != text
    ]

    assert len(figures) > 400
    assert other == []


def published(quantity: Quantity) -> Mapping[str, object]:
    return quantity_json(quantity)
