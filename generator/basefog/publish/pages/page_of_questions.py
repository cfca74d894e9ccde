"""The questions of the audience: one page each, and the list of all by date and by stock."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Final

from markupsafe import Markup

from basefog.publish.addresses import (
    address_of_any_two,
    address_of_comparison,
    address_of_question,
    address_of_stock,
)
from basefog.publish.pages.answers import Answers
from basefog.publish.pages.frame import Link, format_date
from basefog.publish.pages.page_index import addresses_of_pages
from basefog.publish.pages.prose import plain_prose, render_prose
from basefog.records.content import Question, Series, Stock
from basefog.records.findings import Findings

_MOST_PAIRED: Final = 4
"""Up to so many stocks of one question every two are linked side by side: six links; beyond, none would be found."""


@dataclass(frozen=True, kw_only=True, slots=True)
class QuestionPage:
    """Template variable `view` of `question.html`.

    `comparisons` set the stocks of the question side by side, every two of them; `newer` and `older` are its
    neighbours in the list of all, None at its ends; `others` are about one of its stocks too.
    """

    title: str
    asked: str
    answered: str
    stocks: tuple[Link, ...]
    answer: Markup
    summary: str
    comparisons: tuple[Link, ...]
    others: tuple[Link, ...]
    newer: Link | None
    older: Link | None


@dataclass(frozen=True, kw_only=True, slots=True)
class QuestionLine:
    """One question in a list; `answered` is empty where it is still open."""

    question: Link
    asked: str
    answered: str
    stocks: tuple[Link, ...]
    summary: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StockQuestions:
    """The questions about one stock, newest first."""

    stock: Link
    questions: tuple[QuestionLine, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class QuestionsPage:
    """Template variable `view` of `questions.html`: all questions, newest first, and again by stock."""

    questions: tuple[QuestionLine, ...]
    by_stock: tuple[StockQuestions, ...]


def page_of_question(
    series: Series, findings: Findings, question: Question, *, known: Collection[str] | None = None
) -> QuestionPage:
    """Return the view-model of one question; `known` as of `page_of_test`."""
    address = address_of_question(question.slug)
    answers = Answers(series=series, findings=findings, page=address)
    listed = newest_first(series)
    at = [other.slug for other in listed].index(question.slug)
    return QuestionPage(
        title=question.title,
        asked=_format(question.asked),
        answered=_format(question.answered),
        stocks=_links_of_stocks(series, question),
        answer=render_prose(
            question.prose,
            answers,
            page=address,
            home=address,
            known=addresses_of_pages(series) if known is None else known,
        ),
        summary=plain_prose(question.prose, answers),
        comparisons=comparisons_of(series, question),
        others=tuple(
            _link(other) for other in listed if other.slug != question.slug and set(other.stocks) & set(question.stocks)
        ),
        newer=_link(listed[at - 1]) if at > 0 else None,
        older=_link(listed[at + 1]) if at + 1 < len(listed) else None,
    )


def summary_of_question(series: Series, findings: Findings, question: Question) -> str:
    """Return the first words of an answer."""
    answers = Answers(series=series, findings=findings, page=address_of_question(question.slug))
    return plain_prose(question.prose, answers)


def page_of_questions(series: Series, findings: Findings) -> QuestionsPage:
    """Return the list of questions."""
    answers = Answers(series=series, findings=findings, page="questions/index.html")
    lines = {
        question.slug: QuestionLine(
            question=_link(question),
            asked=_format(question.asked),
            answered=_format(question.answered),
            stocks=_links_of_stocks(series, question),
            summary=plain_prose(question.prose, answers),
        )
        for question in newest_first(series)
    }
    return QuestionsPage(
        questions=tuple(lines.values()),
        by_stock=tuple(
            StockQuestions(stock=_link_of_stock(stock), questions=about)
            for stock in sorted(series.stocks, key=lambda stock: (stock.name.casefold(), stock.slug))
            if (about := tuple(lines[one.slug] for one in newest_first(series) if stock.slug in one.stocks))
        ),
    )


def newest_first(series: Series) -> tuple[Question, ...]:
    """Return all questions by the day on which something last came of them, the newest first."""

    def last(question: Question) -> date:
        return question.answered or question.asked or question.filed

    by_slug = sorted(series.questions, key=lambda question: question.slug)
    return tuple(sorted(by_slug, key=last, reverse=True))


def comparisons_of(series: Series, question: Question) -> tuple[Link, ...]:
    """Return the pages that set every two stocks of a question side by side, by their current tests.

    A stock and the reference have a page of their own, which needs no script; any other two meet in the browser.
    """
    stocks = [stock for stock in map(series.stock, question.stocks) if stock.current_test is not None]
    if len(stocks) > _MOST_PAIRED:
        return ()
    return tuple(_link_pair(series, first, second) for first, second in combinations(stocks, 2))


def _link_pair(series: Series, first: Stock, second: Stock) -> Link:
    if first.slug == series.reference:
        first, second = second, first
    label = f"{first.name} and {second.name}"
    if second.slug == series.reference:
        return Link(label=label, address=address_of_comparison(first.slug))
    return Link(label=label, address=address_of_any_two(first.slug, second.slug))


def _links_of_stocks(series: Series, question: Question) -> tuple[Link, ...]:
    return tuple(_link_of_stock(series.stock(slug)) for slug in question.stocks)


def _link_of_stock(stock: Stock) -> Link:
    # Every stock has a page at this address: where no test counts it leads on to the history, which tells why.
    return Link(label=stock.name, address=address_of_stock(stock.slug))


def _link(question: Question) -> Link:
    return Link(label=question.title, address=address_of_question(question.slug))


def _format(day: date | None) -> str:
    return format_date(day) if day else ""
