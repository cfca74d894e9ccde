"""The verdict of a test in a few sentences: what stands first on its page."""

import math
from dataclasses import dataclass
from typing import Final

from basefog.publish.addresses import address_of_stock
from basefog.publish.pages.frame import Link
from basefog.publish.pages.movement import say_movement
from basefog.publish.pages.names import name_test
from basefog.publish.pages.quantities import tidy
from basefog.publish.pages.repeatability import say_repeatability
from basefog.publish.pages.words import (
    Clause,
    clauses_of,
    figures_of,
    patch_clauses_of,
    say_difference,
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

SPEED_BY: Final = {"speed_from_reference": "by the speed point", "shadow_match": "for equal shadows"}
"""What each speed goes by, said where both are told because they disagree."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """The verdict in words: the lead first, then further sentences, then what could not be compared and why.

    `against` is None where there is nothing to compare with; the lead then says so. `moved` says what a retest or
    repeat changed, of a retest before all else; `held` what the comparison holds fixed.
    """

    against: Link | None
    lead: str
    more: tuple[str, ...]
    unknown: tuple[str, ...]
    moved: str = ""
    held: str = ""

    @property
    def plain(self) -> str:
        """All of it in one paragraph."""
        return " ".join(part for part in (self.moved, self.lead, self.held, *self.more, *self.unknown) if part)


def verdict_of(series: Series, findings: Findings, test: Test) -> Verdict:
    """Return the verdict on one test against the reference."""
    found, reference = findings.tests[test.key], findings.of_reference
    moved = say_movement(series, findings, test)
    if reference is None:
        lead = "The reference has no test that counts, so that nothing can be compared with it."
        return Verdict(against=None, lead=lead, more=(), unknown=(), moved=moved)
    if test.stock == series.reference:
        return _verdict_of_reference(series, findings, test, moved)
    name = series.reference_stock.name
    first = (*speed_clauses(found, reference), *clauses_of(found, reference, _FIRST))
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
        moved=moved,
        held=_say_held(series),
    )


def _verdict_of_reference(series: Series, findings: Findings, test: Test, moved: str) -> Verdict:
    """Return what a page of the reference says: that it is the reference, and how well its figures repeat."""
    if test.key == findings.reference:
        lead = "This is the reference: every other stock of the series is measured against it."
    else:
        current = series.reference_stock.current_test
        of = "" if current is None else f"; the others are measured against the one of {name_test(current)}"
        lead = f"This is a test of the reference{of}."
    return Verdict(against=None, lead=lead, more=say_repeatability(series, findings), unknown=(), moved=moved)


def _say_held(series: Series) -> str:
    """Return what the comparison holds fixed, as a sentence: contrast is film and development together."""
    development = tidy(series.protocol.development)
    return f"Held alike: {development}." if development else ""


def speed_clauses(found: TestFindings, reference: TestFindings) -> tuple[Clause, ...]:
    """Return speed as one clause, or as two where its speed point and its shadows on the subject disagree.

    The speed point tells where the film begins to respond to light, equal shadow density what the subject got of it.
    """
    known = [
        measure
        for measure in ("speed_from_reference", "shadow_match")
        if (comparison := found.against_reference.get(measure)) is not None and standing_of(comparison) != "unknown"
    ]
    if len(known) < 2:
        return clauses_of(found, reference, known or ("speed_from_reference",))
    wedge, match = (found.against_reference[measure] for measure in known)
    if wedge.difference is None or match.difference is None:
        return clauses_of(found, reference, known[:1])
    apart = abs(wedge.difference + match.difference)
    if apart <= math.hypot(wedge.could_see or 0.0, match.could_see or 0.0):
        return clauses_of(found, reference, known[:1])
    return (
        say_difference("speed_from_reference", wedge, figures_of(found, reference, known[0]), by=SPEED_BY[known[0]]),
        say_difference("shadow_match", match, figures_of(found, reference, known[1]), by=SPEED_BY[known[1]]),
    )
