"""Readings of the wedge exposure: each step placed on the log exposure axis, with its replicates."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import log10

from basefog.read.cells import Row
from basefog.read.contradictions import (
    remark_deep_base,
    remark_mean_columns,
    remark_missing_steps,
    remark_no_base,
)
from basefog.read.fields import canonical_id
from basefog.read.plausible import (
    Group,
    ReadingError,
    ScaledReading,
    check_base,
    check_replicates,
    check_rise,
    check_scale,
    quantum_of,
    remark_scale,
)
from basefog.read.problem_list import ProblemList
from basefog.read.readings import BASE, Setup, published, read_row, sorted_densities
from basefog.read.tables import DENSITY_LIMIT, Table, parse_density, read_cell, read_id, read_number, undeclared
from basefog.records.content import Reading, StepReadings, Wedge, WedgeReadings

PlaceStep = Callable[[str, Row], float | None]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Line:
    """A row of readings: the id of its step, its log exposure if that is known, and its readings."""

    name: str
    light: float | None
    row: Row
    readings: tuple[ScaledReading, ...]


def read_wedge_table(
    table: Table, setup: Setup, problems: ProblemList
) -> tuple[WedgeReadings | None, tuple[Reading, ...]]:
    """Return the readings of a wedge exposure, and each of them with its place; problems where they can't stand."""
    own_exposures = "log_exposure" in table.names
    columns = _reading_columns(table, problems)
    place_step = _own_exposures(table, problems) if own_exposures else _wedge_exposures(table, setup, problems)
    lines = _read_lines(table, columns, place_step, problems) if columns else {}
    readings = [reading for line in lines.values() for reading in line.readings]
    if not readings:
        if not problems.is_told(table.input.path):
            problems.problem(table.place(), "the table holds no readings", "Type the readings, or take the file away.")
        return None, ()
    if not check_scale(readings, problems):
        return None, ()
    lines = {
        name: replace(line, readings=tuple(one for one in line.readings if one.density <= DENSITY_LIMIT))
        for name, line in lines.items()
    }
    remark_scale(readings, problems)
    error = ReadingError(repeatability=setup.repeatability, quantum=quantum_of(readings))
    _check_lines(lines, error, problems)
    _remark_lines(table, lines, None if own_exposures else setup.wedge, problems)
    return _record(table, lines, setup, quantum=error.quantum, own_exposures=own_exposures), published(
        "wedge", [(line.name, line.readings) for line in lines.values()]
    )


def _reading_columns(table: Table, problems: ProblemList) -> tuple[int, ...]:
    """Return the columns that hold readings; one that holds other things throughout is told once."""
    columns: list[int] = []
    for index, heading in table.header.cells.items():
        if canonical_id(heading.text) in {"step", "log_exposure"}:
            continue
        cells = [cell for row in table.rows if (cell := read_cell(row, index))]
        if cells and not any(cell.fault or parse_density(table.text(cell)) is not None for cell in cells):
            problems.problem(
                table.place(heading),
                f"the column `{heading.text}` holds no densities",
                "Correct it, or take the column out; remarks belong into notes.md.",
            )
        else:
            columns.append(index)
    if not columns and not problems.is_told(table.input.path):
        problems.problem(table.place(), "no column holds readings", "Head a column for the readings, beside `step`.")
    return tuple(columns)


def _read_lines(
    table: Table, columns: tuple[int, ...], place_step: PlaceStep | None, problems: ProblemList
) -> dict[str, _Line]:
    lines: dict[str, _Line] = {}
    for row in table.rows:
        named = None if problems.is_full(table.input.path) else read_id(table, row, "step", problems)
        if named is None:
            continue
        step, cell = named
        if step in lines:
            problems.problem(
                table.place(cell), f"step `{step}` is there twice", "Put replicates into columns beside each other."
            )
            continue
        light = None
        exposed = table.cell(row, "log_exposure")
        if step != BASE:
            light = place_step(step, row) if place_step else None
        elif exposed is not None:
            problems.problem(table.place(exposed), "the base got no exposure", "Empty the cell.")
        readings = read_row(table, row, columns, light, problems)
        lines[step] = _Line(name=step, light=light, row=row, readings=readings)
    return lines


def _own_exposures(table: Table, problems: ProblemList) -> PlaceStep:
    """Return how a step is placed by the table's own `log_exposure` column."""
    seen: dict[float, str] = {}

    def place_step(step: str, row: Row) -> float | None:
        cell = table.cell(row, "log_exposure")
        if cell is None:
            problems.problem(table.place(row), f"step `{step}` has no log_exposure", "Write it, or take the row out.")
            return None
        light = read_number(table, cell, "a log exposure from -10 to 10", (-10, 10), problems)
        if light is not None and seen.setdefault(light, step) != step:
            problems.problem(
                table.place(cell),
                f"step `{step}` has the log_exposure of step `{seen[light]}`",
                "Correct one of them; put replicates into columns beside each other.",
            )
            return None
        return light

    return place_step


