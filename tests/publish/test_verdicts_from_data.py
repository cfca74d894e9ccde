"""Anyone can work out a verdict again from the published data alone; and pages show the numbers that the data hold."""

import json
import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from basefog.judge import find_findings
from basefog.publish.data import plan_data
from basefog.publish.pages import plan_pages
from basefog.publish.theme import load_theme
from basefog.read import read_series
from basefog.records.content import Series
from basefog.records.findings import Findings
from publish.data_checks import faults_of_data
from publish.page_checks import elements, faults_of_page, parse_strictly, text_of
from publish.page_series import THEME_FOLDER
from publish.repeated_series import TESTS, write_repeated_series
from small_sites import make_all

NORMAL = 1.959964
REFERENCE = "fell-100"
STOP = math.log10(2)
OTHERS = sorted(set(TESTS) - {REFERENCE})


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_repeated_series(tmp_path_factory.mktemp("repeats"))


@pytest.fixture(scope="module")
def found(folder: Path) -> tuple[Series, Findings]:
    series = read_series(folder).series
    assert series is not None
    return series, find_findings(series, {})


@pytest.fixture(scope="module")
def files(found: tuple[Series, Findings], folder: Path) -> Mapping[str, bytes]:
    return make_all(plan_data(*found, series_folder=folder))


@pytest.fixture(scope="module")
def pages(found: tuple[Series, Findings]) -> Mapping[str, bytes]:
    made: dict[str, bytes] = {}
    for job in plan_pages(*found, theme=load_theme(THEME_FOLDER)):
        made |= job.make(**job.inputs)
    return {name: data for name, data in made.items() if name.endswith(".html")}


def load(files: Mapping[str, bytes], stock: str) -> Any:
    """Return the published JSON of a stock's current test."""
    return json.loads(files[f"data/{stock}/{TESTS[stock][-1]}.json"])


def figure_of(test: Any, measure: str) -> Any:
    """Return the stock's figure: the mean over its repeats where there is one."""
    return test.get("pooled", {}).get(measure) or test["measures"][measure]


def work_out(this: Any, other: Any, u_density: Mapping[str, float], *, per_unit: float = 1.0) -> tuple[float, float]:
    """Return the difference of two published figures and its variance, by measures.md, "Verdicts".

    Speeds count in log10. `per_unit`, the figures' unit in the difference's.
    """
    values, alone, wedges, slopes, ids = [], 0.0, [], [], []
    for figure in (this, other):
        exact = figure.get("exact")
        scale = per_unit / (exact * math.log(10)) if exact else per_unit
        values.append(math.log10(exact) * per_unit if exact else figure["value"] * per_unit)
        alone += (figure["from_readings"] / NORMAL * scale) ** 2
        alone += (figure.get("scatter", 0.0) * scale) ** 2 / figure.get("tests", 1)
        # A density of unexposed film owes nothing to the wedge.
        wedge = figure.get("from_wedge", {"id": "", "half": 0.0, "by_step": {}})
        ids.append(wedge["id"])
        slopes.append({step: slope * scale for step, slope in wedge["by_step"].items()})
        wedges.append((wedge["half"] / NORMAL * scale) ** 2)
    assert ids[0] == ids[1]
    common = sum(slopes[0].get(step, 0.0) * slopes[1].get(step, 0.0) * u**2 for step, u in u_density.items())
    shared = wedges[0] + wedges[1] - 2 * min(common, *wedges)
    # One lamp: its error is the same in both, and cancels.
    lamps = [figure.get("from_lamp", {}) for figure in (this, other)]
    assert lamps[0].get("lux_s") == lamps[1].get("lux_s")
    return values[0] - values[1], alone + max(0.0, shared)


def told(files: Mapping[str, bytes]) -> Iterator[tuple[str, str, Any, Any, Any]]:
    """Yield every published verdict: stock, measure, verdict, both figures."""
    reference = load(files, REFERENCE)
    for stock in OTHERS:
        test = load(files, stock)
        for measure, verdict in test["against_reference"].items():
            if verdict["difference"] is None:
                continue
            this, other = figure_of(test, measure), figure_of(reference, measure)
            if "of_reference" in this:
                # What was subtracted already brings its own error, and scatters as this does.
                other = {"value": other["value"], "tests": other.get("tests", 1), **this["of_reference"]}
                other |= {"scatter": this["scatter"]} if "scatter" in this else {}
            yield stock, measure, verdict, this, other


def test_every_verdict_can_be_worked_out_from_the_published_data_alone(files: Mapping[str, bytes]) -> None:
    """Difference, interval, verdict and firmness, from values, error parts and factors as published, to rounding."""
    measures = json.loads(files["data/measures.json"])
    by_id = {measure["id"]: measure for measure in measures["measures"]}
    u_density = measures["wedges"]["contact-21"]
    checked = 0
    for stock, measure, verdict, this, other in told(files):
        per_unit = 1 / STOP if "exact" in this else 1.0
        difference, variance = work_out(this, other, u_density, per_unit=per_unit)
        factors = by_id[measure]["factors"]
        half = factors["student"] * math.sqrt(variance)
        digit = 10.0 ** -len(f"{verdict['half']}".partition(".")[2])
        # Both values are rounded to a digit beyond their uncertainty.
        rounding = 2 * digit
        name = f"{stock} {measure}"
        assert difference == pytest.approx(verdict["difference"], abs=rounding), name
        assert half == pytest.approx(verdict["half"], rel=0.01, abs=digit / 2), name
        assert verdict["half"] == pytest.approx(verdict["could_see"]), name
        if abs(abs(difference) - half) > rounding + 0.01 * half:
            word = "no measurable difference" if abs(difference) <= half else "higher" if difference > 0 else "lower"
            assert verdict["verdict"] == word, name
        firm_from = factors["dunnett"] * math.sqrt(variance)
        if abs(abs(difference) - firm_from) > rounding + 0.01 * firm_from:
            assert verdict["firm"] == (abs(difference) > firm_from), name
        checked += 1

    assert checked >= 4 * 8
    assert {verdict["verdict"] for _, _, verdict, _, _ in told(files)} == {
        "higher",
        "lower",
        "no measurable difference",
    }
    assert {verdict["firm"] for _, _, verdict, _, _ in told(files)} == {True, False}


