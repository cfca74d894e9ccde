"""The pages of the demo series: all say that its data are invented, and none is heavy or broken."""

import gzip
import re
from collections.abc import Mapping
from pathlib import Path
from posixpath import dirname, join, normpath
from typing import Any

import pytest

from basefog.judge import find_findings
from basefog.publish.data import plan_data
from basefog.publish.data.test_json import render_test_json
from basefog.publish.pages import plan_pages
from basefog.publish.pages.plan import make_test_pages
from basefog.publish.theme import load_theme
from basefog.read import read_series
from basefog.records.content import Series
from basefog.records.findings import Findings
from basefog.records.vocabulary import MEASURE_BY_ID
from publish.data_checks import faults_of_data
from publish.page_checks import elements, faults_of_page, parse_strictly, text_of
from publish.page_series import THEME_FOLDER
from small_sites import make_all

CONTENT = Path(__file__).parents[2] / "content"


@pytest.fixture(scope="module")
def demo() -> tuple[Series, Findings]:
    series = read_series(CONTENT).series
    assert series is not None
    return series, find_findings(series, {})


@pytest.fixture(scope="module")
def files(demo: tuple[Series, Findings]) -> Mapping[str, bytes]:
    """All pages but those of most tests, whose charts take their time: the reference's and one other stock's."""
    made: dict[str, bytes] = {}
    for job in plan_pages(*demo, theme=load_theme(THEME_FOLDER)):
        if job.make is make_test_pages and not job.outputs[0].startswith(
            ("stocks/corvane-200/2026-03", "stocks/mossend-100/")
        ):
            continue
        made |= job.make(**job.inputs)
    return made


def test_every_page_says_that_the_data_are_invented(files: Mapping[str, bytes]) -> None:
    """Nobody takes a demo page for a test of a real film."""
    pages = [name for name in files if name.endswith(".html")]

    assert len(pages) > 25
    for name in pages:
        assert "invented" in text_of(elements(parse_strictly(files[name]), "footer")[0]), name


def test_no_sentence_has_a_bracket_within_a_bracket(files: Mapping[str, bytes]) -> None:
    """On every page of the demo, in paragraphs, cells, lists and headings."""
    nested = [
        (name, text_of(element))
        for name, data in sorted(files.items())
        if name.endswith(".html")
        for kind in ("p", "li", "dd", "td", "th", "h1", "h2", "h3", "figcaption")
        for element in elements(parse_strictly(data), kind)
        if re.search(r"\([^()]*\([^()]*\)", text_of(element))
    ]

    assert nested == []


def test_one_number_has_one_error(demo: tuple[Series, Findings], files: Mapping[str, bytes]) -> None:
    """What stands after the sign in a page's table of measures is the half width that the data publish."""
    series, findings = demo
    data = {
        test.key: render_test_json(series, test, findings.tests[test.key], ())
        for stock in series.stocks
        for test in stock.tests
    }
    checked = 0
    for slug in ("mossend-100", "corvane-200"):
        key = f"{slug}/{series.stock(slug).current}"
        address = f"stocks/{slug}/index.html" if slug == "mossend-100" else f"stocks/{key}/index.html"
        if address not in files:
            continue
        halves = halves_of(data[key]) | halves_of(data[str(findings.reference)])
        for row in elements(parse_strictly(files[address]), "tr"):
            spreads = [text_of(span) for span in elements(row, "span") if span.get("class") == "spread"]
            for spread in spreads if row.get("id") in MEASURE_BY_ID else ():
                number = re.match(r"± ([\d.]+)", spread)
                assert number is not None, spread
                assert (row.get("id"), float(number[1])) in halves, (address, row.get("id"), spread)
                checked += 1

    assert checked > 30


def halves_of(test: Any) -> set[tuple[str, float]]:
    """Return every published half width of a test with its measure."""
    return {
        (name, part["half"])
        for group in ("measures", "pooled", "against_reference")
        for name, part in test.get(group, {}).items()
        if "half" in part
    }


def test_every_page_keeps_the_rules_of_all_pages(files: Mapping[str, bytes]) -> None:
    """Strict HTML, one h1, no inline style, no page above 120 KB, no stray words."""
    faults = [
        fault for name, data in sorted(files.items()) if name.endswith(".html") for fault in faults_of_page(name, data)
    ]

    assert faults == []


@pytest.mark.parametrize("address", ["stocks/mossend-100/index.html", "compare/mossend-100/index.html", "index.html"])
def test_a_page_is_light(files: Mapping[str, bytes], address: str) -> None:
    """With its styles, scripts and charts, pictures left out, a page takes less than 120 KB, compressed as hosts do."""
    tree = parse_strictly(files[address])
    named = [element.get(name) or "" for element in tree.iter() for name in ("href", "src") if element.tag != "a"]
    parts = {normpath(join(dirname(address), name)) for name in named if name.endswith((".css", ".js", ".svg"))}
    sizes = {part: len(gzip.compress(files[part])) for part in (address, *parts)}

    assert len(sizes) > 5
    assert sum(sizes.values()) < 120_000, sizes


def test_all_published_data_keep_their_schemas(demo: tuple[Series, Findings]) -> None:
    """Every file of a whole series, as computed from real tables, is as its own descriptor and schema say."""
    series, findings = demo
    made = make_all(plan_data(series, findings, series_folder=CONTENT))

    assert faults_of_data(made) == []


def test_a_retested_stock_tells_what_moved(files: Mapping[str, bytes]) -> None:
    """The history names the reason of the retest and says of each measure whether it moved by more than error."""
    history = files["stocks/corvane-200/history/index.html"].decode()

    assert "Why:" in history
    assert "What moved" in history
