"""The page of the study of the curve's estimator: how far off and how sure its measures are, in simulation."""

import json
from dataclasses import dataclass
from importlib.resources import files
from itertools import groupby
from typing import Any, Final

from basefog.publish.pages.frame import METHOD, Link
from basefog.publish.pages.measure_rows import address_of_definition
from basefog.publish.pages.page_of_summary import format_unit
from basefog.publish.pages.words import join_names
from basefog.records.numbers import decimals_for, format_number
from basefog.records.vocabulary import MEASURE_BY_ID

RESULTS: Final = "study_results.json"
"""The table that the study writes beside the formulas."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StudyCell:
    """One measure on one kind of film at one reading error, over many simulated tests; all in the measure's unit."""

    kind: str
    repeatability: float
    replicates: int
    measure: str
    tests: int
    bias: float
    scatter: float
    bias_ratio: float
    coverage: float
    false_verdicts: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class StudyRow:
    """One cell as its table tells it: `condition` is the reading error and the readings of each step."""

    condition: str
    bias: str
    scatter: str
    bias_ratio: str
    coverage: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StudyKind:
    """One kind of film and its rows."""

    kind: str
    rows: tuple[StudyRow, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class StudyMeasure:
    """One measure over all cells: its coverage on the whole, where it is poorest, its largest bias over scatter.

    `id` is its anchor on the page; `definition` leads to where the method page defines it.
    """

    id: str
    definition: Link
    unit: str
    coverage: str
    poorest: str
    largest_bias: str
    false_verdicts: str
    kinds: tuple[StudyKind, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Study:
    """Template variable `view` of `study.html`."""

    method: Link
    tests: int
    kinds: str
    summary: tuple[str, ...]
    measures: tuple[StudyMeasure, ...]


def read_study() -> tuple[StudyCell, ...]:
    """Return the cells of the study that is kept beside the formulas."""
    return parse_study((files("basefog.measure") / RESULTS).read_text(encoding="utf-8"))


def parse_study(text: str) -> tuple[StudyCell, ...]:
    """Return the cells of a table of the study. Raises KeyError or ValueError where it is none or has none.

    Arguments: `text`, JSON.
    """
    cells = tuple(_parse_cell(cell) for cell in json.loads(text)["cells"])
    if not cells:
        raise ValueError("the table of the study has no cells")
    return cells


def _parse_cell(cell: dict[str, Any]) -> StudyCell:
    told = cell["false_verdicts"]
    return StudyCell(
        kind=str(cell["kind"]),
        repeatability=float(cell["repeatability"]),
        replicates=int(cell["replicates"]),
        measure=str(cell["measure"]),
        tests=int(cell["tests"]),
        bias=float(cell["bias"]),
        scatter=float(cell["scatter"]),
        bias_ratio=float(cell["bias_ratio"]),
        coverage=float(cell["coverage"]),
        false_verdicts=None if told is None else float(told),
    )


def tell_in_a_sentence(cells: tuple[StudyCell, ...]) -> str:
    """Return, for the method page, how many intervals held the true value in simulation and where the fewest did."""
    held, poorest = _percent(_mean([cell.coverage for cell in cells])), _poorest(cells)
    return (
        f"Tried in simulation on films whose true values are known, {held} of the 95 % intervals held the true value; "
        f"the fewest, {_percent(poorest.coverage)}, did for {_where(poorest)}."
    )


def page_of_study(cells: tuple[StudyCell, ...]) -> Study:
    """Return the view-model of the study's page."""
    by_measure = {
        measure: [cell for cell in cells if cell.measure == measure]
        for measure in dict.fromkeys(cell.measure for cell in cells)
    }
    return Study(
        method=Link(label="Method", address=METHOD),
        tests=min(cell.tests for cell in cells),
        kinds=join_names(list(dict.fromkeys(cell.kind for cell in cells))),
        summary=_summary(cells),
        measures=tuple(_measure(measure, own) for measure, own in by_measure.items()),
    )


def _summary(cells: tuple[StudyCell, ...]) -> tuple[str, ...]:
    """Say in words how the study came out on the whole, and its worst cells."""
    shifted = max(cells, key=lambda cell: (abs(cell.bias_ratio), cell.measure, cell.kind))
    held = (
        f"Over all, {_percent(_mean([cell.coverage for cell in cells]))} of the 95 % intervals held the true value. "
        f"Fewest did for {_where(_poorest(cells))}: {_percent(_poorest(cells).coverage)}."
    )
    off = (
        f"The largest bias beside its scatter is that of {_where(shifted)}: "
        f"{format_number(shifted.bias_ratio, 2, signed=True)} of the scatter of single tests."
    )
    sentences = [held, off]
    told = [cell.false_verdicts for cell in cells if cell.false_verdicts is not None]
    if told:
        sentences.append(
            f"Two tests of one and the same film were told to differ in {_percent(_mean(told))} of all comparisons."
        )
    return tuple(sentences)


def _poorest(cells: tuple[StudyCell, ...]) -> StudyCell:
    return min(cells, key=lambda cell: (cell.coverage, cell.measure, cell.kind))


def _measure(measure: str, cells: list[StudyCell]) -> StudyMeasure:
    kinds = {kind: [cell for cell in cells if cell.kind == kind] for kind in dict.fromkeys(cell.kind for cell in cells)}
    coverage = {kind: _mean([cell.coverage for cell in own]) for kind, own in kinds.items()}
    poorest = min(coverage, key=lambda kind: (coverage[kind], kind))
    shifted = max(cells, key=lambda cell: (abs(cell.bias_ratio), cell.kind))
    told = [cell.false_verdicts for cell in cells if cell.false_verdicts is not None]
    known = MEASURE_BY_ID[measure]
    # One count of decimals for the whole measure, by its usual scatter, so that columns can be read down.
    decimals = decimals_for(sorted(cell.scatter for cell in cells)[len(cells) // 2])
    return StudyMeasure(
        id=measure,
        definition=Link(label=known.name, address=address_of_definition(measure)),
        unit=format_unit(known.unit),
        coverage=_percent(_mean([cell.coverage for cell in cells])),
        poorest=f"{_percent(coverage[poorest])}, {poorest}",
        largest_bias=f"{format_number(shifted.bias_ratio, 2, signed=True)}, {shifted.kind}",
        false_verdicts=_percent(_mean(told)) if told else "lower bounds only",
        kinds=tuple(
            StudyKind(kind=kind, rows=tuple(_row(cell, decimals) for cell in own))
            for kind, own in ((kind, list(own)) for kind, own in groupby(cells, key=lambda cell: cell.kind))
        ),
    )


def _row(cell: StudyCell, decimals: int) -> StudyRow:
    return StudyRow(
        condition=f"{cell.repeatability:g} × {cell.replicates}",
        bias=format_number(cell.bias, decimals, signed=True),
        scatter=format_number(cell.scatter, decimals),
        bias_ratio=format_number(cell.bias_ratio, 2, signed=True),
        coverage=_percent(cell.coverage),
    )


def _where(cell: StudyCell) -> str:
    """Return a cell in words: its measure, film and reading."""
    name = MEASURE_BY_ID[cell.measure].name
    times = {1: "once", 2: "twice"}.get(cell.replicates, f"{cell.replicates} times")
    return f"{name[:1].lower()}{name[1:]} on the {cell.kind} film read {times} to {cell.repeatability:g}"


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


def _percent(share: float) -> str:
    """Return a share in per cent.

    >>> _percent(0.9514)
    '95.1 %'
    """
    return f"{format_number(100 * share, 1)} %"
