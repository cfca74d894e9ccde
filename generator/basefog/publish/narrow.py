"""What pages have of a series and its findings that are about one stock or question: made again where that changes.

They are made of nothing else: what is not in here can't come onto them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from basefog.records.content import Prose, Question, Series, Stock
from basefog.records.findings import Findings
from basefog.records.problem import Problem
from basefog.records.prose_calls import ProseCall, find_calls
from basefog.records.vocabulary import COMPARING_CALLS


class Narrowing:
    """Narrows a series and its findings to single stocks and questions; what several have of it is made once."""

    def __init__(self, series: Series, findings: Findings) -> None:
        self._series = series
        self._findings = findings
        self._mute = {stock.slug: without_words(stock) for stock in series.stocks}

    def to_stock(self, slug: str) -> tuple[Series, Findings]:
        """Return both as the pages of a stock have them.

        With the stock itself go the reference and the stocks that its own texts name, without their texts; of questions
        the titles of those about it; of remarks those in its folder. How any two compare is needed where a text
        compares, and on the reference's pages, which tell of the scatter.
        """
        stock = self._series.stock(slug)
        questions = tuple(_titled(question) for question in self._series.questions if slug in question.stocks)
        return self._narrow(
            stocks={**self._mute, slug: stock},
            slugs={slug},
            calls=tuple(_calls_of(stock)),
            compares=slug == self._series.reference,
            questions=questions,
            remarks=tuple(remark for remark in self._series.remarks if remark.path.startswith(f"stocks/{slug}/")),
        )

    def to_question(self, question: Question) -> tuple[Series, Findings]:
        """Return both as the page of a question has them: the stocks that it is about or names, all others' titles."""
        return self._narrow(
            stocks=self._mute,
            slugs=set(question.stocks),
            calls=find_calls(question.prose.text),
            compares=False,
            questions=tuple(one if one is question else _titled(one) for one in self._series.questions),
            remarks=(),
        )

    def _narrow(
        self,
        *,
        stocks: Mapping[str, Stock],
        slugs: set[str],
        calls: tuple[ProseCall, ...],
        compares: bool,
        questions: tuple[Question, ...],
        remarks: tuple[Problem, ...],
    ) -> tuple[Series, Findings]:
        series, findings = self._series, self._findings
        slugs = slugs | {series.reference, *(name.partition("/")[0] for call in calls for name in call.named)}
        kept = tuple(stocks[one.slug] for one in series.stocks if one.slug in slugs)
        batches = {test.developed.batch for one in kept for test in one.tests}
        narrowed = replace(
            series,
            stocks=kept,
            batches=tuple(batch for batch in series.batches if batch.id in batches),
            questions=questions,
            pages=(),
            editions=(),
            inputs=(),
            remarks=remarks,
            corrections=(),
            moved={},
        )
        compares = compares or any(call.name in COMPARING_CALLS for call in calls)
        found = Findings(
            tests={test.key: findings.tests[test.key] for one in kept for test in one.tests},
            reference=findings.reference,
            batches=findings.batches if any(call.what.lower() == "control-strip" for call in calls) else (),
            scatter=findings.scatter if compares else {},
            patch_scatter=findings.patch_scatter if compares else {},
            factors=findings.factors if compares else {},
            patch_factors=findings.patch_factors if compares else {},
        )
        return narrowed, found


def _titled(question: Question) -> Question:
    return replace(question, prose=replace(question.prose, text=""))


def without_words(stock: Stock) -> Stock:
    """Return a stock without the tester's notes on it and its tests."""
    tests = tuple(replace(test, notes=None) for test in stock.tests)
    return replace(stock, notes=None, tests=tests)


def _calls_of(stock: Stock) -> Iterator[ProseCall]:
    texts: list[Prose | None] = [stock.notes, *(test.notes for test in stock.tests)]
    for prose in texts:
        if prose is not None:
            yield from find_calls(prose.text)
