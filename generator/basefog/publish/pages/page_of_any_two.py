"""The page that sets any two tests side by side in the browser: all it must know beside the tests' own data.

The page's script reads the tests' published data; names, words, definitions and the series' scatter stand in the page,
made here of the same vocabulary as every other page.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from markupsafe import Markup

from basefog.judge import IN_LOGARITHMS, WHY_NO_DIFFERENCE, has_difference, rule_of
from basefog.measure.speed import WHY_AXES
from basefog.picture.charts.blank import draw_blank_chart
from basefog.publish.addresses import address_of_comparison
from basefog.publish.data.values import ERROR_DIGITS
from basefog.publish.pages.measure_rows import SIGNED, address_of_definition
from basefog.publish.pages.names import name_test
from basefog.publish.pages.quantities import UNIT_LABELS
from basefog.publish.pages.verdict import SAID
from basefog.publish.pages.words import SIDES, WORDINGS
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Factors, Findings, Scatter
from basefog.records.numbers import round_to_digits
from basefog.records.vocabulary import MEASURES, Measure


@dataclass(frozen=True, kw_only=True, slots=True)
class TestChoice:
    """A test that can be chosen, and what it is called beside the other tests of its stock."""

    id: str
    label: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StockChoice:
    """A stock that can be chosen: its current test first, then the others, newest first.

    `comparison` is its page against the reference, empty where it has none; `former` are its former slugs.
    """

    slug: str
    name: str
    tests: tuple[TestChoice, ...]
    comparison: str
    former: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class ComparedRow:
    """One measure or patch: its words, and what comparing it takes.

    `subject`, `clauses` (higher, lower) and `sides` (the same in a table) are its words; `said` is its place in the
    summary in words, 0 where that leaves it out; `never` says why two of it are not subtracted. `student` and `firm`
    times the root of the variance are half the interval and what a firm difference is beyond; `source` told the
    scatter, empty where nothing did; `in_logarithms` says that the figures' logarithms are compared.
    """

    id: str
    name: str
    unit: str
    subject: str
    clauses: tuple[str, str]
    sides: tuple[str, str]
    student: float
    firm: float
    source: str
    said: int
    in_logarithms: bool = False
    signed: bool = False
    is_standard_speed: bool = False
    never: str = ""
    definition: str = ""
    definition_address: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class AnyTwoPage:
    """Template variable `view` of `any-two.html`; `chart` is an empty chart, drawn into by the page's script."""

    reference: str
    reference_name: str
    stocks: tuple[StockChoice, ...]
    measures: tuple[ComparedRow, ...]
    patches: tuple[ComparedRow, ...]
    chart: Markup
    wedges: Mapping[str, Mapping[str, float]]
    why_axes: Mapping[str, str] = field(default_factory=lambda: WHY_AXES)


def page_of_any_two(series: Series, findings: Findings) -> AnyTwoPage:
    """Return what the page of any two tests is made of."""
    return AnyTwoPage(
        reference=findings.reference or "",
        reference_name=series.reference_stock.name,
        stocks=tuple(_choice(series, findings, stock) for stock in series.stocks if stock.tests),
        measures=tuple(_row_of_measure(measure, findings) for measure in MEASURES),
        patches=tuple(
            _row_of_patch(patch.id, patch.name, findings, len(SAID) + place)
            for place, patch in enumerate(series.patches, start=1)
            # All others are counted from the grey patch: it has nothing to tell.
            if patch.id != series.protocol.grey_patch
        ),
        chart=Markup(draw_blank_chart()),  # noqa: S704  # our own drawing
        wedges={
            wedge.id: {
                step: round_to_digits(float(u_density), ERROR_DIGITS)
                for step, u_density in zip(wedge.steps, wedge.u_density, strict=True)
            }
            for wedge in series.wedges.values()
            if wedge.u_density is not None
        },
    )


def _choice(series: Series, findings: Findings, stock: Stock) -> StockChoice:
    newest_first = tuple(reversed(stock.tests))
    tests = sorted(newest_first, key=lambda test: test.id != stock.current)
    compared = stock.current is not None and findings.reference is not None and stock.slug != series.reference
    return StockChoice(
        slug=stock.slug,
        name=stock.name,
        tests=tuple(TestChoice(id=test.id, label=_label(stock, test)) for test in tests),
        comparison=address_of_comparison(stock.slug) if compared else "",
        former=stock.former_slugs,
    )


def _label(stock: Stock, test: Test) -> str:
    said = (
        name_test(test),
        "current" if test.id == stock.current and len(stock.tests) > 1 else "",
        "withdrawn" if test.withdrawn else "",
        f"{test.developed.time_min:g} min" if test.development_of else "",
        "repeat" if test.repeat else "",
    )
    return ", ".join(filter(None, said))


def _row_of_measure(measure: Measure, findings: Findings) -> ComparedRow:
    words = WORDINGS[measure.id]
    student, firm, source = _rule(findings.scatter.get(measure.id), findings.factors.get(measure.id))
    return ComparedRow(
        id=measure.id,
        name=measure.name,
        unit=UNIT_LABELS.get(measure.unit, measure.unit),
        subject=words.subject,
        clauses=(words.higher, words.lower),
        sides=SIDES.get(measure.id, ("higher", "lower")),
        student=student,
        firm=firm,
        source=source,
        in_logarithms=measure.id in IN_LOGARITHMS,
        said=SAID.index(measure.id) + 1 if measure.id in SAID else 0,
        signed=measure.id in SIGNED,
        is_standard_speed=measure.id == "iso_speed",
        never="" if has_difference(measure.id) else WHY_NO_DIFFERENCE,
        definition=measure.definition,
        definition_address=address_of_definition(measure.id),
    )


def _row_of_patch(patch: str, name: str, findings: Findings, said: int) -> ComparedRow:
    student, firm, source = _rule(findings.patch_scatter.get(patch), findings.patch_factors.get(patch))
    return ComparedRow(
        id=patch,
        name=name,
        unit="stops",
        subject=name,
        clauses=(f"{name} lighter", f"{name} darker"),
        sides=("lighter", "darker"),
        student=student,
        firm=firm,
        source=source,
        said=said,
        signed=True,
    )


def _rule(scatter: Scatter | None, factors: Factors | None) -> tuple[float, float, str]:
    """Return what half an interval and a firm difference of any two are times the root of the variance."""
    student = rule_of("", scatter, firm=None).student
    firm = student if factors is None else factors.any_two
    return round(student, 6), round(firm, 6), "" if scatter is None else scatter.source
