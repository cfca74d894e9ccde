"""A stock's page: the order of its story, the list of what it holds, and an address for all that can be cited."""

from collections.abc import Mapping
from posixpath import dirname, normpath
from xml.etree.ElementTree import Element

import pytest

from basefog.picture import list_charts
from basefog.publish.pages import plan_pages
from basefog.publish.theme import load_theme
from publish.page_checks import elements, parse_strictly, text_of
from publish.page_series import THEME_FOLDER
from publish.test_charts_on_pages import ADDRESSES, KEY, whole

STORY = (
    "verdict",
    "curve",
    "tones",
    "patches",
    "views",
    "grain",
    "sharpness",
    "printing",
    "on-paper",
    "contrast-time",
    "measures",
    "frames",
    "departures",
    "remarks",
    "set-up",
    "notes",
    "video",
    "questions",
    "history",
    "downloads",
)
HOME = f"stocks/{KEY}/index.html"


@pytest.fixture(scope="module")
def trees() -> Mapping[str, Element]:
    """Return the pages of a test that has every chart: the stock's, its own and the comparison's."""
    series, findings = whole()
    for job in plan_pages(series, findings, theme=load_theme(THEME_FOLDER)):
        if set(ADDRESSES) & set(job.outputs):
            made = job.make(**job.inputs)
            return {address: parse_strictly(made[address]) for address in ADDRESSES}
    raise AssertionError("no job makes the pages")


def ids_of(tree: Element) -> list[str]:
    return [element.get("id", "") for element in tree.iter() if element.get("id")]


def with_class(tree: Element, name: str) -> list[Element]:
    return [element for element in tree.iter() if name in (element.get("class") or "").split()]


@pytest.mark.parametrize("address", ADDRESSES)
def test_the_list_at_the_top_leads_through_the_sections_in_their_order(
    trees: Mapping[str, Element], address: str
) -> None:
    """Every section is listed once, in the order of the page, by the address of its heading."""
    tree = trees[address]
    [contents] = with_class(tree, "contents")
    listed = [link.get("href", "") for link in elements(contents, "a")]
    headings = [f"#{heading.get('id')}" for section in elements(tree, "section") for heading in elements(section, "h2")]

    assert listed == headings
    assert all(text_of(link) for link in elements(contents, "a"))


def test_the_story_is_told_in_order(trees: Mapping[str, Element]) -> None:
    """From what was found, through what shows it, to what was not by the protocol, what was asked and the data."""
    tree = trees["stocks/tern-100/index.html"]
    told = [(section.get("aria-labelledby") or "").removesuffix("-title") for section in elements(tree, "section")]

    assert told == [part for part in STORY if part in told]
    assert len(told) >= 15


@pytest.mark.parametrize("address", ADDRESSES)
def test_what_can_be_cited_has_an_address_that_lasts(trees: Mapping[str, Element], address: str) -> None:
    """Each measure, had or missing, patch, view and chart leads to its lasting address and to its file."""
    _, findings = whole()
    tree = trees[address]
    rows = {
        row.get("id")
        for table in ("measures", "patches")
        for part in with_class(tree, table)
        for row in elements(part, "tr")
        if row.get("id")
    }
    missing = {link.get("id") for part in with_class(tree, "missing") for link in elements(part, "a") if link.get("id")}
    views = {view.get("id") for view in with_class(tree, "view")}
    charts = set(list_charts(findings.tests[KEY]))
    links: dict[str, str] = {}
    for element in [*with_class(tree, "handles"), *with_class(tree, "files")]:
        first, *others = elements(element, "a")
        path, _, anchor = (first.get("href") or "").partition("#")
        assert normpath(f"{dirname(address)}/{path}") == HOME
        assert (first.get("aria-label") or "").startswith("Link to this: ")
        assert any(normpath(f"{dirname(address)}/{link.get('href')}").startswith(f"data/{KEY}") for link in others)
        links[anchor] = (first.get("aria-label") or "").removeprefix("Link to this: ")

    assert set(links) == rows | missing | views | charts
    assert missing
    assert len(set(links.values())) == len(links)
    assert set(links) <= set(ids_of(trees[HOME]))


def test_a_page_of_the_current_test_says_that_its_link_leads_to_the_lasting_one(trees: Mapping[str, Element]) -> None:
    """On the test's own page the address is the page's; elsewhere the reader is told that the next test shows here.

    Each chart's link says so itself; of the rows of measures the table's caption does.
    """
    for tree in trees.values():
        assert any("whose address never changes" in text_of(caption) for caption in elements(tree, "caption"))
    titles = {
        address: {elements(part, "a")[0].get("title") for part in with_class(trees[address], "files")}
        for address in ADDRESSES
    }

    assert titles[HOME] == {"This address never changes"}
    for address in set(ADDRESSES) - {HOME}:
        [title] = titles[address]
        assert title == (
            "On the permanent page of the test of 1 April 2026, whose address never changes: "
            "the next test will show here"
        )


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_chart_has_its_figures_in_a_table(trees: Mapping[str, Element], address: str) -> None:
    """Whoever can't see a chart finds its numbers in the same section, with headings to every column."""
    for section in elements(trees[address], "section"):
        for figure in elements(section, "figure"):
            if figure.get("class") != "chart":
                continue
            tables = [table for table in elements(section, "table") if len(elements(table, "tr")) > 1]
            assert tables, figure.get("id")
            assert all(
                heading.get("scope") in {"col", "row"} for table in tables for heading in elements(table, "th")
            ), figure.get("id")


@pytest.mark.parametrize("address", ADDRESSES)
def test_where_values_are_read_off_there_is_room_for_them(trees: Mapping[str, Element], address: str) -> None:
    """Each chart that is drawn into the page has one place for its readings, empty until a script fills it."""
    for figure in elements(trees[address], "figure"):
        if figure.get("class") == "chart":
            places = with_class(figure, "reading")
            drawn = elements(figure, "{http://www.w3.org/2000/svg}svg")
            assert len(places) == len(drawn), figure.get("id")
            assert all(text_of(place) == "" for place in places)
