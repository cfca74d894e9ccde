"""The two tables of a test: readings of the wedge exposure and of the bracketed frames."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from basefog.read.cells import Row
from basefog.read.fields import is_id
from basefog.read.plausible import (
    Group,
    ReadingError,
    ScaledReading,
    check_base,
    check_replicates,
    check_rise,
    check_scale,
    quantum_of,
)
from basefog.read.problem_list import ProblemList
from basefog.read.tables import Table, parse_density, read_cell, read_id, read_number, tell_cell, undeclared
from basefog.records.content import BracketReadings, Exposure, Frame, Reading, StepReadings, Wedge, WedgeReadings

BASE = "base"


@dataclass(frozen=True, kw_only=True, slots=True)
class Setup:
    """What a test's tables are read against. `wedge` and `patches` are None where a fault in them was told already."""

    exposure: Exposure
    wedge: Wedge | None
    patches: Collection[str] | None
    repeatability: float


@dataclass(frozen=True, kw_only=True, slots=True)
class _Line:
    """A row of readings before it is judged: its id, its log exposure or stops, and its readings."""

    name: str
    light: float | None
    row: Row
    readings: tuple[ScaledReading, ...]


def read_wedge_readings(
    table: Table, setup: Setup, problems: ProblemList
) -> tuple[WedgeReadings | None, tuple[Reading, ...]]:
    """Return the readings of a wedge exposure, and each of them with its place; problems where they can't stand."""
    columns = [index for name, index in table.names.items() if name not in {"step", "log_exposure"}]
    own_exposure = "log_exposure" in table.names
    if not columns:
        problems.problem(table.place(), "no column holds readings", "Head a column for the readings.")
        return None, ()
    place_step = _own_exposures(table, problems) if own_exposure else _wedge_exposures(setup, table, problems)
    lines: dict[str, _Line] = {}
    for row in table.rows:
        named = read_id(table, row, "step", problems)
        if named is None:
            continue
        step, cell = named
        if step in lines:
            problems.problem(
                table.place(cell), f"step `{step}` is there twice", "Put replicates into columns beside each other."
            )
            continue
        light = None
        if step != BASE and place_step is not None:
            light = place_step(step, row)
        elif own_exposure and (exposed := table.cell(row, "log_exposure")):
            problems.problem(table.place(exposed), "the base got no exposure", "Empty the cell.")
        lines[step] = _Line(name=step, light=light, row=row, readings=_scaled(table, row, columns, light, problems))
    readings = [reading for line in lines.values() for reading in line.readings]
    if not readings:
        problems.problem(table.place(), "the table holds no readings", "Type the readings, or take the file away.")
        return None, ()
    if not check_scale(readings, problems):
        return None, ()
    _check_wedge(lines, ReadingError(repeatability=setup.repeatability, quantum=quantum_of(readings)), problems)
    u_by_step: Mapping[str, float] = {}
    if setup.wedge is not None and setup.wedge.u_density is not None and not own_exposure:
        u_by_step = dict(zip(setup.wedge.steps, setup.wedge.u_density.tolist(), strict=True))
    steps = [
        StepReadings(
            step=line.name,
            log_exposure=line.light,
            u_log_exposure=u_by_step.get(line.name, 0.0),
            readings=_densities(line.readings),
            place=table.place(line.row),
        )
        for line in lines.values()
        if line.name != BASE and line.light is not None and line.readings
    ]
    record = WedgeReadings(
        steps=tuple(sorted(steps, key=lambda step: (step.log_exposure, step.step))),
        base=_densities(lines[BASE].readings) if BASE in lines else (),
        absolute=setup.exposure.absolute if own_exposure else setup.exposure.lux_s is not None,
        wedge=None if own_exposure else setup.exposure.wedge,
        place=table.place(),
    )
    return record, _published("wedge", [(line.name, line.readings) for line in lines.values()])