def _wedge_exposures(table: Table, setup: Setup, problems: ProblemList) -> PlaceStep | None:
    """Return how a step is placed by the wedge, or None where there is no wedge to place it by."""
    wedge = setup.wedge
    if wedge is None:
        if setup.exposure is not None and setup.exposure.wedge is None:
            # Told where the wedge should be named, so that one missing key is told once however many tests need it.
            problems.problem(
                setup.exposure_place,
                "exposure: no wedge is named, and there are readings of one without a column `log_exposure`",
                "Name the wedge, as in `exposure: {wedge: contact-21}`.",
            )
        return None
    light_by_step = _log_exposures(wedge, setup.exposure.lux_s if setup.exposure else None)
    known = [*light_by_step, BASE]
    if table.rows and not any(_names_step(table, row, known) for row in table.rows):
        problems.problem(
            table.place(),
            f"none of the steps is declared in the wedge {wedge.id}",
            "Name the wedge that was used under `exposure`, or correct the steps.",
        )
        return None

    def place_step(step: str, row: Row) -> float | None:
        if step not in light_by_step:
            problems.problem(
                table.place(row.cells[table.names["step"]]),
                undeclared(step, f"the wedge {wedge.id} has no step", known),
                "Correct the step, or add it to the wedge's file.",
            )
        return light_by_step.get(step)

    return place_step


def _names_step(table: Table, row: Row, known: list[str]) -> bool:
    cell = table.cell(row, "step")
    return cell is not None and canonical_id(table.text(cell)) in known


def _log_exposures(wedge: Wedge, lux_s: float | None) -> Mapping[str, float]:
    """Return log H of each step: log10(lux_s) - D, or -D where the exposure is unknown (measures.md)."""
    unattenuated = 0.0 if lux_s is None else log10(lux_s)
    densities = [float(density) for density in wedge.density]
    # Adding 0.0 turns a negative zero into zero.
    return {step: unattenuated - density + 0.0 for step, density in zip(wedge.steps, densities, strict=True)}


def _check_lines(lines: Mapping[str, _Line], error: ReadingError, problems: ProblemList) -> None:
    groups: list[Group] = []
    base: Group | None = None
    for line in lines.values():
        name = BASE if line.name == BASE else f"step {line.name}"
        group = Group(name=name, light=line.light or 0.0, readings=line.readings)
        if not line.readings or not check_replicates(group, error, problems):
            continue
        if line.name == BASE:
            base = group
        elif line.light is not None:
            groups.append(group)
    groups.sort(key=lambda group: (group.light, group.name))
    check_rise(groups, error, "step", problems)
    if base is not None and groups:
        check_base(base, groups[0], error, problems)
        remark_deep_base(base, groups, error, problems)


def _remark_lines(table: Table, lines: Mapping[str, _Line], wedge: Wedge | None, problems: ProblemList) -> None:
    """Remark what is missing, and what is there but no reading."""
    # A row whose id is wrong is missing from its place, too.
    if not problems.is_told(table.input.path):
        if BASE not in lines or not lines[BASE].readings:
            remark_no_base(table, problems)
        if wedge is not None:
            remark_missing_steps(table, wedge, lines, problems)
    remark_mean_columns(table, [line.readings for line in lines.values()], problems)


def _record(
    table: Table, lines: Mapping[str, _Line], setup: Setup, *, quantum: float, own_exposures: bool
) -> WedgeReadings:
    u_by_step: Mapping[str, float] = {}
    if setup.wedge is not None and setup.wedge.u_density is not None and not own_exposures:
        u_by_step = {step: float(u) for step, u in zip(setup.wedge.steps, setup.wedge.u_density, strict=True)}
    steps = [
        StepReadings(
            step=line.name,
            log_exposure=line.light,
            u_log_exposure=u_by_step.get(line.name, 0.0),
            readings=sorted_densities(line.readings),
            place=table.place(line.row),
        )
        for line in lines.values()
        if line.light is not None and line.readings
    ]
    exposure = setup.exposure
    is_absolute = exposure is not None and (exposure.absolute if own_exposures else exposure.lux_s is not None)
    return WedgeReadings(
        steps=tuple(sorted(steps, key=lambda step: (step.log_exposure, step.step))),
        base=sorted_densities(lines[BASE].readings) if BASE in lines else (),
        absolute=is_absolute,
        wedge=None if own_exposures or setup.wedge is None else setup.wedge.id,
        place=table.place(),
        quantum=quantum,
    )
