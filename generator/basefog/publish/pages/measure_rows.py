"""The rows of the tables of measures and patches: value, reference, difference, verdict."""

from dataclasses import dataclass

from basefog.publish.pages.frame import METHOD
from basefog.publish.pages.quantities import (
    UNIT_LABELS,
    QuantityText,
    decimals_of_column,
    decimals_of_row,
    format_could_see,
    format_difference,
    format_quantity,
    tidy,
)
from basefog.publish.pages.words import SIDES, Standing, comparison_of, standing_of
from basefog.records.content import Series
from basefog.records.findings import Comparison, TestFindings
from basefog.records.vocabulary import MEASURES, Measure

SIGNED = frozenset({"speed_from_reference", "shadow_match"})
"""Measures whose sign says a side, so that a plus is written too."""


@dataclass(frozen=True, kw_only=True, slots=True)
class VerdictText:
    """A verdict in a table: its standing, its words, and what could have been seen where there is no difference."""

    standing: Standing
    words: str
    could_see: str = ""
    why: str = ""


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
    """Return the patches in the order of the series, all with equal decimals: they are all in stops."""
    shown = [
        (patch.id, patch.name, found.patches[patch.id])
        for patch in series.patches
        # All others are counted from the grey patch: it has nothing to tell.
        if patch.id in found.patches and patch.id != series.protocol.grey_patch
    ]
    decimals = decimals_of_column(
        half
        for _, _, finding in shown
        for half in (
            finding.stops_from_grey.half_width,
            half_width_of(finding.against_eye),
            half_width_of(finding.against_reference),
        )
    )
    return tuple(
        PatchRow(
            id=patch,
            name=name,
            stops_from_grey=format_quantity(finding.stops_from_grey, signed=True, decimals=decimals),
            against_eye=format_difference(finding.against_eye, decimals=decimals),
            eye_verdict=verdict_text(finding.against_eye, higher="lighter", lower="darker", decimals=decimals),
            against_reference=format_difference(finding.against_reference, decimals=decimals),
            reference_verdict=verdict_text(
                finding.against_reference, higher="lighter", lower="darker", decimals=decimals
            ),
        )
        for patch, name, finding in shown
    )


def half_width_of(comparison: Comparison | None) -> float | None:
    """Return half the width of a difference's interval, None where it has none."""
    if comparison is None or comparison.low is None or comparison.high is None:
        return None
    return (comparison.high - comparison.low) / 2


def verdict_text(
    comparison: Comparison, *, higher: str = "higher", lower: str = "lower", decimals: int | None = None
) -> VerdictText:
    """Return a verdict for a table; `decimals`, where given, are those of the figures beside it.

    >>> verdict_text(Comparison(verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04,
    ...     could_see=0.03)).could_see
    '0.03'
    """
    standing = standing_of(comparison)
    if standing == "unknown":
        return VerdictText(standing=standing, words="not measured", why=tidy(comparison.why) or "no reason was given")
    if standing == "same":
        seen = "" if comparison.could_see is None else format_could_see(comparison.could_see, decimals=decimals)
        return VerdictText(standing=standing, words="no measurable difference", could_see=seen)
    return VerdictText(standing=standing, words=higher if standing == "higher" else lower)


def _row(measure: Measure, found: TestFindings, reference: TestFindings | None) -> MeasureRow:
    quantity = found.measures[measure.id]
    comparison = comparison_of(found, measure.id) if reference is not None else None
    other = reference.measures.get(measure.id) if reference is not None and not measure.comparative else None
    decimals = decimals_of_row(
        (quantity.half_width, other.half_width if other is not None else None, half_width_of(comparison))
    )
    verdict = None
    if comparison is not None:
        higher, lower = SIDES.get(measure.id, ("higher", "lower"))
        verdict = verdict_text(comparison, higher=higher, lower=lower, decimals=decimals)
    return MeasureRow(
        id=measure.id,
        name=measure.name,
        unit=UNIT_LABELS.get(measure.unit, measure.unit),
        definition=measure.definition,
        definition_address=address_of_definition(measure.id),
        quantity=format_quantity(quantity, signed=measure.id in SIGNED, decimals=decimals),
        reference=format_quantity(other, decimals=decimals) if other is not None else None,
        difference=format_difference(comparison, decimals=decimals)
        if comparison is not None and not measure.comparative
        else None,
        verdict=verdict,
    )
