"""The page that sets any two tests side by side in the browser: all it must know beside the tests' own data.

The page's script reads the tests' published data; names, words, definitions and the series' scatter stand in the page,
made here of the same vocabulary as every other page.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from markupsafe import Markup

from basefog.judge import IN_LOGARITHMS, ON_THE_AXIS, RELATIVE_SCATTER, WHY_NO_DIFFERENCE, has_difference, rule_of
from basefog.measure.speed import WHY_AXES
from basefog.picture.charts.blank import draw_blank_chart
from basefog.publish.addresses import address_of_comparison
from basefog.publish.data.summary import wedges_json
from basefog.publish.pages.measure_rows import COUNTED, SIGNED, address_of_definition
from basefog.publish.pages.names import name_test
from basefog.publish.pages.quantities import UNIT_LABELS
from basefog.publish.pages.verdict import SAID, SPEED_BY
from basefog.publish.pages.words import SIDES, WORDINGS, with_sure
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Factors, Findings, Scatter
from basefog.records.numbers import round_to
from basefog.records.vocabulary import MEASURES, Measure

_TOLD: Final = (*SPEED_BY, *(measure for measure in SAID if measure not in SPEED_BY))
"""Measures that the summary in words may tell, patches apart."""


@dataclass(frozen=True, kw_only=True, slots=True)
class TestChoice:
    """A test that can be chosen, and what it is called beside the other tests of its stock.

    An empty `id` stands for the stock's figure.
    """

    id: str
    label: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StockChoice:
    """A stock that can be chosen: its figure first, then its tests, the current one before the others, newest first.

    `current` is the id of the current test, which carries the figure, empty where none counts; `comparison` is its
    page against the reference, empty where it has none; `former` are its former slugs.
    """

    slug: str
    name: str
    current: str
    tests: tuple[TestChoice, ...]
    comparison: str
    former: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class ComparedRow:
    """One measure or patch: its words, and what comparing it takes.

    `subject`, `clauses` (higher, lower; a sign # stands where "probably" goes) and `sides` (the same in a table) are
    its words; `said` is its place in the summary in words, 0 where that leaves it out, `by` what a speed goes by where
    two are told; `never` says why two of it are not subtracted.

    `student`, `firm` and `dunnett` times the root of the variance are half the interval and what a firm difference is
    beyond, of any two and against the reference; `source` told the scatter, empty where nothing did; `in_logarithms`
    says that the figures' logarithms are compared, `on_the_axis` that their log exposures must be on one axis,
    `relative` that the scatter is a share of the value.
    """

    id: str
    name: str
    unit: str
    subject: str
    clauses: tuple[str, str]
    sides: tuple[str, str]
    student: float
    firm: float
    dunnett: float
    source: str
    said: int
    by: str = ""
    in_logarithms: bool = False
    on_the_axis: bool = False
    relative: bool = False
    signed: bool = False
    is_standard_speed: bool = False
    never: str = ""
    definition: str = ""
    definition_address: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class AnyTwoPage:
    """Template variable `view` of `any-two.html`; `chart` is an empty chart, drawn into by the page's script.

    `wedges` are the standard uncertainties of the wedges' steps, as JSON; `counted` what an error may hold, in words.
    """

    reference: str
    reference_name: str
    stocks: tuple[StockChoice, ...]
    measures: tuple[ComparedRow, ...]
    patches: tuple[ComparedRow, ...]
    chart: Markup
    wedges: str
    counted: Mapping[str, str] = field(default_factory=lambda: COUNTED)
    why_axes: Mapping[str, str] = field(default_factory=lambda: WHY_AXES)


def page_of_any_two(series: Series, findings: Findings) -> AnyTwoPage:
    """Return what the page of any two tests is made of."""
    return AnyTwoPage(
        reference=findings.reference or "",
        reference_name=series.reference_stock.name,
        stocks=tuple(_choice(series, findings, stock) for stock in series.stocks if stock.tests),
        measures=tuple(_row_of_measure(measure, findings) for measure in MEASURES),
        patches=tuple(
            _row_of_patch(patch.id, patch.name, findings, len(_TOLD) + place)
            for place, patch in enumerate(series.patches, start=1)
            # All others are counted from the grey patch: it has nothing to tell.
            if patch.id != series.protocol.grey_patch
        ),
        chart=Markup(draw_blank_chart()),  # noqa: S704  # our own drawing
        wedges=json.dumps(wedges_json(series), separators=(",", ":")),
    )


def _choice(series: Series, findings: Findings, stock: Stock) -> StockChoice:
    newest_first = tuple(reversed(stock.tests))
    tests = sorted(newest_first, key=lambda test: test.id != stock.current)
    compared = stock.current is not None and findings.reference is not None and stock.slug != series.reference
    figure = () if stock.current is None else (TestChoice(id="", label=_label_of_figure(findings, stock)),)
    return StockChoice(
        slug=stock.slug,
        name=stock.name,
        current=stock.current or "",
        tests=(*figure, *(TestChoice(id=test.id, label=_label(stock, test)) for test in tests)),
        comparison=address_of_comparison(stock.slug) if compared else "",
        former=stock.former_slugs,
    )


def _label_of_figure(findings: Findings, stock: Stock) -> str:
    tests = len(findings.tests[f"{stock.slug}/{stock.current}"].group)
    return f"mean of {tests} tests" if tests > 1 else "current test"


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
    student, firm, dunnett, source = _rule(findings.scatter.get(measure.id), findings.factors.get(measure.id))
    return ComparedRow(
        id=measure.id,
        name=measure.name,
        unit=UNIT_LABELS.get(measure.unit, measure.unit),
        subject=words.subject,
        clauses=(with_sure(words.higher, "#"), with_sure(words.lower, "#")),
        sides=SIDES.get(measure.id, ("higher", "lower")),
        student=student,
        firm=firm,
        dunnett=dunnett,
        source=source,
        said=_TOLD.index(measure.id) + 1 if measure.id in _TOLD else 0,
        by=SPEED_BY.get(measure.id, ""),
        in_logarithms=measure.id in IN_LOGARITHMS,
        on_the_axis=measure.id in ON_THE_AXIS,
        relative=measure.id in RELATIVE_SCATTER,
        signed=measure.id in SIGNED,
        is_standard_speed=measure.id == "iso_speed",
        never="" if has_difference(measure.id) else WHY_NO_DIFFERENCE,
        definition=measure.definition,
        definition_address=address_of_definition(measure.id),
    )


def _row_of_patch(patch: str, name: str, findings: Findings, said: int) -> ComparedRow:
    student, firm, dunnett, source = _rule(findings.patch_scatter.get(patch), findings.patch_factors.get(patch))
    return ComparedRow(
        id=patch,
        name=name,
        unit="stops",
        subject=name,
        clauses=(f"{name} # lighter", f"{name} # darker"),
        sides=("lighter", "darker"),
        student=student,
        firm=firm,
        dunnett=dunnett,
        source=source,
        said=said,
        signed=True,
    )


def _rule(scatter: Scatter | None, factors: Factors | None) -> tuple[float, float, float, str]:
    """Return what half an interval and a firm difference are times the root of the variance, and what told scatter.

    A firm difference twice: of any two, and of one to the reference.
    """
    student = rule_of("", scatter, firm=None).student
    firm, dunnett = (student, student) if factors is None else (factors.any_two, factors.dunnett)
    source = "" if scatter is None else scatter.source
    return round_to(student, 6), round_to(firm, 6), round_to(dunnett, 6), source
