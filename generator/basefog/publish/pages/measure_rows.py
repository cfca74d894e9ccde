"""The rows of the tables of measures and patches: value, reference, difference, verdict."""

from dataclasses import dataclass, replace

from basefog.publish.pages.frame import METHOD
from basefog.publish.pages.quantities import (
    UNIT_LABELS,
    QuantityText,
    format_difference,
    format_limit,
    format_quantity,
    tidy,
)
from basefog.publish.pages.words import (
    SAME,
    SIDES,
    TRADE_SIZES,
    Standing,
    standing_of,
)
from basefog.records.content import Series
from basefog.records.findings import Comparison, PatchFinding, Quantity, TestFindings, ToSettle
from basefog.records.vocabulary import MEASURES, Measure

SIGNED = frozenset({"speed_from_reference", "shadow_match"})
"""Measures whose sign says a side, so that a plus is written too."""


COUNTED = {
    "reading": "readings",
    "wedge": "wedge",
    "lamp": "lamp",
    "repeats": "repeats",
    "batches": "batches",
    "assumed": "3 % a test",
}
"""What an error may hold, in a word each; the table's foot says what they mean."""


@dataclass(frozen=True, kw_only=True, slots=True)
class VerdictText:
    """A verdict in a table.

    `standing` is which way its mark points: up for more, and for faster. `limit` is the 95 % limit where nothing could
    be told apart, with its unit, `trade` the same on the trade's own scale. `counts` says what the error holds, and
    `settle` what would make a difference firm. `firm` is None where that was not asked.
    """

    standing: Standing
    words: str
    limit: str = ""
    trade: str = ""
    why: str = ""
    counts: str = ""
    settle: str = ""
    firm: bool | None = None


TURNED = frozenset({"shadow_match"})
"""Measures of which more means slower: their mark points with the word, not with the sign."""


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasureRow:
    """One measure that has a value. `reference`, `difference` and `verdict` are None where nothing is compared."""

    id: str
    name: str
    unit: str
    definition: str
    definition_address: str
    quantity: QuantityText
    reference: QuantityText | None
    difference: QuantityText | None
    verdict: VerdictText | None


@dataclass(frozen=True, kw_only=True, slots=True)
class MissingMeasure:
    """A measure without a value."""

    id: str
    name: str
    definition_address: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MissingRow:
    """The measures that are missing for one and the same reason."""

    measures: tuple[MissingMeasure, ...]
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class PatchRow:
    """One patch: how light the film renders it, against the eye and against the reference."""

    id: str
    name: str
    stops_from_grey: QuantityText
    against_eye: QuantityText
    eye_verdict: VerdictText
    against_reference: QuantityText
    reference_verdict: VerdictText


def address_of_definition(measure: str) -> str:
    """Return where the method page defines a measure."""
    return f"{METHOD}#{measure}"


def rows_of_measures(found: TestFindings, reference: TestFindings | None) -> tuple[MeasureRow, ...]:
    """Return the measures that have a value, in the order of the vocabulary."""
    return tuple(
        _row(measure, found, reference)
        for measure in MEASURES
        if measure.id in found.measures and found.measures[measure.id].value is not None
    )


def missing_rows(found: TestFindings) -> tuple[MissingRow, ...]:
    """Return the measures that have none, gathered by their reason, in the order of the vocabulary."""
    by_why: dict[str, list[MissingMeasure]] = {}
    for measure in MEASURES:
        quantity = found.measures.get(measure.id)
        if quantity is not None and quantity.value is None:
            by_why.setdefault(tidy(quantity.why) or "no reason was given", []).append(
                MissingMeasure(id=measure.id, name=measure.name, definition_address=address_of_definition(measure.id))
            )
    return tuple(MissingRow(measures=tuple(measures), why=why) for why, measures in by_why.items())


