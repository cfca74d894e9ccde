"""The method page: protocol, definitions, uncertainty, verdicts, and what the series does not claim."""

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from basefog.publish.addresses import STUDY, address_of_stock
from basefog.publish.pages.charts import Chart
from basefog.publish.pages.definitions import DEFINITIONS
from basefog.publish.pages.formulas import FORMULAS
from basefog.publish.pages.frame import Link, format_date
from basefog.publish.pages.page_of_summary import format_unit
from basefog.publish.pages.quantities import tidy
from basefog.records.content import Series
from basefog.records.findings import BatchFinding, Findings, Scatter
from basefog.records.numbers import fixed, format_number
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES

CHANCE = 0.05
"""Of a difference where there is none: what an interval that holds the true value 95 times in 100 leaves."""

_MANY = 200
"""From so many verdicts on, what chance alone would give is told in whole ones."""


@dataclass(frozen=True, kw_only=True, slots=True)
class MethodFact:
    """One line of the protocol."""

    label: str
    value: str


@dataclass(frozen=True, kw_only=True, slots=True)
class DefinedMeasure:
    """One measure with its formula."""

    id: str
    name: str
    unit: str
    definition: str
    formula: Markup
    source: str
    good_for: str
    does_not_tell: str


@dataclass(frozen=True, kw_only=True, slots=True)
class PatchFact:
    """A patch of the subject."""

    name: str
    reflectance: str
    role: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ScatterRow:
    """Test-to-test scatter of one measure; `anchor` is its definition's on this page, empty for a patch."""

    measure: str
    anchor: str
    unit: str
    sigma: str
    degrees_of_freedom: str
    told_by: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StripDensity:
    """One density of a batch's control strip; `beyond` is `2 sigma`, `3 sigma` or empty."""

    density: str
    beyond: str