def read_bracket_readings(
    table: Table, setup: Setup, problems: ProblemList
) -> tuple[BracketReadings | None, tuple[Reading, ...]]:
    """Return the readings of the bracketed frames, and each of them with its place; problems where they can't stand."""
    if "stops" not in table.names:
        problems.problem(
            table.place(), "the column `stops` is missing", "Head a column `stops`: exposure against the metered frame."
        )
        return None, ()
    patches = _patch_columns(table, setup.patches, problems)
    stops: dict[str, float] = {}
    rows: dict[str, Row] = {}
    readings: dict[tuple[str, str], list[ScaledReading]] = {}
    for row in table.rows:
        named = read_id(table, row, "frame", problems)
        if named is None:
            continue
        frame, cell = named
        light = _read_stops(table, row, frame, problems)
        if light is None:
            continue
        if stops.setdefault(frame, light) != light:
            problems.problem(
                table.place(cell),
                f"frame `{frame}` has two exposures, {stops[frame]:g} and {light:g} stops",
                "Correct the frame or the stops.",
            )
            continue
        rows.setdefault(frame, row)
        for patch, index in patches.items():
            readings.setdefault((frame, patch), []).extend(_scaled(table, row, [index], light, problems))
    every = [reading for group in readings.values() for reading in group]
    if not every:
        problems.problem(table.place(), "the table holds no readings", "Type the readings, or take the file away.")
        return None, ()
    if not check_scale([reading for reading in every], problems):
        return None, ()
    error = ReadingError(repeatability=setup.repeatability, quantum=quantum_of(every))
    _check_bracket(stops, readings, error, problems)
    frames = [
        Frame(
            frame=frame,
            stops=light,
            base=_densities(readings.get((frame, BASE), ())),
            patches={
                patch: _densities(readings[frame, patch])
                for patch in sorted(patches)
                if patch != BASE and readings[frame, patch]
            },
            place=table.place(rows[frame]),
        )
        for frame, light in stops.items()
        if any(readings[frame, patch] for patch in patches)
    ]
    record = BracketReadings(
        frames=tuple(sorted(frames, key=lambda frame: (frame.stops, frame.frame))), place=table.place()
    )
    return record, _published("bracket", [(frame, group) for (frame, _), group in readings.items()])


def _own_exposures(table: Table, problems: ProblemList) -> Callable[[str, Row], float | None]:
    """Return how a step is placed by the table's own `log_exposure` column."""
    seen: dict[float, str] = {}

    def place_step(step: str, row: Row) -> float | None:
        cell = table.cell(row, "log_exposure")
        if cell is None:
            problems.problem(table.place(row), f"step `{step}` has no log_exposure", "Write it, or take the row out.")
            return None
        light = read_number(table, cell, "a log exposure from -10 to 10", -10, 10, problems, fractions=True)
        if light is not None and light in seen:
            problems.problem(
                table.place(cell),
                f"step `{step}` has the log_exposure of step `{seen[light]}`",
                "Correct one of them; put replicates into columns beside each other.",
            )
            return None
        if light is not None:
            seen[light] = step
        return light

    return place_step


def _wedge_exposures(setup: Setup, table: Table, problems: ProblemList) -> Callable[[str, Row], float | None] | None:
    """Return how a step is placed by the wedge, or None where there is no wedge to place it by."""
    wedge = setup.wedge
    if wedge is None:
        if setup.exposure.wedge is None:
            problems.problem(
                table.place(),
                "nothing tells the exposure of the steps: no wedge is named and there is no column `log_exposure`",
                "Name the wedge under `exposure` in series.yaml or test.yaml.",
            )
        return None
    # -D, or log10(lux_s) - D where the exposure is known (measures.md, "Log exposure of a step").
    light_by_step = dict(zip(wedge.steps, _log_exposures(wedge, setup.exposure.lux_s), strict=True))

    def place_step(step: str, row: Row) -> float | None:
        if step in light_by_step:
            return light_by_step[step]
        cell = row.at(table.names["step"])
        problems.problem(
            table.place(cell),
            undeclared(step, "step", [*light_by_step, BASE]) + f" in the wedge {wedge.id}",
            "Correct the step, or add it to the wedge's file.",
        )
        return None

    return place_step


def _log_exposures(wedge: Wedge, lux_s: float | None) -> list[float]:
    # math.log10 through numpy would differ in the last digit between machines; plain floats do not.
    from math import log10

    unattenuated = log10(lux_s) if lux_s is not None else 0.0
    return [unattenuated - density + 0.0 for density in wedge.density.tolist()]


