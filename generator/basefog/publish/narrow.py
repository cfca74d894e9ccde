"""What the pages of one stock have of a series and its findings, so that they are made again only where that changes.

They are made of nothing else: what is not in here can't come onto them.
"""

from collections.abc import Iterator
from dataclasses import replace

from basefog.records.content import Prose, Series, Stock
from basefog.records.findings import Findings
from basefog.records.prose_calls import ProseCall, find_calls
from basefog.records.vocabulary import COMPARING_CALLS


class Narrowing:
    """Narrows a series and its findings to single stocks; what several have of it is made once."""

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
        series, findings = self._series, self._findings
        stock = series.stock(slug)
        calls = tuple(_calls_of(stock))
        slugs = {slug, series.reference, *(name.partition("/")[0] for call in calls for name in call.named)}
        stocks = tuple(
            stock if one.slug == slug else self._mute[one.slug] for one in series.stocks if one.slug in slugs
        )
        compares = slug == series.reference or any(call.name in COMPARING_CALLS for call in calls)
        shows_all_batches = any(call.what.lower() == "control-strip" for call in calls)
        batches = {test.developed.batch for one in stocks for test in one.tests}
        narrowed = replace(
            series,
            stocks=stocks,
            batches=tuple(batch for batch in series.batches if batch.id in batches),
            questions=tuple(
                replace(question, prose=replace(question.prose, text=""))
                for question in series.questions
                if slug in question.stocks
            ),
            pages=(),
            editions=(),
            inputs=(),
            remarks=tuple(remark for remark in series.remarks if remark.path.startswith(f"stocks/{slug}/")),
            corrections=(),
            moved={},
        )
        found = Findings(
            tests={test.key: findings.tests[test.key] for one in stocks for test in one.tests},
            reference=findings.reference,
            batches=findings.batches if shows_all_batches else (),
            scatter=findings.scatter if compares else {},
            patch_scatter=findings.patch_scatter if compares else {},
            factors=findings.factors if compares else {},
            patch_factors=findings.patch_factors if compares else {},
        )
        return narrowed, found


def without_words(stock: Stock) -> Stock:
    """Return a stock without the tester's notes on it and its tests."""
    tests = tuple(replace(test, notes=None) for test in stock.tests)
    return replace(stock, notes=None, tests=tests)


def _calls_of(stock: Stock) -> Iterator[ProseCall]:
    texts: list[Prose | None] = [stock.notes, *(test.notes for test in stock.tests)]
    for prose in texts:
        if prose is not None:
            yield from find_calls(prose.text)
