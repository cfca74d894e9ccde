"""Rules that a set of readings must keep: what is a typing slip, and what is noise.

The standard error of a mean of n readings is sqrt(r^2/n + q^2/12): r is the densitometer's stated repeatability (the
standard 0.01 where none is stated) and q the last decimal place of any density in the file, the third at most. The
rounding does not shrink with replicates, since like readings round alike. The stated figure is used rather than the
scatter of the replicates themselves, since a slip would widen its own bound.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from statistics import fmean, median
from typing import Final

from basefog.read.cells import Cell
from basefog.read.problem_list import ProblemList
from basefog.read.tables import DENSITY_LIMIT, Table
from basefog.records.content import SMALLEST_QUANTUM

PROBLEM_ERRORS: Final = 5.0
REMARK_ERRORS: Final = 4.0
"""A mean density that falls by more standard errors than these is a problem, or a remark (contract)."""

PROBLEM_REPEATABILITIES: Final = 8.0
REMARK_REPEATABILITIES: Final = 4.0
"""A replicate further from the median than this, in repeatabilities, is a problem, or a remark (contract)."""

FRAME_EXPOSURE_ERROR_STOPS: Final = 0.10
"""Standard deviation of one frame's exposure, shutter and aperture together (common practice, no source)."""

_REMARKED_DENSITY: Final = DENSITY_LIMIT / 2

# Bounds such as eight times 0.008 are not exact in binary; nobody types more than six decimals.
_HAIR = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class ScaledReading:
    """A number as typed, not yet known to be a density; `light` ranks its exposure, None where that is unknown."""

    table: Table
    cell: Cell
    density: float
    light: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """The readings of one step, or of one patch on one frame."""

    name: str
    light: float
    readings: tuple[ScaledReading, ...]

    @property
    def mean(self) -> float:
        """The mean density."""
        return fmean(reading.density for reading in self.readings)


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadingError:
    """How well one reading is known: the densitometer's repeatability, and the last decimal place typed."""

    repeatability: float
    quantum: float

    def of_mean(self, count: int) -> float:
        """Return the standard error of the mean of `count` readings."""
        return math.sqrt(self.repeatability**2 / count + self.quantum**2 / 12)

    def of_difference(self, one: Group, other: Group) -> float:
        """Return the standard error of the difference of two means."""
        return math.hypot(self.of_mean(len(one.readings)), self.of_mean(len(other.readings)))


def places_of(reading: ScaledReading) -> int:
    """Return how many decimals a density is told to."""
    return len(reading.table.text(reading.cell).partition(".")[2])


def quantum_of(readings: Sequence[ScaledReading]) -> float:
    """Return the last decimal place of any of one or more densities, one in 1,000 at least."""
    return max(SMALLEST_QUANTUM, 10.0 ** -max(places_of(reading) for reading in readings))


def check_scale(readings: Sequence[ScaledReading], problems: ProblemList) -> bool:
    """Return whether readings are densities at all; single ones above 6 are told one by one.

    Where many are above, the file holds percent transmission or hundredfold densities, and that is said once.
    """
    above = [reading for reading in readings if reading.density > DENSITY_LIMIT]
    if len(above) >= max(3, len(readings) / 4):
        first = min(above, key=lambda reading: (reading.cell.line, reading.cell.column))
        what, mend = _name_scale(readings)
        problems.problem(
            first.table.place(first.cell),
            f"found {len(above)} of {len(readings)} values above 6, which look like {what}, expected densities",
            mend,
        )
        return False
    for reading in above:
        problems.problem(
            reading.table.place(reading.cell),
            f"{reading.table.heading(reading.cell.index)}: found '{reading.cell.text}', expected a density from 0 to 6",
            "Correct the cell; look for a lost decimal sign.",
        )
    return True


def remark_scale(readings: Sequence[ScaledReading], problems: ProblemList) -> None:
    """Remark readings of film that pass as densities, but of which many lie beyond half of what a density may be."""
    above = [reading for reading in readings if reading.density > _REMARKED_DENSITY]
    if len(above) < max(3, len(readings) / 4):
        return
    first = min(above, key=lambda reading: (reading.cell.line, reading.cell.column))
    problems.remark(
        first.table.place(first.cell),
        f"found {len(above)} of {len(readings)} values above {_REMARKED_DENSITY:g}, more than films have; they may be"
        " percent transmission, or have lost a decimal sign",
        "Look at the densitometer's scale: densities are decimal, such as 0.42.",
    )


def _is_whole(reading: ScaledReading) -> bool:
    """Return whether a reading was typed without a decimal sign in a file parted at commas or semicolons."""
    return not reading.cell.stored and "." not in reading.table.text(reading.cell)