def test_the_speed_in_stops_follows_from_the_speed_points(files: Mapping[str, bytes]) -> None:
    """Its difference and error are those of the two published speed points, the sign turned."""
    measures = json.loads(files["data/measures.json"])
    [factors] = [one["factors"] for one in measures["measures"] if one["id"] == "speed_from_reference"]
    reference = load(files, REFERENCE)
    for stock in OTHERS:
        test = load(files, stock)
        verdict = test["against_reference"]["speed_from_reference"]
        other, this = (figure_of(one, "speed_point") for one in (reference, test))
        difference, variance = work_out(other, this, measures["wedges"]["contact-21"], per_unit=1 / STOP)

        assert difference == pytest.approx(verdict["difference"], abs=0.006)
        assert factors["student"] * math.sqrt(variance) == pytest.approx(verdict["half"], rel=0.03, abs=0.001)


def test_the_parts_are_needed(files: Mapping[str, bytes]) -> None:
    """The wedge's part cancels whole of a film against itself and in part between films; the lamp's always."""
    measures = json.loads(files["data/measures.json"])
    reference = figure_of(load(files, REFERENCE), "speed_point")
    left = {}
    for stock in OTHERS:
        this = figure_of(load(files, stock), "speed_point")
        _, with_wedge = work_out(this, reference, measures["wedges"]["contact-21"])
        _, without = work_out(this, reference, dict.fromkeys(measures["wedges"]["contact-21"], 0.0))
        left[stock] = without - with_wedge
        assert this["from_lamp"]["half"] > 0.02

    of_wedge = (reference["from_wedge"]["half"] / NORMAL) ** 2
    assert max(abs(cancelled) for cancelled in left.values()) > 0.05 * of_wedge
    _, itself = work_out(reference, reference, measures["wedges"]["contact-21"])
    _, apart = work_out(reference, reference, dict.fromkeys(measures["wedges"]["contact-21"], 0.0))
    assert apart - itself == pytest.approx(2 * of_wedge, rel=0.01)


def test_counts_say_what_the_error_holds(files: Mapping[str, bytes]) -> None:
    """Readings, the wedge and the repeats' scatter; the lamp where log H or a speed hangs on it."""
    test = load(files, "wold-400")["against_reference"]

    assert test["average_gradient"]["counts"] == ["reading", "wedge", "repeats"]
    assert test["speed_point"]["counts"] == ["reading", "wedge", "lamp", "repeats"]
    assert load(files, REFERENCE)["against_reference"] == {}
    assert load(files, REFERENCE)["pooled"]["average_gradient"]["tests"] == 3


def test_the_data_keep_their_schemas(files: Mapping[str, bytes]) -> None:
    """A series of real findings with every new member is valid by the schemas it publishes."""
    assert faults_of_data(files) == []


def test_pages_show_the_half_width_that_the_data_hold(files: Mapping[str, bytes], pages: Mapping[str, bytes]) -> None:
    """Every figure after a plus-minus sign in the table of measures of every stock's page is a published half width."""
    checked = 0
    for stock in TESTS:
        test = load(files, stock)
        halves: dict[str, set[float]] = {
            measure: {
                float(part["half"])
                for part in (
                    test["measures"].get(measure, {}),
                    test.get("pooled", {}).get(measure, {}),
                    load(files, REFERENCE)["measures"].get(measure, {}),
                    load(files, REFERENCE)["pooled"].get(measure, {}),
                    test["against_reference"].get(measure, {}),
                )
                if "half" in part
            }
            for measure in test["measures"]
        }
        page = parse_strictly(pages[f"stocks/{stock}/index.html"])
        rows = [row for row in elements(page, "tr") if row.get("id") in halves]
        for row in rows:
            spreads = [text_of(span) for span in elements(row, "span") if span.get("class") == "spread"]
            for number in [found[1] for spread in spreads if (found := re.match(r"± ([\d.]+)", spread))]:
                assert float(number) in halves[str(row.get("id"))], (stock, row.get("id"), number)
                checked += 1

    assert checked > 60


def test_no_sentence_has_a_bracket_within_a_bracket(pages: Mapping[str, bytes]) -> None:
    """On every page of the series, in paragraphs, cells and lists."""
    nested = [
        (name, text_of(element))
        for name, data in pages.items()
        for kind in ("p", "li", "dd", "td", "th", "h1", "h2", "figcaption")
        for element in elements(parse_strictly(data), kind)
        if re.search(r"\([^()]*\([^()]*\)", text_of(element))
    ]

    assert nested == []


def test_what_is_open_is_listed(pages: Mapping[str, bytes]) -> None:
    """The page of what is open stands where the series wants it, keeps the rules of all pages and leads to verdicts."""
    data = pages["open/index.html"]
    page = parse_strictly(data)

    assert faults_of_page("open/index.html", data) == []
    assert "about half the time" in text_of(page)
    links = [str(link.get("href")) for link in elements(page, "a")]
    assert any(re.fullmatch(r"\.\./stocks/[a-z0-9-]+/index\.html#[a-z0-9_]+", link) for link in links)
    assert "More tests" not in text_of(page)
