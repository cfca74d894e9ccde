"""Calibrated step wedges, paper curves and scanner calibrations."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Generic, TypeVar

from basefog.read.cells import Row
from basefog.read.fields import is_slug
from basefog.read.folder import SeriesFolder
from basefog.read.plausible import Group, ReadingError, ScaledReading, check_rise, check_scale, quantum_of
from basefog.read.problem_list import ProblemList
from basefog.read.tables import (
    Table,
    find_tables,
    parse_density,
    read_id,
    read_number,
    read_scaled,
    read_table,
    require_columns,
    tell_other_columns,
)
from basefog.records.content import InputFile, Paper, Wedge, read_only

Record = TypeVar("Record")
Pairs = tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Known(Generic[Record]):
    """Records by id, the ids of files that could not be read (nothing more is said of those), and the files."""

    records: Mapping[str, Record]
    broken: frozenset[str]
    inputs: Mapping[str, InputFile] = field(default_factory=dict)

    def __contains__(self, name: str) -> bool:
        return name in self.records or name in self.broken


def read_wedges(folder: SeriesFolder, problems: ProblemList) -> Known[Wedge]:
    """Return the calibrated wedges of the series."""
    return _read_known(folder, "wedges", "step", lambda name, table: _parse_wedge(name, table, problems), problems)


def read_papers(folder: SeriesFolder, repeatability: float, problems: ProblemList) -> Known[Paper]:
    """Return the paper curves of the series, read with a densitometer of that repeatability."""

    def parse(name: str, table: Table) -> Paper | None:
        return _parse_paper(name, table, repeatability, problems)

    return _read_known(folder, "papers", "log_exposure", parse, problems)


def _read_known(
    folder: SeriesFolder,
    path: str,
    key_column: str,
    parse: Callable[[str, Table], Record | None],
    problems: ProblemList,
) -> Known[Record]:
    records: dict[str, Record] = {}
    inputs: dict[str, InputFile] = {}
    broken: set[str] = set()
    for stem, entry in find_tables(folder, path, problems).items():
        if not is_slug(stem):
            problems.problem(
                entry.place, f"found the name '{stem}', expected a slug of a-z, 0-9 and hyphens", "Rename the file."
            )
        table = read_table(folder, entry, key_column, problems)
        record = parse(stem, table) if table else None
        if table is None or record is None:
            broken.add(stem)
        else:
            records[stem] = record
            inputs[stem] = table.input
    return Known(records=records, broken=frozenset(broken), inputs=inputs)


@dataclass(frozen=True, kw_only=True, slots=True)
class _WedgeStep:
    """A step of a wedge, as its row tells it."""

    name: str
    row: Row
    density: ScaledReading
    u_density: float | None


def _parse_wedge(name: str, table: Table, problems: ProblemList) -> Wedge | None:
    before = problems.count
    if not require_columns(table, problems, "density"):
        return None
    tell_other_columns(table, ("step", "density", "u_density"), problems)
    steps: dict[str, _WedgeStep] = {}
    for row in table.rows:
        step = _read_wedge_step(table, row, steps, problems)
        if step is not None:
            steps[step.name] = step
    check_scale([step.density for step in steps.values()], problems)
    if problems.count == before and len(steps) < 2:
        problems.problem(table.place(), "a wedge needs two steps or more", "List the steps with their densities.")
    if problems.count == before:
        _check_monotone(table, _in_row_of_steps(list(steps.values())), problems)
    without = [step for step in steps.values() if step.u_density is None]
    if problems.count == before and 0 < len(without) < len(steps):
        problems.problem(
            table.place(without[0].row),
            f"step `{without[0].name}` has no u_density, though others have",
            "Give it for every step, or for none.",
        )
    if problems.count > before:
        return None
    if without:
        problems.remark(
            table.place(),
            "the wedge has no u_density and counts as exact; in simulation intervals that should hold 95 % held 70 to"
            " 90 % when a wedge of 0.010 was taken as exact",
            "Add a column `u_density`, the standard uncertainty of each step's density.",
        )
    ordered = sorted(steps.values(), key=lambda step: step.density.density)
    uncertainties = [step.u_density for step in ordered if step.u_density is not None]
    return Wedge(
        id=name,
        steps=tuple(step.name for step in ordered),
        density=read_only([step.density.density for step in ordered]),
        u_density=read_only(uncertainties) if uncertainties else None,
        place=table.place(),
    )


def _read_wedge_step(
    table: Table, row: Row, steps: Mapping[str, _WedgeStep], problems: ProblemList
) -> _WedgeStep | None:
    named = read_id(table, row, "step", problems)
    if named is None:
        return None
    name, cell = named
    if name in steps:
        problems.problem(table.place(cell), f"step `{name}` is there twice", "Keep one of the two rows.")
        return None
    if name == "base":
        problems.problem(table.place(cell), "a wedge has no step `base`", "Take the row out.")
        return None
    density_cell, spread_cell = table.cell(row, "density"), table.cell(row, "u_density")
    if density_cell is None:
        problems.problem(table.place(row), f"step `{name}` has no density", "Write its density, or take the row out.")
        return None
    density = read_scaled(table, density_cell, problems)
    spread = None
    if spread_cell is not None:
        spread = read_number(table, spread_cell, "a standard uncertainty from 0 to 1", (0, 1), problems)
    if density is None:
        return None
    reading = ScaledReading(table=table, cell=density_cell, density=density, light=None)
    return _WedgeStep(name=name, row=row, density=reading, u_density=spread)


def _in_row_of_steps(steps: list[_WedgeStep]) -> list[_WedgeStep]:
    """Return numbered steps by number, so that the order of rows does not matter; others as they stand."""
    numbers = {step.name: parse_density(step.name) for step in steps}
    if any(number is None for number in numbers.values()):
        return steps
    return sorted(steps, key=lambda step: numbers[step.name] or 0.0)


def _check_monotone(table: Table, steps: Sequence[_WedgeStep], problems: ProblemList) -> None:
    rising = steps[-1].density.density > steps[0].density.density
    for before, step in pairwise(steps):
        last, density = before.density.density, step.density.density
        if density == last or (density > last) != rising:
            problems.problem(
                table.place(step.density.cell),
                f"step `{step.name}`: found density {density:g}, expected one {'above' if rising else 'below'}"
                f" {last:g}, that of step `{before.name}`",
                "Correct this density or the one before it: a wedge runs from thin to dense without turning back.",
            )
            return


def _parse_paper(name: str, table: Table, repeatability: float, problems: ProblemList) -> Paper | None:
    before = problems.count
    points = _read_points(table, "log_exposure", ("a log exposure from -10 to 10", (-10, 10)), problems)
    if check_scale(points, problems) and problems.count == before:
        if len(points) < 4:
            problems.problem(
                table.place(), f"found {len(points)} points, expected four or more", "Read more steps of the paper."
            )
        error = ReadingError(repeatability=repeatability, quantum=quantum_of(points))
        groups = [
            Group(name=f"log_exposure {point.light:g}", light=point.light or 0.0, readings=(point,)) for point in points
        ]
        check_rise(groups, error, "step", problems)
    if problems.count > before:
        return None
    return Paper(
        id=name,
        log_exposure=read_only([point.light or 0.0 for point in points]),
        density=read_only([point.density for point in points]),
        place=table.place(),
    )


def parse_code_density(table: Table, problems: ProblemList) -> Pairs | None:
    """Return the pairs of a scanner calibration, by rising code value."""
    before = problems.count
    points = _read_points(table, "code", ("a code value", (-1e9, 1e9)), problems)
    check_scale(points, problems)
    return tuple((point.light or 0.0, point.density) for point in points) if problems.count == before else None


def _read_points(
    table: Table, x_column: str, x_kind: tuple[str, tuple[float, float]], problems: ProblemList
) -> list[ScaledReading]:
    """Return the points of a curve by rising x, which stands as their light."""
    points: dict[float, ScaledReading] = {}
    if not require_columns(table, problems, "density"):
        return []
    tell_other_columns(table, (x_column, "density"), problems)
    for row in table.rows:
        x_cell, density_cell = table.cell(row, x_column), table.cell(row, "density")
        if x_cell is None or density_cell is None:
            if x_cell is not density_cell:
                problems.problem(table.place(row), "the row is not complete", "Fill both cells, or empty the row.")
            continue
        x = read_number(table, x_cell, x_kind[0], x_kind[1], problems)
        density = read_scaled(table, density_cell, problems)
        if x is None or density is None:
            continue
        if x in points:
            problems.problem(table.place(x_cell), f"{x_column} {x:g} is there twice", "Keep one of the two rows.")
        points[x] = ScaledReading(table=table, cell=density_cell, density=density, light=x)
    return [points[x] for x in sorted(points)]
