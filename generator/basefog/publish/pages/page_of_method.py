"""The method page: protocol, definitions, uncertainty, verdicts, and what the series does not claim."""

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from basefog.publish.addresses import address_of_stock
from basefog.publish.pages.definitions import DEFINITIONS
from basefog.publish.pages.formulas import FORMULAS
from basefog.publish.pages.frame import Link
from basefog.publish.pages.page_of_summary import format_unit
from basefog.records.content import Series
from basefog.records.findings import Findings
from basefog.records.numbers import format_number
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES


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
    """Test-to-test scatter of one measure."""

    measure: str
    sigma: str
    degrees_of_freedom: int
    stocks: int


@dataclass(frozen=True, kw_only=True, slots=True)
class MethodPage:
    """Template variable `view` of `method.html`."""

    reference: Link | None
    protocol: tuple[MethodFact, ...]
    patches: tuple[PatchFact, ...]
    repeatability: str
    repeatability_stated: bool
    scatter: tuple[ScatterRow, ...]
    measures: tuple[DefinedMeasure, ...]


def page_of_method(series: Series, findings: Findings) -> MethodPage:
    """Return the method page's view-model."""
    stock = series.reference_stock
    return MethodPage(
        reference=Link(label=stock.name, address=address_of_stock(stock.slug)) if stock.current else None,
        protocol=_protocol(series),
        patches=_patches(series),
        repeatability=f"{series.densitometer.repeatability:g}",
        repeatability_stated=series.densitometer.repeatability_stated,
        scatter=tuple(
            ScatterRow(
                measure=MEASURE_BY_ID[scatter.measure].name,
                sigma=format_number(scatter.sigma, 3),
                degrees_of_freedom=scatter.degrees_of_freedom,
                stocks=scatter.stocks,
            )
            for scatter in findings.scatter.values()
        ),
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
    )


def _protocol(series: Series) -> tuple[MethodFact, ...]:
    protocol, exposure, enlarging = series.protocol, series.exposure, series.enlarging

    def with_unit(value: float | None, unit: str) -> str | None:
        return None if value is None else f"{value:g} {unit}"

    said: Mapping[str, str | None] = {
        "Subject": protocol.subject,
        "Lighting": protocol.lighting,
        "Developer": protocol.developer,
        "Temperature": with_unit(protocol.temperature_c, "°C"),
        "Bracket": None
        if protocol.bracket_step_stops is None
        else f"frames {_stops(protocol.bracket_step_stops)} apart",
        "Wedge": exposure.wedge,
        "Wedge exposure": with_unit(exposure.lux_s, "lux s with no wedge in the beam")
        or ("not known in lux seconds: the exposure axis is relative" if exposure.wedge else None),
        "Densitometer": series.densitometer.reads,
        "Paper": enlarging.paper,
        "Magnification": with_unit(enlarging.magnification, "times"),
        "Reference's print exposure": with_unit(enlarging.exposure_s, "s"),
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
        series.protocol.shadow_patch: "its density picks the frame",
    }
    return tuple(
        PatchFact(
            name=patch.name,
            reflectance="" if patch.luminous_reflectance is None else f"{100 * patch.luminous_reflectance:g} %",
            role=roles.get(patch.id, ""),
        )
        for patch in series.patches
    )
