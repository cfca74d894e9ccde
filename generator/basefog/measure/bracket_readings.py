"""The readings of a bracket as arrays: means and errors, frame by frame and patch by patch, in one fixed order."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.noise import pool_reading_error
from basefog.measure.resampling import DRAWS, seeded_generator
from basefog.measure.two_way import IntArray
from basefog.records.content import FloatArray, Frame


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BracketTable:
    """What was read on a bracket.

    `frames` (F) by stops then id and `patches` (P) by id. The n means that were read are flat: `frame`, `patch` (n,)
    say where each stands, `density` and `u_density` (n,) its mean and that mean's standard uncertainty. `base` and
    `u_base` (F,) are those of the frames' own bases, NaN and zero where none was read.
    """

    frames: tuple[Frame, ...]
    patches: tuple[str, ...]
    frame: IntArray
    patch: IntArray
    density: FloatArray
    u_density: FloatArray
    base: FloatArray
    u_base: FloatArray

    @property
    def stops(self) -> FloatArray:
        """The stops of every frame, (F,)."""
        return np.array([frame.stops for frame in self.frames])


def pool_bracket_error(frames: Sequence[Frame], repeatability: float) -> float:
    """Return the standard deviation of one reading on a bracket, in density: repeatability and replicates, pooled."""
    readings = [frame.base for frame in frames] + [
        read for frame in frames for _, read in sorted(frame.patches.items())
    ]
    return pool_reading_error(readings, repeatability)


def u_of_mean(error: float, readings: int, quantum: float) -> float:
    """Return the standard uncertainty of a mean of readings, sqrt(r^2 / n + q^2 / 12): rounding is the same for all n.

    Arguments: `error`, r, the standard deviation of one reading; `quantum`, q, the step they were rounded to; density.

    >>> round(u_of_mean(0.01, 4, 0.01), 5)
    0.00577
    """
    return math.sqrt(error**2 / readings + quantum**2 / 12)


def tabulate_bracket(frames: Sequence[Frame], *, repeatability: float, quantum: float) -> BracketTable:
    """Return the readings of a bracket as arrays; the order of frames, patches and readings changes no digit.

    Arguments: `repeatability`, density, above 0; `quantum`, the density step that readings were rounded to.
    """
    ordered = tuple(sorted(frames, key=lambda frame: (frame.stops, frame.frame)))
    error = pool_bracket_error(ordered, repeatability)
    patches = tuple(sorted({patch for frame in ordered for patch, read in frame.patches.items() if read}))
    cells = [
        (at, place, sorted(frame.patches[patch]))
        for at, frame in enumerate(ordered)
        for place, patch in enumerate(patches)
        if frame.patches.get(patch)
    ]
    return BracketTable(
        frames=ordered,
        patches=patches,
        frame=np.array([at for at, _, _ in cells], dtype=np.intp),
        patch=np.array([place for _, place, _ in cells], dtype=np.intp),
        density=np.array([_mean(read) for _, _, read in cells]),
        u_density=np.array([u_of_mean(error, len(read), quantum) for _, _, read in cells]),
        base=np.array([_mean(sorted(frame.base)) if frame.base else np.nan for frame in ordered]),
        u_base=np.array([u_of_mean(error, len(frame.base), quantum) if frame.base else 0.0 for frame in ordered]),
    )


def draw_reading_errors(table: BracketTable, key: str) -> tuple[FloatArray, FloatArray]:
    """Return the errors of the patches' means (DRAWS, n) and of the frames' bases (DRAWS, F), density.

    Seeded by the test's name alone.
    """
    generator = seeded_generator(key, "frames")
    of_patches = table.u_density * generator.standard_normal((DRAWS, table.density.size))
    return of_patches, table.u_base * generator.standard_normal((DRAWS, table.base.size))


def _mean(readings: Sequence[float]) -> float:
    return math.fsum(readings) / len(readings)
