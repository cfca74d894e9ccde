"""The feed is valid Atom, its dates are the content's, its ids stay; the sitemap lists what stands at an address."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from lxml import etree

from basefog.publish.feed import plan_feed
from basefog.publish.pages.verdict import verdict_of
from basefog.publish.sitemap import plan_sitemap
from basefog.publish.theme import load_theme
from basefog.records.content import Series
from publish.invented import FORMULA_NAME, make_findings, make_series
from publish.page_series import THEME_FOLDER, make_pages, richer_series
from small_sites import make_all

ATOM = "{http://www.w3.org/2005/Atom}"
SITEMAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"


@pytest.fixture(scope="module")
def grammar() -> etree.RelaxNG:
    return etree.RelaxNG(etree.parse(Path(__file__).parent / "standards" / "atom.rng"))


def feed_of(series: Series) -> etree._Element:
    return etree.fromstring(make_all(plan_feed(series, make_findings(series)))["feed.xml"])


def texts(feed: etree._Element, path: str) -> list[str]:
    return [element.text or "" for element in feed.findall(path.replace("a:", ATOM))]


@pytest.mark.parametrize("address", ["https://trials.example.org/", None])
def test_the_feed_is_valid_by_rfc_4287(grammar: etree.RelaxNG, address: str | None) -> None:
    """Valid by the RELAX NG schema of RFC 4287, appendix B, with an address and without."""
    feed = feed_of(make_series(address))

    assert grammar.validate(feed), grammar.error_log


def test_a_series_that_names_little_has_a_valid_feed(grammar: etree.RelaxNG) -> None:
    """No author, no licence, no description, no test: RFC 4287 still wants an author and a date."""
    series = replace(make_series(), author=None, licence=None, description=None, stocks=(), questions=())

    feed = feed_of(series)

    assert grammar.validate(feed), grammar.error_log
    assert texts(feed, "a:author/a:name") == [series.title]
    assert texts(feed, "a:updated") == ["1970-01-01T00:00:00Z"]


def test_the_grammar_refuses_a_feed_without_an_id(grammar: etree.RelaxNG) -> None:
    """The check above can fail."""
    feed = feed_of(make_series())
    feed.remove(feed.find(f"{ATOM}id"))

    assert not grammar.validate(feed)


def test_the_feed_tells_tests_retests_and_answers_newest_first() -> None:
    """One entry each, dated by the content; an open question is not told."""
    feed = feed_of(make_series())

    assert texts(feed, "a:entry/a:title") == [
        "Marl 400: retest of 2026-05-02",
        "Is Tern finer?",
        f"{FORMULA_NAME}: test of 2026-04-01-b",
        "Marl 400: test of 2026-03-14",
        "Gull 25: test of 2026-02-01",
    ]
    assert texts(feed, "a:entry/a:updated") == [
        f"2026-{day}T00:00:00Z" for day in ("05-02", "04-20", "04-01", "03-14", "02-01")
    ]
    assert texts(feed, "a:updated") == ["2026-05-02T00:00:00Z"]
    assert [element.get("term") for element in feed.iter(f"{ATOM}category")] == [
        "retest",
        "answer",
        "test",
        "test",
        "test",
    ]


def test_summaries_say_what_the_pages_say() -> None:
    """A test says its verdict as its page does; a retest why it was done; an answer its words."""
    series = make_series()

    retest, answer, tern, _, gull = texts(feed_of(series), "a:entry/a:summary")

    assert tern.startswith("Exposed at EI 400, developed for 8.5 minutes. Against Marl 400: ")
    assert verdict_of(series, make_findings(series), series.stock("tern-100").tests[0]).lead in tern
    assert "This is the reference" in retest
    assert answer == "Yes."
    assert "It replaces the test of 2026-03-14: The camera moved <between> frames & rolls." in retest
    assert gull.endswith("Withdrawn: The wrong developer was used.")


def test_ids_are_the_permanent_addresses() -> None:
    """They are the canonical addresses of the pages, so an entry keeps its id as long as its page."""
    feed = feed_of(make_series())

    ids = texts(feed, "a:entry/a:id")
    assert ids[0] == "https://trials.example.org/stocks/marl-400/2026-05-02/"
    assert ids[1] == "https://trials.example.org/questions/grain/"
    assert texts(feed, "a:id") == ["https://trials.example.org/"]
    assert feed.find(f"{ATOM}link[@rel='self']").get("href") == "https://trials.example.org/feed.xml"


def test_without_an_address_ids_are_urns_that_stay() -> None:
    """RFC 4122 name-based ids: the same from run to run, each its own, not those of another series."""
    series = make_series(None)
    feed = feed_of(series)
    ids = texts(feed, "a:entry/a:id") + texts(feed, "a:id")
    other = feed_of(replace(series, title="Another yard"))

    assert {urlsplit(item).scheme for item in ids} == {"urn"}
    assert len(set(ids)) == len(ids) == 6
    # uuid5(NAMESPACE_URL, name) of Python's own library, taken once: a snapshot that must never change.
    assert texts(feed, "a:id") == ["urn:uuid:d583a2d8-4549-504f-9203-64cd999fb6af"]
    assert not set(ids) & set(texts(other, "a:entry/a:id"))
    assert feed.find(f"{ATOM}entry/{ATOM}link").get("href") == "stocks/marl-400/2026-05-02/index.html"


def test_a_new_test_leaves_the_ids_of_the_old() -> None:
    """Nothing is told twice when something is added."""
    series = make_series()
    fewer = replace(series, stocks=tuple(stock for stock in series.stocks if stock.slug != "gull-25"))

    assert set(texts(feed_of(fewer), "a:entry/a:id")) < set(texts(feed_of(series), "a:entry/a:id"))


def test_control_characters_never_break_the_feed(grammar: etree.RelaxNG) -> None:
    """XML has no place for them: they are left out."""
    series = make_series()
    question = replace(series.questions[0], title="a\x00b\x1b\ufffe<c>&", answered=date(2026, 6, 1))

    feed = feed_of(replace(series, questions=(question,)))

    assert grammar.validate(feed)
    assert texts(feed, "a:entry/a:title")[0] == "ab<c>&"


def test_the_sitemap_lists_each_page_that_is_its_own_canonical_one() -> None:
    """All pages, comparisons too; not the 404 page, nor a page that only leads on, nor what is no page."""
    series = richer_series()
    files = make_pages(series, load_theme(THEME_FOLDER))
    canonical = re.compile(rb'<link rel="canonical" href="([^"]+)">')
    expected = {
        address.decode()
        for name, data in files.items()
        for address in canonical.findall(data)
        if name != "404.html" and b'content="noindex"' not in data
    }

    jobs = plan_sitemap(series, reversed(files))
    sitemap = etree.fromstring(make_all(jobs)["sitemap.xml"])
    listed = [element.text for element in sitemap.iter(f"{SITEMAP}loc")]

    assert sorted(listed) == sorted(expected)
    assert "https://trials.example.org/compare/tern-100/" in listed
    assert "https://trials.example.org/stocks/" not in listed


def test_without_an_address_there_is_no_sitemap() -> None:
    """A sitemap holds full addresses (sitemaps.org, protocol, from memory)."""
    assert plan_sitemap(make_series(None), ["index.html"]) == ()
