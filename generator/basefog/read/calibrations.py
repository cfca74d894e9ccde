"""Calibrated step wedges, paper curves and scanner calibrations."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

import numpy as np

from basefog.read.fields import is_slug
from basefog.read.folder import SeriesFolder
from basefog.read.plausible import ScaledReading, check_scale
from basefog.read.problem_list import ProblemList
from basefog.read.tables import (
    DENSITY_LIMIT,
    Table,
    find_tables,
    parse_density,
    read_id,
    read_number,
    read_table,
    require_columns,
    tell_cell,
)
from basefog.records.content import FloatArray, InputFile, Paper, Wedge

Record = TypeVar("Record")


@dataclass(frozen=True, kw_only=True, slots=True)
class Known(Generic[Record]):
    """Records by id, the ids of files that could not be read (nothing more is said of those), and the files."""

    records: Mapping[str, Record] = field(default_factory=dict)
    broken: frozenset[str] = frozenset()
    inputs: Mapping[str, InputFile] = field(default_factory=dict)

    def __contains__(self, name: str) -> bool:
        return name in self.records or name in self.broken


def read_wedges(folder: SeriesFolder, problems: ProblemList) -> Known[Wedge]:
    """Return the calibrated wedges of the series."""
    return _read_known(folder, "wedges", "step", _parse_wedge, problems)


def read_papers(folder: SeriesFolder, problems: ProblemList) -> Known[Paper]:
    """Return the paper curves of the series."""
    return _read_known(folder, "papers", "log_exposure", _parse_paper, problems)


def _read_known(
    folder: SeriesFolder,
    path: str,
    key_column: str,
    parse: Callable[[str, Table, ProblemList], Record | None],
    problems: ProblemList,
) -> Known[Record]:
    records: dict[str, Record] = {}
    inputs: dict[str, InputFile] = {}
    broken: set[str] = set()
    for stem, entry in sorted(find_tables(folder, path, problems).items()):
        before = len(problems)
        table = read_table(folder, entry, key_column, problems)
        record = parse(stem, table, problems) if table else None
        if table and not is_slug(stem):
            problems.problem(
                table.place(), f"found the name '{stem}', expected a slug of a-z, 0-9 and hyphens", "Rename the file."
            )
        if table is None or record is None or len(problems) > before:
            broken.add(stem)
        if table is not None and record is not None:
            records[stem] = record
            inputs[stem] = table.input
    return Known(records=records, broken=frozenset(broken), inputs=inputs)


def read_only(values: Sequence[float]) -> FloatArray:
    """Return values as an array that can't be changed."""
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array


def _parse_wedge(name: str, table: Table, problems: ProblemList) -> Wedge | None:
    before = len(problems)
    if not require_columns(table, problems, "density"):
        return None
    _tell_other_columns(table, {"step", "density", "u_density"}, problems)
    steps: dict[str, tuple[float, float | None, int]] = {}
    scaled: list[ScaledReading] = []
    for row in table.rows:
        named = read_id(table, row, "step", problems)
        density = table.cell(row, "density")
        if named is None:
            continue
        step, cell = named
        if step in steps:
            problems.problem(table.place(cell), f"step `{step}` is there twice", "Keep one of the two rows.")
        elif step == "base":
            problems.problem(table.place(cell), "a wedge has no step `base`", "Take the row out.")
        elif density is None:
            problems.problem(
                table.place(row), f"step `{step}` has no density", "Write its density, or take the row out."
            )
        else:
            value = None if density.fault else parse_density(table.text(density))
            if value is None or value < 0:
                tell_cell(table, density, "a density from 0 to 6", problems)
                continue
            scaled.append(ScaledReading(table=table, cell=density, density=value, light=None))
            spread = table.cell(row, "u_density")
            u = read_number(table, spread, "a standard uncertainty from 0 to 1", 0, 1, problems) if spread else None
            steps[step] = (value, u, row.line)
    check_scale(scaled, problems)
    if len(problems) > before:
        return None
    if len(steps) < 2:
        problems.problem(table.place(), "a wedge needs two steps or more", "List the steps with their densities.")
        return None
    _check_monotone(table, steps, problems)
    uncertainties = [u for _, u, _ in steps.values()]
    if any(u is None for u in uncertainties) and any(u is not None for u in uncertainties):
        problems.problem(
            table.place(), "u_density is given for some steps only", "Give it for every step, or for none."
        )
    if len(problems) > before:
        return None
    ordered = sorted(steps, key=lambda step: (steps[step][0], step))
    return Wedge(
        id=name,
        steps=tuple(ordered),
        density=read_only([steps[step][0] for step in ordered]),
        u_density=read_only([steps[step][1] or 0.0 for step in ordered]) if uncertainties[0] is not None else None,
        place=table.place(),
    )