@dataclass(frozen=True, kw_only=True, slots=True)
class BatchRow:
    """One development batch: its control strip in the order of `strip_steps`, None where a step was not read."""

    id: str
    date: str
    notes: str
    densities: tuple[StripDensity | None, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class VerdictCounts:
    """How many stocks' figures were compared with the reference's, how many differ, and how many of those are firm.

    `by_chance` is how many differences chance alone would give if no films differed, in words.
    """

    made: int
    differences: int
    firm: int
    by_chance: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MethodPage:
    """Template variable `view` of `method.html`.

    `study_found` is what simulation told of the curve's intervals, in a sentence, and `study` the page that tells the
    whole of it. `repeats_tell` says that repeats told the scatter of any measure or patch; `held` is what the
    comparison holds fixed, empty where the series does not say.
    """

    reference: Link | None
    protocol: tuple[MethodFact, ...]
    patches: tuple[PatchFact, ...]
    repeatability: str
    repeatability_stated: bool
    scatter: tuple[ScatterRow, ...]
    strip_steps: tuple[str, ...]
    batches: tuple[BatchRow, ...]
    batches_have_limits: bool
    measures: tuple[DefinedMeasure, ...]
    study_found: str
    study: Link
    counts: VerdictCounts
    repeats_tell: bool
    held: str
    strips: Chart | None = None


def page_of_method(series: Series, findings: Findings, study_found: str = "") -> MethodPage:
    """Return the method page's view-model; `study_found`, a sentence on what simulation told of the curve."""
    stock = series.reference_stock
    return MethodPage(
        reference=Link(label=stock.name, address=address_of_stock(stock.slug)) if stock.current else None,
        protocol=_protocol(series),
        patches=_patches(series),
        repeatability=f"{series.densitometer.repeatability:g}",
        repeatability_stated=series.densitometer.repeatability_stated,
        scatter=_scatter_rows(series, findings),
        strip_steps=_strip_steps(findings),
        batches=_batch_rows(series, findings),
        batches_have_limits=any(found.sigma is not None for found in findings.batches),
        measures=tuple(
            DefinedMeasure(
                id=measure.id,
                name=measure.name,
                unit=format_unit(measure.unit),
                definition=measure.definition,
                formula=FORMULAS[measure.id],
                source=DEFINITIONS[measure.id].source,
                good_for=DEFINITIONS[measure.id].good_for,
                does_not_tell=DEFINITIONS[measure.id].does_not_tell,
            )
            for measure in MEASURES
        ),
        study_found=study_found,
        study=Link(label="How well the curve tells", address=STUDY),
        counts=count_verdicts(findings),
        repeats_tell=any(
            one.source == "repeats" for one in [*findings.scatter.values(), *findings.patch_scatter.values()]
        ),
        held=tidy(series.protocol.development),
    )


def count_verdicts(findings: Findings) -> VerdictCounts:
    """Return how many verdicts on stocks' figures there are, measures and patches alike."""
    made = [
        comparison
        for test in findings.tests.values()
        if test.current
        for comparison in [
            *test.against_reference.values(),
            *(patch.against_reference for patch in test.patches.values()),
        ]
        if comparison.difference is not None
    ]
    differences = [comparison for comparison in made if comparison.verdict in {"higher", "lower"}]
    return VerdictCounts(
        made=len(made),
        differences=len(differences),
        firm=sum(comparison.firm is True for comparison in differences),
        by_chance=fixed(CHANCE * len(made), 0 if len(made) >= _MANY else 1),
    )


def _scatter_rows(series: Series, findings: Findings) -> tuple[ScatterRow, ...]:
    patches = {patch.id: f"Patch {patch.name}, from grey" for patch in series.patches}
    known = {measure: MEASURE_BY_ID[measure] for measure in findings.scatter}
    named = [
        (known[measure].name, measure, format_unit(known[measure].unit), scatter)
        for measure, scatter in findings.scatter.items()
    ]
    named += [(patches[patch], "", "stops", scatter) for patch, scatter in findings.patch_scatter.items()]
    return tuple(
        ScatterRow(
            measure=name,
            anchor=anchor,
            unit=unit,
            sigma=_format_sigma(scatter),
            degrees_of_freedom="" if scatter.degrees_of_freedom is None else str(scatter.degrees_of_freedom),
            told_by=_TOLD_BY[scatter.source].format(stocks=scatter.stocks),
        )
        for name, anchor, unit, scatter in named
    )


def _format_sigma(scatter: Scatter) -> str:
    if scatter.relative and scatter.sigma > 0:
        return f"{format_number(100 * scatter.sigma, 1)} %"
    if scatter.sigma == 0:
        return "no more than reading error"
    return format_number(scatter.sigma, 3) + (" in density" if scatter.by_gradient else "")


_TOLD_BY = {
    "repeats": "repeats of {stocks} stocks",
    "batches": "control strips of the batches",
    "assumed": "an assumption",
}


def _strip_steps(findings: Findings) -> tuple[str, ...]:
    """Return the steps of the control strips from clear to dense, as their mean densities order them."""
    by_step: dict[str, list[float]] = {}
    for found in findings.batches:
        by_step.setdefault(found.strip_step, []).append(found.density)
    return tuple(sorted(by_step, key=lambda step: (sum(by_step[step]) / len(by_step[step]), step)))


def _batch_rows(series: Series, findings: Findings) -> tuple[BatchRow, ...]:
    found = {(one.batch, one.strip_step): one for one in findings.batches}
    steps = _strip_steps(findings)
    return tuple(
        BatchRow(
            id=batch.id,
            date=format_date(batch.date),
            notes=tidy(batch.notes),
            densities=tuple(_strip_density(found.get((batch.id, step))) for step in steps),
        )
        for batch in sorted(series.batches, key=lambda batch: (batch.date, batch.id))
    )


def _strip_density(found: BatchFinding | None) -> StripDensity | None:
    if found is None:
        return None
    beyond = "3 sigma" if found.beyond_3_sigma else "2 sigma" if found.beyond_2_sigma else ""
    return StripDensity(density=format_number(found.density, 2), beyond=beyond)


def _protocol(series: Series) -> tuple[MethodFact, ...]:
    protocol, exposure, enlarging = series.protocol, series.exposure, series.enlarging

    def with_unit(value: float | None, unit: str) -> str | None:
        return None if value is None else f"{value:g} {unit}"

    said: Mapping[str, str | None] = {
        "Subject": protocol.subject,
        "Lighting": protocol.lighting,
        "Developer": protocol.developer,
        "Temperature": with_unit(protocol.temperature_c, "°C"),
        "Development": tidy(protocol.development),
        "Bracket": None
        if protocol.bracket_step_stops is None
        else f"frames {_stops(protocol.bracket_step_stops)} apart",
        "Wedge": exposure.wedge,
        "Wedge exposure": with_unit(exposure.lux_s, "lux s with no wedge in the beam")
        or ("not known in lux seconds: the exposure axis is relative" if exposure.wedge else None),
        "Its standard uncertainty": with_unit(exposure.u_lux_s, "lux s"),
        "Densitometer": series.densitometer.reads,
        "Paper": enlarging.paper,
        "Magnification": with_unit(enlarging.magnification, "times"),
        "Reference’s print exposure": with_unit(enlarging.exposure_s, "s"),
    }
    return tuple(MethodFact(label=label, value=value) for label, value in said.items() if value)


def _stops(stops: float) -> str:
    thirds = {1: "a third of a stop", 2: "two thirds of a stop", 3: "one stop"}
    count = round(3 * stops)
    if abs(3 * stops - count) < 1e-6 and count in thirds:
        return thirds[count]
    return "half a stop" if stops == 0.5 else f"{stops:g} stops"


def _patches(series: Series) -> tuple[PatchFact, ...]:
    roles = {
        series.protocol.grey_patch: "the patch all others are measured from",
        series.protocol.shadow_patch: "its density matches the frames",
    }
    return tuple(
        PatchFact(
            name=patch.name,
            reflectance="" if patch.luminous_reflectance is None else f"{100 * patch.luminous_reflectance:g} %",
            role=roles.get(patch.id, ""),
        )
        for patch in series.patches
    )
