"""What the two tables of a test share: their surroundings, their cells, and how readings are handed on."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from basefog.read.cells import Row
from basefog.read.plausible import ScaledReading
from basefog.read.problem_list import ProblemList
from basefog.read.tables import Table, read_cell, read_scaled
from basefog.records.content import Exposure, Reading, Wedge
from basefog.records.problem import Place

BASE = "base"


@dataclass(frozen=True, kw_only=True, slots=True)
class Setup:
    """What a test's tables are read against.

    `exposure_place` is where the exposure is told, or should be. `exposure`, `wedge` and `patches` are None where a
    fault in them was told already; `wedge` also where none is named. `bracket_step_stops` is None where it is not told.
    """

    exposure: Exposure | None
    exposure_place: Place
    wedge: Wedge | None
    patches: Collection[str] | None
    repeatability: float
    bracket_step_stops: float | None = None


def read_row(
    table: Table, row: Row, columns: Iterable[int], light: float | None, problems: ProblemList
) -> tuple[ScaledReading, ...]:
    """Return the readings of a row in these columns; cells that are blank or dashed were not read."""
    found: list[ScaledReading] = []
    for index in columns:
        cell = read_cell(row, index)
        density = read_scaled(table, cell, problems) if cell else None
        if cell is not None and density is not None:
            found.append(ScaledReading(table=table, cell=cell, density=density, light=light))
    return tuple(found)


def sorted_densities(readings: Iterable[ScaledReading]) -> tuple[float, ...]:
    """Return densities ascending: so the order of rows and columns never changes a digit of a sum."""
    return tuple(sorted(reading.density for reading in readings))


def published(
    kind: Literal["wedge", "bracket"], groups: Iterable[tuple[str, Sequence[ScaledReading]]]
) -> tuple[Reading, ...]:
    """Return every reading with its place, in the order of the file."""
    readings = [
        Reading(
            table=kind,
            row=row,
            column=reading.table.heading(reading.cell.index),
            density=reading.density,
            place=reading.table.place(reading.cell),
        )
        for row, group in groups
        for reading in group
    ]
    return tuple(sorted(readings, key=lambda reading: (reading.place.line, reading.place.column, reading.row)))