def _check_monotone(table: Table, steps: Mapping[str, tuple[float, float | None, int]], problems: ProblemList) -> None:
    """Tell the first step that turns back. Numbered steps are taken by number, so that row order does not matter."""
    names = list(steps)
    if all(_step_number(name) is not None for name in names):
        names.sort(key=lambda name: _step_number(name) or 0.0)
    rising = steps[names[-1]][0] > steps[names[0]][0]
    for before, name in zip(names, names[1:], strict=False):
        if (steps[name][0] > steps[before][0]) != rising or steps[name][0] == steps[before][0]:
            direction = "above" if rising else "below"
            problems.problem(
                table.place(next(row for row in table.rows if row.line == steps[name][2])),
                f"step `{name}`: found density {steps[name][0]:g}, expected one {direction} step `{before}`'s"
                f" {steps[before][0]:g}",
                "Correct the density: a wedge runs from thin to dense without turning back.",
            )
            return


def _step_number(name: str) -> float | None:
    return parse_density(name)


def _tell_other_columns(table: Table, known: set[str], problems: ProblemList) -> None:
    for name in sorted(table.names):
        if name not in known:
            cell = table.header.at(table.names[name])
            problems.problem(
                table.place(cell),
                f"found the column `{name}`, expected {', '.join(sorted(known))}",
                "Take the column out.",
            )


def _parse_paper(name: str, table: Table, problems: ProblemList) -> Paper | None:
    pairs = _read_pairs(table, ("log_exposure", "density"), ("a log exposure from -10 to 10", -10, 10), problems)
    if pairs is None:
        return None
    if len(pairs) < 4:
        problems.problem(
            table.place(), f"found {len(pairs)} points, expected four or more", "Read more steps of the paper."
        )
        return None
    return Paper(
        id=name,
        log_exposure=read_only([x for x, _ in pairs]),
        density=read_only([density for _, density in pairs]),
        place=table.place(),
    )


def parse_code_density(table: Table, problems: ProblemList) -> tuple[tuple[float, float], ...] | None:
    """Return the pairs of a scanner calibration, by rising code value."""
    return _read_pairs(table, ("code", "density"), ("a code value from 0 to 100000000", -1e8, 1e8), problems)


def _read_pairs(
    table: Table, columns: tuple[str, str], bounds: tuple[str, float, float], problems: ProblemList
) -> tuple[tuple[float, float], ...] | None:
    before = len(problems)
    if not require_columns(table, problems, *columns):
        return None
    _tell_other_columns(table, set(columns), problems)
    pairs: dict[float, float] = {}
    for row in table.rows:
        x_cell, density_cell = (table.cell(row, column) for column in columns)
        if x_cell is None and density_cell is None:
            continue
        if x_cell is None or density_cell is None:
            problems.problem(table.place(row), "the row is not complete", "Fill both cells, or empty the row.")
            continue
        x = read_number(table, x_cell, *bounds, problems, fractions=True)
        density = read_number(table, density_cell, "a density from 0 to 6", 0, DENSITY_LIMIT, problems)
        if x is None or density is None:
            continue
        if x in pairs:
            problems.problem(table.place(x_cell), f"{columns[0]} {x:g} is there twice", "Keep one of the two rows.")
        pairs[x] = density
    return tuple(sorted(pairs.items())) if len(problems) == before else None
