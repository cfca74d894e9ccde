"""Pages that are mostly words: questions, free pages, data, redirects, the page for addresses that are not there."""

import base64
import hashlib
from dataclasses import dataclass

from markupsafe import Markup

from basefog.publish.addresses import (
    address_of_free_page,
    address_of_question,
    address_of_stock,
    address_of_test,
    address_of_test_data,
)
from basefog.publish.pages.answers import Answers
from basefog.publish.pages.frame import Link, format_date
from basefog.publish.pages.page_index import addresses_of_pages
from basefog.publish.pages.prose import plain_prose, render_prose
from basefog.records.content import FreePage, Question, Series
from basefog.records.findings import Findings


@dataclass(frozen=True, kw_only=True, slots=True)
class QuestionPage:
    """Template variable `view` of `question.html`."""

    title: str
    asked: str
    answered: str
    stocks: tuple[Link, ...]
    answer: Markup
    summary: str
    others: tuple[Link, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class QuestionLine:
    """One question in the list."""

    question: Link
    asked: str
    answered: str
    stocks: tuple[str, ...]
    summary: str


@dataclass(frozen=True, kw_only=True, slots=True)
class QuestionsPage:
    """Template variable `view` of `questions.html`; newest first."""

    questions: tuple[QuestionLine, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class ProsePage:
    """Template variable `view` of `prose.html`, a page of the tester's own."""

    title: str
    prose: Markup
    summary: str


@dataclass(frozen=True, kw_only=True, slots=True)
class TestData:
    """The data files of one test."""

    test: Link
    current: bool
    files: tuple[Link, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class StockData:
    """The data files of one stock."""

    stock: Link
    tests: tuple[TestData, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class DataPage:
    """Template variable `view` of `data.html`."""

    files: tuple[Link, ...]
    stocks: tuple[StockData, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class RedirectPage:
    """Template variable `view` of `redirect.html`: an old address that leads to a new one."""

    to: Link


@dataclass(frozen=True, kw_only=True, slots=True)
class NotFoundPage:
    """Template variable `view` of `404.html`; `style` is the `page.css`, `style_digest` what a policy calls it."""

    stocks: tuple[Link, ...]
    style: Markup
    style_digest: str


def page_of_question(series: Series, findings: Findings, question: Question) -> QuestionPage:
    """Return the view-model of one question."""
    address = address_of_question(question.slug)
    answers = Answers(series=series, findings=findings, page=address)
    return QuestionPage(
        title=question.title,
        asked=format_date(question.asked) if question.asked else "",
        answered=format_date(question.answered) if question.answered else "",
        stocks=_links_of_stocks(series, question),
        answer=render_prose(question.prose, answers, page=address, home=address, known=addresses_of_pages(series)),
        summary=plain_prose(question.prose, answers),
        others=tuple(
            Link(label=other.title, address=address_of_question(other.slug))
            for other in series.questions
            if other.slug != question.slug and set(other.stocks) & set(question.stocks)
        ),
    )


def page_of_questions(series: Series, findings: Findings) -> QuestionsPage:
    """Return the list of questions, in the order of the series."""
    answers = Answers(series=series, findings=findings, page="questions/index.html")
    return QuestionsPage(
        questions=tuple(
            QuestionLine(
                question=Link(label=question.title, address=address_of_question(question.slug)),
                asked=format_date(question.asked) if question.asked else "",
                answered=format_date(question.answered) if question.answered else "",
                stocks=tuple(link.label for link in _links_of_stocks(series, question)),
                summary=plain_prose(question.prose, answers),
            )
            for question in series.questions
        )
    )


def page_of_prose(series: Series, findings: Findings, page: FreePage) -> ProsePage:
    """Return the view-model of a free page."""
    address = address_of_free_page(page.slug)
    answers = Answers(series=series, findings=findings, page=address)
    return ProsePage(
        title=page.title,
        prose=render_prose(
            page.prose, answers, page=address, home=address, known=addresses_of_pages(series), without_title=True
        ),
        summary=plain_prose(page.prose, answers),
    )


def page_of_data(series: Series, findings: Findings) -> DataPage:
    """Return the list of everything that can be downloaded."""
    files = (
        Link(label="Everything in one archive (ZIP)", address="data/series.zip"),
        Link(label="Summary, one row a stock (CSV)", address="data/summary.csv"),
        Link(label="Summary (JSON)", address="data/summary.json"),
        Link(label="The series: stocks, tests and their addresses (JSON)", address="data/series.json"),
        Link(label="Measures: names, units, definitions (JSON)", address="data/measures.json"),
        Link(label="Descriptor of the data package (JSON)", address="data/datapackage.json"),
    )
    stocks = []
    for stock in series.stocks:
        tests = []
        for test in reversed(stock.tests):
            files_of_test = [Link(label="JSON", address=address_of_test_data(test))]
            if findings.tests[test.key].curve is not None:
                files_of_test.append(Link(label="curve", address=address_of_test_data(test, "curve.csv")))
            files_of_test.append(Link(label="readings", address=address_of_test_data(test, "readings.csv")))
            tests.append(
                TestData(
                    test=Link(label=test.id, address=address_of_test(test)),
                    current=test.id == stock.current,
                    files=tuple(files_of_test),
                )
            )
        if tests:
            stocks.append(
                StockData(stock=Link(label=stock.name, address=address_of_stock(stock.slug)), tests=tuple(tests))
            )
    return DataPage(files=files, stocks=tuple(stocks))


def page_of_not_found(series: Series, style: bytes) -> NotFoundPage:
    """Return the page for addresses that are not there, its style within it, for it is shown anywhere."""
    digest = base64.b64encode(hashlib.sha256(style).digest()).decode()
    return NotFoundPage(
        stocks=tuple(
            Link(label=stock.name, address=address_of_stock(stock.slug)) for stock in series.stocks if stock.current
        ),
        style=Markup(style.decode()),  # noqa: S704  # the theme's own
        style_digest=f"sha256-{digest}",
    )


def _links_of_stocks(series: Series, question: Question) -> tuple[Link, ...]:
    return tuple(
        Link(label=series.stock(slug).name, address=address_of_stock(slug))
        for slug in question.stocks
        if series.stock(slug).tests
    )
