"""What is open: the verdicts that are not firm yet, and the repeats that would settle most of them."""

from dataclasses import dataclass

from basefog.judge import OpenVerdict, rank_repeats
from basefog.publish.addresses import address_of_stock
from basefog.publish.pages.frame import Link
from basefog.publish.pages.quantities import format_difference
from basefog.publish.pages.words import WORDINGS
from basefog.records.content import Series
from basefog.records.findings import Findings

HALF_THE_TIME = (
    "If a difference is what it seems, such repeats settle it about half the time: chance may make it smaller as well "
    "as larger."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenLine:
    """One verdict that repeats would settle: its stock and measure, and the difference as it stands."""

    verdict: Link
    difference: str


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenRepeats:
    """So many more tests of one stock, in words, and what they would settle."""

    tests: str
    stock: Link
    settles: tuple[OpenLine, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenPage:
    """Template variable `view` of `open.html`; the repeats that settle most for each test come first."""

    repeats: tuple[OpenRepeats, ...]
    warning: str = HALF_THE_TIME


def page_of_open(series: Series, findings: Findings) -> OpenPage:
    """Return the page of what is open."""
    return OpenPage(
        repeats=tuple(
            OpenRepeats(
                tests=say_tests(repeats.tests),
                stock=Link(label=series.stock(repeats.of).name, address=address_of_stock(repeats.of)),
                settles=tuple(_line(series, verdict, repeats.of) for verdict in repeats.settles),
            )
            for repeats in rank_repeats(findings, series.reference)
        )
    )


def say_tests(count: int) -> str:
    """Return a number of further tests in words.

    >>> say_tests(1), say_tests(3)
    ('one more test', '3 more tests')
    """
    return "one more test" if count == 1 else f"{count} more tests"


def name_verdict(series: Series, verdict: OpenVerdict, of: str) -> str:
    """Return what a verdict is about: the measure or patch, with the stock where the repeats are not `of` that one."""
    names = {patch.id: patch.name for patch in series.patches}
    what = names[verdict.what] if verdict.is_patch else WORDINGS[verdict.what].subject
    return what if verdict.stock == of else f"{what} of {series.stock(verdict.stock).name}"


def _line(series: Series, verdict: OpenVerdict, of: str) -> OpenLine:
    figure = format_difference(verdict.comparison)
    return OpenLine(
        verdict=Link(
            label=name_verdict(series, verdict, of), address=f"{address_of_stock(verdict.stock)}#{verdict.what}"
        ),
        difference=figure.plain,
    )
