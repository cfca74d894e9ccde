"""Remarks on readings that each could stand, but hardly together, and on what a missing reading costs.

A base too thin for any toe, a step left out, a mean typed as one more reading, a frame beside the bracket's steps.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from statistics import fmean
from typing import Final

import numpy as np

from basefog.read.cells import Cell
from basefog.read.plausible import REMARK_ERRORS, Group, ReadingError, ScaledReading, places_of
from basefog.read.problem_list import ProblemList
from basefog.read.tables import Table
from basefog.records.content import Wedge

_TWO_STOPS: Final = 0.60
"""Log exposure over which density above base at least doubles on a toe: it grows there with a power of the exposure of
a half or more (project; films grow with about the exposure itself)."""

_MEAN_ROWS: Final = 4
_MEAN_CHANCE: Final = 1e-4
"""A column is called the mean of the others where honest readings would look so less often than this."""

_STEP_TOLERANCE_STOPS: Final = 0.05
"""What a third of a stop may be typed off by: 0.3 for 1/3, 0.7 for 2/3."""

_HAIR: Final = 1e-9


def remark_no_base(table: Table, problems: ProblemList) -> None:
    """Remark what is lost without a reading of unexposed film."""
    problems.remark(
        table.place(),
        "the base was not read; where the lowest steps are not level, nothing but maximum density and gamma can be had",
        "Read unexposed, processed film into a row `base`.",
    )


def remark_deep_base(base: Group, groups: Sequence[Group], error: ReadingError, problems: ProblemList) -> None:
    """Remark a base so far below the lowest step that no toe leads from one to the other.

    Args:
        base: readings of unexposed film.
        groups: steps by rising log exposure, one or more.
        error: of one reading.
        problems: where the remark goes.
    """
    lowest = groups[0]
    beyond = lowest.light + _TWO_STOPS
    if groups[-1].light < beyond:
        return
    rise = float(np.interp(beyond, [group.light for group in groups], [group.mean for group in groups])) - lowest.mean
    depth = lowest.mean - base.mean
    if depth <= max(0.0, rise) + REMARK_ERRORS * error.of_difference(base, lowest) + _HAIR:
        return
    first = base.readings[0]
    problems.remark(
        first.table.place(first.cell),
        f"base: density {base.mean:.3f} lies {depth:.3f} below that of {lowest.name}, {lowest.mean:.3f}, which is more"
        f" than the next two stops add ({rise:.3f}); either it is wrong, or no step reaches the toe",
        "Read the base again on unexposed, processed film.",
    )


def remark_missing_steps(table: Table, wedge: Wedge, rows: Collection[str], problems: ProblemList) -> None:
    """Remark steps of the wedge that have no row, though steps on both sides of them have one."""
    there = [index for index, step in enumerate(wedge.steps) if step in rows]
    missing = [step for step in wedge.steps[min(there, default=0) : max(there, default=0)] if step not in rows]
    if not missing:
        return
    several = len(missing) > 1
    problems.remark(
        table.place(),
        f"step{'s' if several else ''} {', '.join(missing)} of the wedge {wedge.id} {'are' if several else 'is'}"
        " missing between steps that were read",
        f"Read {'them' if several else 'it'}, or type `-` as the reading.",
    )


def remark_mean_columns(table: Table, rows: Sequence[Sequence[ScaledReading]], problems: ProblemList) -> None:
    """Remark a column that is the mean of the others in every row, and so no reading of its own.

    Honest replicates may look so in a few rows, where they are rounded coarsely. The chance of that in all rows, by the
    others' own scatter, has to be below one in 10,000.
    """
    columns = sorted({reading.cell.index for row in rows for reading in row})
    for column in columns:
        own = [reading for row in rows for reading in row if reading.cell.index == column]
        others = [
            tuple(reading for reading in row if reading.cell.index != column)
            for row in rows
            if any(reading.cell.index == column for reading in row)
        ]
        if len(own) < _MEAN_ROWS or min(len(row) for row in others) < 2:
            continue
        if _chance_of_mean(own, others) * len(columns) < _MEAN_CHANCE:
            problems.remark(
                table.place(table.header.cells[column]),
                f"the column `{table.heading(column)}` is the mean of the other readings in every row, and counts as"
                " readings that were never made",
                "Take the column out.",
            )


def _chance_of_mean(own: Sequence[ScaledReading], others: Sequence[Sequence[ScaledReading]]) -> float:
    """Return how likely readings would all be the mean of those beside them by chance; 1 where one is not."""
    half = 0.5 * 10.0 ** -max(places_of(reading) for reading in own)
    quantum = 10.0 ** -max(places_of(reading) for row in others for reading in row)
    means = [fmean(reading.density for reading in row) for row in others]
    if any(abs(reading.density - mean) > half + _HAIR for reading, mean in zip(own, means, strict=True)):
        return 1.0
    squares = math.fsum(
        (reading.density - mean) ** 2 for row, mean in zip(others, means, strict=True) for reading in row
    )
    scatter = math.sqrt(squares / sum(len(row) - 1 for row in others))
    if scatter == 0.0:
        return 1.0
    chance = 1.0
    for row in others:
        # Both are rounded, and a mean of rounded readings lies on a grid of its own: that widens what counts as equal.
        width = half + min(half, quantum / (2 * len(row)))
        chance *= math.erf(width / (scatter * math.sqrt(2 * (1 + 1 / len(row)))))
    return chance


def remark_frames_off_step(
    table: Table, cells: Mapping[str, tuple[float, Cell]], step_stops: float, problems: ProblemList
) -> None:
    """Remark frames whose stops are no multiple of the bracket's step.

    Args:
        table: the table of the bracket.
        cells: stops of each frame, and the cell they stand in.
        step_stops: `bracket_step_stops` of the protocol.
        problems: where remarks go.
    """
    tolerance = min(_STEP_TOLERANCE_STOPS, step_stops / 4) + _HAIR
    off = {
        frame: (stops, cell)
        for frame, (stops, cell) in cells.items()
        if abs(stops - round(stops / step_stops) * step_stops) > tolerance
    }
    mend = "Correct the stops, or `bracket_step_stops` in series.yaml."
    if len(off) >= max(3, len(cells) / 2):
        _, first = next(iter(off.values()))
        problems.remark(
            table.place(first),
            f"{len(off)} of {len(cells)} frames lie off the bracket's step of {step_stops:.3g} stop",
            mend,
        )
        return
    for frame, (stops, cell) in off.items():
        problems.remark(
            table.place(cell),
            f"frame `{frame}`: found {stops:+.3g} stops, expected a multiple of the bracket's step, {step_stops:.3g}",
            mend,
        )
