"""The verdict of a test in a few sentences: what stands first on its page."""

from dataclasses import dataclass

from basefog.publish.addresses import address_of_stock
from basefog.publish.pages.frame import Link
from basefog.publish.pages.names import name_test
from basefog.publish.pages.words import (
    Clause,
    clauses_of,
    comparison_of,
    patch_clauses_of,
    say_findings,
    say_unknown,
    standing_of,
)
from basefog.records.content import Series, Test
from basefog.records.findings import Findings, TestFindings

_FIRST = ("average_gradient", "shadow_gradient", "highlight_gradient")
_SECOND = ("rms_granularity", "mtf50", "base_plus_fog")
SAID = ("speed_from_reference", *_FIRST, *_SECOND)
"""Measures that a verdict in words tells, patches apart."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """The verdict in words: the lead first, then further sentences, then what could not be compared and why.

    `against` is None where there is nothing to compare with; the lead then says so.
    """

    against: Link | None
    lead: str
    more: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def plain(self) -> str:
        """All of it in one paragraph."""
        return " ".join(part for part in (self.lead, *self.more, *self.unknown) if part)


def verdict_of(series: Series, findings: Findings, test: Test) -> Verdict:
    """Return the verdict on one test against the reference's current test."""
    found, reference = findings.tests[test.key], findings.of_reference
    if reference is None:
        lead = "The reference has no test that counts, so that nothing can be compared with it."
        return Verdict(against=None, lead=lead, more=(), unknown=())
    if test.key == findings.reference:
        lead = "This is the reference: every other stock of the series is measured against this test."
        return Verdict(against=None, lead=lead, more=(), unknown=())
    name = series.reference_stock.name
    if test.stock == series.reference and series.reference_stock.current_test is not None:
        name = f"{name}’s test of {name_test(series.reference_stock.current_test)}"
    first = (*_speed_clauses(found, reference), *clauses_of(found, reference, _FIRST))
    second = clauses_of(found, reference, _SECOND)
    patches = patch_clauses_of(
        found.patches, {patch.id: patch.name for patch in series.patches}, series.protocol.grey_patch
    )
    lead = say_findings(first)
    more: tuple[str, ...] = (say_findings(second), say_findings(patches))
    unknown = say_unknown([*first, *second, *patches])
    if not lead:
        lead = next((sentence for sentence in more if sentence), f"Nothing could be compared with {name}.")
        more = tuple(sentence for sentence in more if sentence != lead)
    return Verdict(
        against=Link(label=name, address=address_of_stock(series.reference)),
        lead=lead,
        more=tuple(sentence for sentence in more if sentence),
        unknown=unknown,
    )


def _speed_clauses(found: TestFindings, reference: TestFindings) -> tuple[Clause, ...]:
    """Speed from the wedge where it can be had, else from the bracket's shadows; one clause, not two."""
    for measure in ("speed_from_reference", "shadow_match"):
        comparison = comparison_of(found, measure)
        if comparison is not None and standing_of(comparison) != "unknown":
            return clauses_of(found, reference, (measure,))
    return clauses_of(found, reference, ("speed_from_reference",))