def _scaled(
    table: Table, row: Row, columns: Sequence[int], light: float | None, problems: ProblemList
) -> tuple[ScaledReading, ...]:
    found: list[ScaledReading] = []
    for index in columns:
        cell = read_cell(row.at(index))
        if cell is None:
            continue
        density = None if cell.fault else parse_density(table.text(cell))
        if density is None or density < 0:
            tell_cell(table, cell, "a density from 0 to 6", problems)
        else:
            found.append(ScaledReading(table=table, cell=cell, density=density, light=light))
    return tuple(found)


def _read_stops(table: Table, row: Row, frame: str, problems: ProblemList) -> float | None:
    cell = table.cell(row, "stops")
    if cell is None:
        problems.problem(
            table.place(row),
            f"frame `{frame}` has no stops",
            "Write its exposure against the metered frame, such as +1/3.",
        )
        return None
    return read_number(table, cell, "stops from -20 to 20, such as +1/3", -20, 20, problems, fractions=True)


def _patch_columns(table: Table, declared: Collection[str] | None, problems: ProblemList) -> dict[str, int]:
    columns: dict[str, int] = {}
    for name, index in table.names.items():
        if name in {"frame", "stops"}:
            continue
        place = table.place(table.header.at(index))
        if name != BASE and not is_id(name):
            problems.problem(
                place, f"found the column `{table.heading(index)}`, expected a patch", "Head it with a patch's id."
            )
        elif name != BASE and declared is not None and name not in declared:
            problems.problem(
                place,
                undeclared(name, "patch", [*declared, BASE]),
                "Correct the heading, or declare the patch in series.yaml.",
            )
        else:
            columns[name] = index
    return columns


def _check_wedge(lines: Mapping[str, _Line], error: ReadingError, problems: ProblemList) -> None:
    groups: list[Group] = []
    base: Group | None = None
    for line in lines.values():
        if not line.readings:
            continue
        name = BASE if line.name == BASE else f"step {line.name}"
        group = Group(name=name, light=line.light or 0.0, readings=line.readings)
        if not check_replicates(group, error, problems):
            continue
        if line.name == BASE:
            base = group
        elif line.light is not None:
            groups.append(group)
    groups.sort(key=lambda group: (group.light, group.name))
    check_rise(groups, error, "step", problems)
    if base is not None and groups:
        check_base(base, groups[0], error, problems)


def _check_bracket(
    stops: Mapping[str, float],
    readings: Mapping[tuple[str, str], Sequence[ScaledReading]],
    error: ReadingError,
    problems: ProblemList,
) -> None:
    by_patch: dict[str, list[Group]] = {}
    for (frame, patch), group in readings.items():
        if group:
            named = Group(name=f"frame {frame}, {patch}", light=stops[frame], readings=tuple(group))
            if check_replicates(named, error, problems):
                by_patch.setdefault(patch, []).append(named)
    bases = {group.name.partition(",")[0]: group for group in by_patch.pop(BASE, [])}
    lowest: dict[str, Group] = {}
    for _, groups in sorted(by_patch.items()):
        groups.sort(key=lambda group: (group.light, group.name))
        check_rise(groups, error, "frame", problems)
        for group in groups:
            frame = group.name.partition(",")[0]
            if frame not in lowest or group.mean < lowest[frame].mean:
                lowest[frame] = group
    for frame, base in sorted(bases.items()):
        if frame in lowest:
            check_base(base, lowest[frame], error, problems)


def _densities(readings: Sequence[ScaledReading]) -> tuple[float, ...]:
    return tuple(sorted(reading.density for reading in readings))


def _published(
    table: Literal["wedge", "bracket"], groups: Sequence[tuple[str, Sequence[ScaledReading]]]
) -> tuple[Reading, ...]:
    readings = [
        Reading(
            table=table,
            row=row,
            column=reading.table.heading(reading.cell.index),
            density=reading.density,
            place=reading.table.place(reading.cell),
        )
        for row, group in groups
        for reading in group
    ]
    return tuple(sorted(readings, key=lambda reading: (reading.place.line, reading.place.column)))
