"""Remarks that the numbers show, at the place in the content that they concern."""

from basefog.records.content import Series, Test
from basefog.records.findings import Findings, TestFindings
from basefog.records.problem import Problem, remark_at


def remarks_of(series: Series, findings: Findings) -> tuple[Problem, ...]:
    """Return every remark that the numbers of a series show, by place: each at its test's `test.yaml`."""
    found = {
        remark_at(test.place, remark.message, remark.mend)
        for stock in series.stocks
        for test in stock.tests
        for remark in findings.of(stock.slug, test.id).remarks
    }
    return tuple(sorted(found, key=lambda remark: remark.sort_key))


def remarks_of_test(series: Series, test: Test, found: TestFindings) -> tuple[Problem, ...]:
    """Return the remarks that concern a test, by place: those of its own files, and those its numbers show."""
    folder = f"stocks/{test.key}/"
    own = [remark for remark in series.remarks if remark.path.startswith(folder)]
    shown = [remark_at(test.place, remark.message, remark.mend) for remark in found.remarks]
    return tuple(sorted({*own, *shown}, key=lambda remark: remark.sort_key))
