"""Readings of the bracketed frames: each patch on each frame, with the frame's own base where it was read."""

from collections.abc import Collection, Mapping, Sequence

from basefog.read.cells import Row
from basefog.read.contradictions import remark_frames_off_step
from basefog.read.fields import is_id
from basefog.read.plausible import (
    FRAME_EXPOSURE_ERROR_STOPS,
    Group,
    ReadingError,
    ScaledReading,
    check_base,
    check_replicates,
    check_rise,
    check_scale,
    density_per_stop,
    quantum_of,
    remark_scale,
)
from basefog.read.problem_list import ProblemList
from basefog.read.readings import BASE, Setup, published, read_row, sorted_densities
from basefog.read.tables import DENSITY_LIMIT, Table, read_id, read_number, require_columns, undeclared
from basefog.records.content import BracketReadings, Frame, Reading

ByFrameAndPatch = dict[tuple[str, str], list[ScaledReading]]


def read_bracket_table(
    table: Table, setup: Setup, problems: ProblemList
) -> tuple[BracketReadings | None, tuple[Reading, ...]]:
    """Return the readings of the bracketed frames, and each of them with its place; problems where they can't stand."""
    if not require_columns(table, problems, "stops"):
        return None, ()
    columns = _patch_columns(table, setup.patches, problems)
    rows: dict[str, Row] = {}
    stops: dict[str, float] = {}
    readings: ByFrameAndPatch = {}
    for row in table.rows:
        if problems.is_full(table.input.path) or (frame := _read_frame(table, row, stops, problems)) is None:
            continue
        rows.setdefault(frame, row)
        for patch, index in columns.items():
            readings.setdefault((frame, patch), []).extend(read_row(table, row, [index], stops[frame], problems))
    every = [reading for group in readings.values() for reading in group]
    if not every:
        if not problems.is_told(table.input.path):
            problems.problem(table.place(), "the table holds no readings", "Type the readings, or take the file away.")
        return None, ()
    if not check_scale(every, problems):
        return None, ()
    readings = {
        key: fit for key, group in readings.items() if (fit := [one for one in group if one.density <= DENSITY_LIMIT])
    }
    remark_scale(every, problems)
    error = ReadingError(repeatability=setup.repeatability, quantum=quantum_of(every))
    _check_frames(readings, stops, error, problems)
    if setup.bracket_step_stops is not None:
        cells = {frame: (stops[frame], row.cells[table.names["stops"]]) for frame, row in rows.items()}
        remark_frames_off_step(table, cells, setup.bracket_step_stops, problems)
    frames = [
        Frame(
            frame=frame,
            stops=stops[frame],
            base=sorted_densities(readings.get((frame, BASE), ())),
            patches={
                patch: sorted_densities(readings[frame, patch])
                for patch in sorted(columns)
                if patch != BASE and (frame, patch) in readings
            },
            place=table.place(row),
        )
        for frame, row in rows.items()
        if any((frame, patch) in readings for patch in columns)
    ]
    ordered = tuple(sorted(frames, key=lambda frame: (frame.stops, frame.frame)))
    return BracketReadings(frames=ordered, place=table.place(), quantum=error.quantum), published(
        "bracket", [(frame, group) for (frame, _), group in readings.items()]
    )


def _patch_columns(table: Table, declared: Collection[str] | None, problems: ProblemList) -> dict[str, int]:
    columns: dict[str, int] = {}
    for name, index in table.names.items():
        if name in {"frame", "stops"}:
            continue
        place = table.place(table.header.cells[index])
        if not is_id(name):
            problems.problem(
                place,
                f"found the column `{table.heading(index)}`, expected the id of a patch",
                "Head it with the id of a patch, or take the column out.",
            )
        elif declared is not None and name not in {*declared, BASE}:
            problems.problem(
                place,
                undeclared(name, "no patch is named", [*declared, BASE]),
                "Correct the heading, or declare the patch in series.yaml.",
            )
        else:
            columns[name] = index
    return columns


def _read_frame(table: Table, row: Row, stops: dict[str, float], problems: ProblemList) -> str | None:
    """Return the frame of a row, its stops noted; a problem and None where they do not fit."""
    named = read_id(table, row, "frame", problems)
    if named is None:
        return None
    frame, cell = named
    stops_cell = table.cell(row, "stops")
    if stops_cell is None:
        problems.problem(
            table.place(row),
            f"frame `{frame}` has no stops",
            "Write its exposure against the metered frame, such as +1/3.",
        )
        return None
    light = read_number(table, stops_cell, "stops from -20 to 20, such as +1/3", (-20, 20), problems)
    if light is None:
        return None
    if stops.setdefault(frame, light) != light:
        problems.problem(
            table.place(cell),
            f"frame `{frame}` has two exposures, {stops[frame]:g} and {light:g} stops",
            "Correct the frame or its stops.",
        )
        return None
    return frame


def _check_frames(
    readings: Mapping[tuple[str, str], Sequence[ScaledReading]],
    stops: Mapping[str, float],
    error: ReadingError,
    problems: ProblemList,
) -> None:
    by_patch: dict[str, dict[str, Group]] = {}
    for (frame, patch), group in readings.items():
        named = Group(name=f"frame {frame}, {patch}", light=stops[frame], readings=tuple(group))
        if check_replicates(named, error, problems):
            by_patch.setdefault(patch, {})[frame] = named
    bases = by_patch.pop(BASE, {})
    for _, groups in sorted(by_patch.items()):
        ordered = sorted(groups.values(), key=lambda group: (group.light, group.name))
        shutter = FRAME_EXPOSURE_ERROR_STOPS * density_per_stop(ordered)
        check_rise(ordered, error, "frame", problems, exposure_error=shutter)
    for frame, base in bases.items():
        read = [groups[frame] for _, groups in sorted(by_patch.items()) if frame in groups]
        if read:
            check_base(base, min(read, key=lambda group: group.mean), error, problems)
