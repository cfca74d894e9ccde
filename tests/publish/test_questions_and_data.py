"""Questions by date and by stock with what they lead to, and the data page's files, letters and citations."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from xml.etree.ElementTree import Element

import pytest

from basefog.publish.pages.frame import Link, frame_of
from basefog.publish.pages.page_of_data import cite_series, cite_test, page_of_data
from basefog.publish.pages.page_of_questions import comparisons_of, newest_first, page_of_question, page_of_questions
from basefog.publish.theme import load_theme
from basefog.records.content import Edition, Series
from basefog.records.problem import Place
from publish.invented import FORMULA_NAME, make_findings, make_question, make_series, make_stock
from publish.page_checks import elements, parse_strictly, text_of
from publish.page_series import THEME_FOLDER, make_pages, richer_series


@pytest.fixture(scope="module")
def files() -> Mapping[str, bytes]:
    return make_pages(richer_series(), load_theme(THEME_FOLDER))


def series_asked() -> Series:
    """Return a series with a third tested stock and three questions: answered early, still open, answered late."""
    series = make_series()
    late = replace(
        make_question("late", title="Question late", answered=date(2026, 6, 1)), stocks=("tern-100", "larch-50")
    )
    early = replace(
        make_question("early", title="Question early", answered=date(2026, 1, 5)), stocks=("marl-400", "tern-100")
    )
    open_ = replace(
        make_question("open", title="Question open", answered=None),
        asked=date(2026, 4, 2),
        stocks=("knot-50", "tern-100"),
    )
    larch = make_stock("larch-50", "Larch 50", ("2026-03-03",))
    return replace(series, stocks=(*series.stocks, larch), questions=(early, open_, late))


def links_of(element: Element) -> list[str]:
    return [str(link.get("href")) for link in elements(element, "a")]


def test_questions_are_listed_newest_first() -> None:
    """A question counts from its answer, or from when it was asked while it is open."""
    assert [question.slug for question in newest_first(series_asked())] == ["late", "open", "early"]


def test_questions_are_listed_by_stock_too() -> None:
    """Each stock that was asked about has its questions, newest first; stocks that nobody asked about have no entry."""
    series = series_asked()
    listed = page_of_questions(series, make_findings(series)).by_stock

    assert [(about.stock.label, [line.question.label for line in about.questions]) for about in listed] == [
        (FORMULA_NAME, ["Question late", "Question open", "Question early"]),
        ("Knot 50", ["Question open"]),
        ("Larch 50", ["Question late"]),
        ("Marl 400", ["Question early"]),
    ]


def test_a_question_leads_to_its_neighbours_and_to_those_on_the_same_stocks() -> None:
    """The newest has nothing newer; a question about none of its stocks is no other."""
    series = series_asked()
    view = page_of_question(series, make_findings(series), series.questions[2])

    assert view.newer is None
    assert view.older == Link(label="Question open", address="questions/open/index.html")
    assert [other.label for other in view.others] == ["Question open", "Question early"]


def test_two_stocks_of_a_question_are_linked_side_by_side() -> None:
    """With the reference that is the page against it, whatever their order; else both are named in the address."""
    series = series_asked()
    early, open_, late = (comparisons_of(series, question) for question in series.questions)

    assert early == (Link(label=f"{FORMULA_NAME} and Marl 400", address="compare/tern-100/index.html"),)
    assert open_ == ()  # one of the two was never tested
    assert [pair.address for pair in late] == ["compare/index.html#a=tern-100&b=larch-50"]


def test_the_list_tells_what_each_question_is_about(files: Mapping[str, bytes]) -> None:
    """A line has its days, how its answer begins, and its stocks; an open one says that it is."""
    page = parse_strictly(files["questions/index.html"])
    lines = {text_of(elements(item, "h3")[0]): item for item in elements(page, "li") if elements(item, "h3")}
    answered, still_open = lines["Is Tern finer?"], lines["And is it sharper?"]

    assert "answered 20 April 2026" in text_of(answered)
    assert "It is 0.612 ± 0.011" in text_of(answered).replace("\u00a0", " ")
    assert "../stocks/tern-100/index.html" in links_of(answered)
    assert "not yet answered" in text_of(still_open)


def test_the_data_page_tells_every_file(files: Mapping[str, bytes]) -> None:
    """Files of the series, schemas and each test's files are linked, and each link says what it leads to."""
    page = parse_strictly(files["data/index.html"])
    links = set(links_of(page))

    assert {"series.zip", "summary.csv", "summary.json", "series.json", "measures.json", "datapackage.json"} <= links
    assert {f"schema/{name}.json" for name in ("measures", "series", "summary", "test")} <= links
    assert {"marl-400/2026-03-14.json", "marl-400/2026-03-14/readings.csv"} <= links
    assert "marl-400/2026-03-14/curve.csv" not in links  # that test has none
    words = [text_of(link) for link in elements(page, "a") if str(link.get("href")).endswith((".json", ".csv"))]
    assert len(words) == len(set(words))
    assert "JSON of Marl 400, 14 March 2026" in words


def test_letters_come_with_a_long_list_only() -> None:
    """From forty stocks on there is a row of letters, each at the first stock that begins with it."""
    few = make_series()
    more = tuple(make_stock(f"alder-{n}", f"Alder {n}", ("2026-03-03",)) for n in range(40))
    many = replace(few, stocks=tuple(sorted((*few.stocks, *more), key=lambda stock: stock.slug)))

    assert page_of_data(few, make_findings(few), frame_of(few)).letters == ()
    view = page_of_data(many, make_findings(many), frame_of(many))
    assert view.letters == ("=", "A", "G", "M")
    assert [stock.stock.label for stock in view.stocks if stock.letter] == [
        FORMULA_NAME,
        "Alder 0",
        "Gull 25",
        "Marl 400",
    ]


def test_a_citation_names_author_title_state_address_and_licence() -> None:
    """The state is the newest edition, or the newest test; what the series does not say is left out."""
    series = make_series()
    edition = Edition(number=3, date=date(2026, 6, 9), note="", inputs=(), place=Place(path="editions/3.yaml"))

    assert cite_series(series, frame_of(series)) == (
        "M. Osei: Lantern Yard: “trials”. Newest test of 2 May 2026. https://trials.example.org/. CC-BY-4.0."
    )
    dated = replace(series, editions=(edition,), author=None, licence=None, address=None)
    assert cite_series(dated, frame_of(dated)) == "Lantern Yard: “trials”. Edition 3, 9 June 2026."
    assert cite_test(series, frame_of(series)) == (
        "M. Osei: Marl 400, test of 2 May 2026. In: Lantern Yard: “trials”. "
        "https://trials.example.org/stocks/marl-400/2026-05-02/. CC-BY-4.0."
    )
    untested = replace(series, stocks=tuple(replace(stock, current=None) for stock in series.stocks))
    assert cite_test(untested, frame_of(untested)) == ""