def rows_of_patches(found: TestFindings, series: Series) -> tuple[PatchRow, ...]:
    """Return the patches in the order of the series."""
    return tuple(
        _patch_row(patch.id, patch.name, found.patches[patch.id])
        for patch in series.patches
        # All others are counted from the grey patch: it has nothing to tell.
        if patch.id in found.patches and patch.id != series.protocol.grey_patch
    )


def _patch_row(patch: str, name: str, finding: PatchFinding) -> PatchRow:
    return PatchRow(
        id=patch,
        name=name,
        stops_from_grey=_figure_text(finding.stops_from_grey, finding.pooled, signed=True),
        against_eye=format_difference(finding.against_eye),
        eye_verdict=verdict_text(finding.against_eye, higher="lighter", lower="darker"),
        against_reference=format_difference(finding.against_reference),
        reference_verdict=verdict_text(finding.against_reference, higher="lighter", lower="darker"),
    )


def verdict_text(
    comparison: Comparison, *, higher: str = "higher", lower: str = "lower", measure: str = "", turned: bool = False
) -> VerdictText:
    """Return a verdict for a table; `turned` where more of the measure is less of what its words say.

    >>> verdict_text(Comparison(verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04,
    ...     could_see=0.03)).limit
    '0.030'
    """
    standing = standing_of(comparison)
    if standing == "unknown":
        return VerdictText(standing=standing, words="not measured", why=tidy(comparison.why) or "no reason was given")
    counts = ", ".join(COUNTED[source] for source in comparison.counts)
    settle = _say_settle(comparison.to_settle) if comparison.firm is False else ""
    if standing == "same":
        limit = comparison.could_see
        trade = TRADE_SIZES.get(measure)
        unit = UNIT_LABELS.get(comparison.unit, comparison.unit)
        return VerdictText(
            standing=standing,
            words=SAME,
            limit=f"{format_limit(comparison)} {unit}".strip() if limit is not None else "",
            trade=trade(limit) if trade and limit is not None else "",
            counts=counts,
            settle=settle,
        )
    words = higher if standing == "higher" else lower
    if turned:
        standing = "lower" if standing == "higher" else "higher"
    return VerdictText(
        standing=standing,
        words=words if comparison.firm is not False else f"probably {words}",
        counts=counts,
        settle=settle,
        firm=comparison.firm,
    )


def _say_settle(settle: ToSettle | None) -> str:
    """Return which repeats may settle a verdict, in words; empty where none would or nothing tells."""
    if settle is None or not settle.tests:
        return ""
    more = "one more test" if settle.tests == 1 else f"{settle.tests} more tests"
    return f"{more} of the {settle.of} may settle it"


def _figure_text(own: Quantity, pooled: Quantity | None, *, signed: bool) -> QuantityText:
    """Return a stock's figure, with what this test alone gave where it is a mean of several."""
    if pooled is None:
        return format_quantity(own, signed=signed)
    text = format_quantity(pooled, signed=signed)
    alone = f"this test alone {format_quantity(own, signed=signed).plain}"
    return replace(text, note="; ".join(filter(None, (text.note, alone))))


def _row(measure: Measure, found: TestFindings, reference: TestFindings | None) -> MeasureRow:
    comparison = found.against_reference.get(measure.id) if reference is not None else None
    other = reference.figure(measure.id) if reference is not None and not measure.comparative else None
    verdict = None
    if comparison is not None:
        higher, lower = SIDES.get(measure.id, ("higher", "lower"))
        verdict = verdict_text(comparison, higher=higher, lower=lower, measure=measure.id, turned=measure.id in TURNED)
    return MeasureRow(
        id=measure.id,
        name=measure.name,
        unit=UNIT_LABELS.get(measure.unit, measure.unit),
        definition=measure.definition,
        definition_address=address_of_definition(measure.id),
        quantity=_figure_text(found.measures[measure.id], found.pooled.get(measure.id), signed=measure.id in SIGNED),
        reference=format_quantity(other) if other is not None else None,
        difference=format_difference(comparison) if comparison is not None and not measure.comparative else None,
        verdict=verdict,
    )
