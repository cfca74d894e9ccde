"""The Atom feed (RFC 4287) of tests, retests and answers; every date comes from the content."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from xml.etree import ElementTree as ET

from basefog.publish.addresses import address_of_question, address_of_test, canonical_address
from basefog.publish.pages.page_of_questions import summary_of_question
from basefog.publish.pages.verdict import verdict_of
from basefog.records.content import Question, Series, Stock, Test
from basefog.records.findings import Findings
from basefog.site import Job

FEED_ADDRESS = "feed.xml"
_ATOM = "http://www.w3.org/2005/Atom"
_XML = b'<?xml version="1.0" encoding="utf-8"?>\n'
_NO_DATE = date(1970, 1, 1)


@dataclass(frozen=True, kw_only=True, slots=True)
class FeedEntry:
    """One thing that happened in the series: when, what, where it stands, and a sentence or two."""

    day: date
    title: str
    address: str
    kind: str
    summary: str


def plan_feed(series: Series, findings: Findings) -> tuple[Job, ...]:
    """Return the job that makes the feed."""
    about = {
        "title": series.title,
        "site": series.address,
        "author": series.author or series.title,
        "language": series.language,
        "description": series.description,
        "licence": series.licence,
    }
    inputs = {"about": about, "entries": collect_entries(series, findings)}
    return (Job(outputs=(FEED_ADDRESS,), make=make_feed, inputs=inputs),)


def make_feed(*, about: Mapping[str, str | None], entries: tuple[FeedEntry, ...]) -> dict[str, bytes]:
    """Return the feed by its address."""
    return {FEED_ADDRESS: render_feed(about, entries)}


def collect_entries(series: Series, findings: Findings) -> tuple[FeedEntry, ...]:
    """Return what the feed tells, newest first: every test and every answered question."""
    entries = [_test_entry(series, findings, stock, test) for stock in series.stocks for test in stock.tests]
    entries += [
        _answer_entry(series, findings, question, question.answered)
        for question in series.questions
        if question.answered is not None
    ]
    return tuple(sorted(sorted(entries, key=lambda entry: entry.address), key=lambda entry: entry.day, reverse=True))


def render_feed(about: Mapping[str, str | None], entries: tuple[FeedEntry, ...]) -> bytes:
    """Return the feed as XML.

    Ids are the permanent addresses of the pages. A series without an address of its own gets `urn:uuid:` ids made of
    its title and those addresses: they stay while the title does.
    """
    feed = ET.Element("feed", {"xmlns": _ATOM, "xml:lang": about["language"] or "en"})
    _add(feed, "id", _identify(about, ""))
    _add(feed, "title", about["title"] or "")
    if about["description"]:
        _add(feed, "subtitle", about["description"])
    _add(feed, "updated", _instant(max((entry.day for entry in entries), default=_NO_DATE)))
    author = ET.SubElement(feed, "author")
    _add(author, "name", about["author"] or "")
    ET.SubElement(feed, "link", {"rel": "self", "type": "application/atom+xml", "href": _link(about, FEED_ADDRESS)})
    ET.SubElement(feed, "link", {"rel": "alternate", "type": "text/html", "href": _link(about, "index.html")})
    if about["licence"]:
        _add(feed, "rights", about["licence"])
    for entry in entries:
        _add_entry(feed, about, entry)
    ET.indent(feed, " ")
    return _XML + ET.tostring(feed, encoding="unicode").encode() + b"\n"


def _add_entry(feed: ET.Element, about: Mapping[str, str | None], entry: FeedEntry) -> None:
    element = ET.SubElement(feed, "entry")
    _add(element, "id", _identify(about, entry.address))
    _add(element, "title", entry.title)
    _add(element, "published", _instant(entry.day))
    _add(element, "updated", _instant(entry.day))
    ET.SubElement(element, "link", {"rel": "alternate", "type": "text/html", "href": _link(about, entry.address)})
    ET.SubElement(element, "category", {"term": entry.kind})
    _add(element, "summary", entry.summary)


def _test_entry(series: Series, findings: Findings, stock: Stock, test: Test) -> FeedEntry:
    retest = test.replaces is not None
    title = f"{stock.name}: retest of {test.id}" if retest else f"{stock.name}: test of {test.id}"
    sentences = [f"Exposed at EI {test.exposure_index:g}, developed for {test.developed.time_min:g} minutes."]
    if retest:
        sentences.append(_end(f"It replaces the test of {test.replaces}" + (f": {test.reason}" if test.reason else "")))
    if test.withdrawn is not None:
        sentences.append(_end(f"Withdrawn: {test.withdrawn}"))
    else:
        sentences.append(_say_verdict(series, findings, test))
    return FeedEntry(
        day=test.date,
        title=title,
        address=address_of_test(test),
        kind="retest" if retest else "test",
        summary=" ".join(sentence for sentence in sentences if sentence),
    )


def _answer_entry(series: Series, findings: Findings, question: Question, answered: date) -> FeedEntry:
    return FeedEntry(
        day=answered,
        title=question.title,
        address=address_of_question(question.slug),
        kind="answer",
        summary=summary_of_question(series, findings, question) or "A question was answered.",
    )


def _say_verdict(series: Series, findings: Findings, test: Test) -> str:
    """Return the verdict in the words of the test's own page."""
    verdict = verdict_of(series, findings, test)
    said = " ".join((verdict.lead, *verdict.more))
    return f"Against {verdict.against.label}: {said}" if verdict.against else said


def _end(sentence: str) -> str:
    return sentence if sentence.endswith((".", "!", "?")) else f"{sentence}."


def _identify(about: Mapping[str, str | None], address: str) -> str:
    if about["site"]:
        return canonical_address(about["site"], address)
    return uuid.uuid5(uuid.NAMESPACE_URL, f"basefog:{about['title']}:{address}").urn


def _link(about: Mapping[str, str | None], address: str) -> str:
    return canonical_address(about["site"], address) if about["site"] else address


def _instant(day: date) -> str:
    return f"{day.isoformat()}T00:00:00Z"


def _add(parent: ET.Element, name: str, text: str) -> None:
    ET.SubElement(parent, name).text = "".join(mark for mark in text if _is_xml(mark))


def _is_xml(mark: str) -> bool:
    """Return whether XML 1.0 can hold a character."""
    return mark in "\t\n\r" or "\x20" <= mark <= "\ud7ff" or "\ue000" <= mark <= "\ufffd" or mark >= "\U00010000"