def _name_scale(readings: Sequence[ScaledReading]) -> tuple[str, str]:
    percent = "Turn percent transmission into density: 2 - log10(percent)."
    hundred = "Divide the values by 100."
    lit = [(reading.light, reading.density) for reading in readings if reading.light is not None]
    middle_light = fmean(light for light, _ in lit) if lit else 0.0
    middle = fmean(density for _, density in lit) if lit else 0.0
    trend = sum((light - middle_light) * (density - middle) for light, density in lit)
    is_split = len({reading.cell.index for reading in readings}) > 1 and all(_is_whole(one) for one in readings)
    if is_split and min(reading.density for reading in readings) <= DENSITY_LIMIT:
        return "the halves of decimal commas", "Put semicolons or tabs between the columns."
    if trend < 0 and max(reading.density for reading in readings) <= 100:
        return "percent transmission", percent
    if trend > 0:
        return "hundredfold densities", hundred
    return "percent transmission or hundredfold densities", f"{percent} {hundred}"


def check_replicates(group: Group, error: ReadingError, problems: ProblemList) -> bool:
    """Return whether no replicate lies so far from its group's median that it must be a slip."""
    if len(group.readings) < 2:
        return True
    middle = median(reading.density for reading in group.readings)
    fine = True
    told = False
    for reading in group.readings:
        away = abs(reading.density - middle) / error.repeatability
        if told or away <= REMARK_REPEATABILITIES + _HAIR:
            continue
        others = ", ".join(f"{value:g}" for value in sorted(other.density for other in group.readings))
        message = (
            f"{group.name}: the reading {reading.density:g} lies {away:.0f} repeatabilities from the median"
            f" {middle:g} (readings {others})"
        )
        mend = "Compare it with the strip and correct it, or read it again."
        place = reading.table.place(reading.cell)
        # Of two readings neither can be told to be the wrong one, so they are told once.
        told = len(group.readings) == 2
        if away > PROBLEM_REPEATABILITIES + _HAIR:
            problems.problem(place, message, mend)
            fine = False
        else:
            problems.remark(place, message, mend)
    return fine


def density_per_stop(groups: Sequence[Group]) -> float:
    """Return how much density one stop adds over the frames of a bracket, zero where there is no telling.

    The median of the slopes between all pairs of frames (Theil 1950, Sen 1968): one wrong reading does not move it.
    """
    places = [(group.light, group.mean) for group in groups]
    slopes = [(high - low) / (light - dark) for (dark, low), (light, high) in combinations(places, 2) if light != dark]
    return max(0.0, median(slopes)) if slopes else 0.0


def check_rise(
    groups: Sequence[Group], error: ReadingError, what: str, problems: ProblemList, *, exposure_error: float = 0.0
) -> None:
    """Tell where the mean density falls although the film got more light.

    Args:
        groups: by rising light; neighbours with the same light are not compared.
        error: of one reading.
        what: what one group is called: a step, or a frame's patch.
        problems: where faults go.
        exposure_error: standard error of each group's density that comes from its own exposure.
    """
    pairs = [(low, high) for low, high in pairwise(groups) if high.light > low.light]
    falls = [(low, high, _fall(low, high, error, exposure_error)) for low, high in pairs]
    heavy = [fall for fall in falls if fall[2] > PROBLEM_ERRORS + _HAIR]
    if len(heavy) >= max(3, len(pairs) / 2):
        first = heavy[0][1].readings[0]
        problems.problem(
            first.table.place(first.cell),
            f"density falls with exposure over most of the {what}s",
            f"Check which end of the {what}s got the most light, and that the values are densities.",
        )
        return
    for low, high, fall in falls:
        if fall > REMARK_ERRORS + _HAIR:
            first = high.readings[0]
            tell = problems.problem if fall > PROBLEM_ERRORS + _HAIR else problems.remark
            tell(
                first.table.place(first.cell),
                f"{high.name} got more light than {low.name}, but its density {high.mean:.3f} is lower than"
                f" {low.mean:.3f} by {fall:.1f} standard errors",
                "Compare both with the strip and correct the wrong one, or read them again.",
            )


def check_base(base: Group, lowest: Group, error: ReadingError, problems: ProblemList) -> None:
    """Tell where unexposed film is denser than the least exposed."""
    fall = _fall(base, lowest, error)
    if fall <= REMARK_ERRORS + _HAIR:
        return
    first = base.readings[0]
    tell = problems.problem if fall > PROBLEM_ERRORS + _HAIR else problems.remark
    tell(
        first.table.place(first.cell),
        f"{base.name}: density {base.mean:.3f} lies above that of {lowest.name}, {lowest.mean:.3f}, by {fall:.1f}"
        " standard errors",
        "Read the base on unexposed, processed film, away from the edge.",
    )


def _fall(low: Group, high: Group, error: ReadingError, exposure_error: float = 0.0) -> float:
    """Return by how many standard errors the second mean lies below the first."""
    spread = math.hypot(error.of_difference(low, high), math.sqrt(2) * exposure_error)
    return (low.mean - high.mean) / spread
