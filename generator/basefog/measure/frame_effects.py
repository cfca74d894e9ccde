"""What the frames of a bracket are to their fit: free, each with its own exposure, or nominal but for the shutter.

On a curve from elsewhere a frame's exposure is whatever its patches say (`FreeFrames`). On the bracket's own curve,
whose axis is made of the frames' nominal exposures, it is nominal and errs by the shutter. The same errors bend the
curve, so that all readings near by are off alike; what each still tells hangs on the covariance of them all
(`NominalFrames`).
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from basefog.measure.bracket_cells import Cells
from basefog.measure.curve_fit import SAME_EXPOSURE, SmoothedFrames
from basefog.measure.resampling import DRAWS, seeded_generator
from basefog.measure.two_way import (
    BoolArray,
    IntArray,
    Screened,
    TwoWay,
    find_residuals,
    find_shifts,
    leave_out,
    screen,
    solve_known_rows,
    solve_two_way,
)
from basefog.records.content import FloatArray
from basefog.records.vocabulary import LOG10_2

UNKNOWN = 30.0
"""How many times its error a grey reading that is left out may be off: of no weight then, and easily inverted."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FreeFrames:
    """Frames whose exposures are found: x_fp = a_f + b_p, each reading's error u_fp (n,) its own."""

    cells: Cells
    zero: int
    u_place: FloatArray

    @classmethod
    def of(cls, cells: Cells, used: BoolArray, zero: int) -> "FreeFrames":
        """Return the model of the readings that serve; `zero` is the grey patch."""
        u_place = np.full(used.size, np.nan)
        u_place[used] = cells.u_place(used)
        return cls(cells=cells, zero=zero, u_place=u_place)

    @property
    def nominal(self) -> FloatArray:
        """What the frames' exposures count from, log exposure, (F,)."""
        return np.zeros(len(self.cells.table.frames))

    def screen(self, values: FloatArray, at: IntArray) -> Screened:
        """Return which of the values at some places to keep; all (n,)."""
        table = self.cells.table
        return leave_out(table.frame[at], table.patch[at], values[at], self.u_place[at], zero=self.zero)

    def solve(self, among: BoolArray) -> TwoWay:
        """Return the fit of some of the readings."""
        table = self.cells.table
        return solve_two_way(
            table.frame[among],
            table.patch[among],
            self.u_place[among] ** -2,
            rows=len(table.frames),
            columns=len(table.patches),
            zero=self.zero,
        )

    def sum_misfit(self, way: TwoWay, values: FloatArray, among: BoolArray) -> float:
        """Return the sum of squared residuals by their errors, whose expected size is the degrees of freedom."""
        table = self.cells.table
        residuals = find_residuals(way, table.frame[among], table.patch[among], values[among])
        return float(np.sum((residuals / self.u_place[among]) ** 2))

    def find_misreading(self, _at: int, _values: FloatArray, _among: BoolArray) -> None:
        """Return that no reading is told by what it did to others: none made the curve."""

    def draw_exposures(self, key: str) -> FloatArray:  # noqa: ARG002 - the other model draws by it
        """Return the frames' errors of exposure that a drawn curve doesn't know of, (DRAWS, F): none."""
        return np.zeros((DRAWS, len(self.cells.table.frames)))


@dataclass(frozen=True, kw_only=True, eq=False)
class NominalFrames:
    """Frames of nominal exposure on the curve that they made: x_fp - 0.3010 s_f = b_p + d_f + e_fp / g - c(x) / g.

    d_f is the frame's error of exposure and e_fp the reading's; c = O (g d + e_grey) is the curve's error, O the
    smoothing of the grey patch's readings and g the slope. These are in c, and say nothing beside it; one that is left
    out is taken as unknown there. `used` (n,) are the readings that serve.
    """

    cells: Cells
    zero: int
    used: BoolArray
    smoothed: SmoothedFrames

    @classmethod
    def of(cls, cells: Cells, used: BoolArray, zero: int) -> "NominalFrames":
        """Return the model of the readings that serve; `zero` is the grey patch.

        Raises ValueError where the curve doesn't say what frames it was smoothed from.
        """
        if cells.curve.smoothed is None:
            raise ValueError("a curve on the bracket's own axis must say what frames it was smoothed from")
        return cls(cells=cells, zero=zero, used=used, smoothed=cells.curve.smoothed)

    @property
    def nominal(self) -> FloatArray:
        """What the frames' exposures count from, log exposure, (F,)."""
        return LOG10_2 * self.cells.table.stops

    def screen(self, values: FloatArray, at: IntArray) -> Screened:
        """Return which of the values at some places to keep; all (n,)."""

        def judge(some: IntArray) -> FloatArray:
            among = np.zeros(values.size, dtype=np.bool_)
            among[at[some]] = True
            shifts, errors = self._find_shifts(values, among, at[some])
            return np.abs(shifts / errors)

        return screen(self.cells.table.frame[at], self.cells.table.patch[at], judge)

    def solve(self, among: BoolArray) -> TwoWay:
        """Return the fit of some of the readings."""
        table = self.cells.table
        return solve_known_rows(
            table.patch[among],
            self.find_covariance(among),
            self._with_frames[:, among],
            columns=len(table.patches),
            zero=self.zero,
        )

    def sum_misfit(self, way: TwoWay, values: FloatArray, among: BoolArray) -> float:
        """Return r'S^-1 r of the residuals, whose expected size is the degrees of freedom."""
        told = ~self._is_grey[among]
        residuals = values[among] - way.columns[self.cells.table.patch[among]] @ values[among]
        covariance = self.find_covariance(among)[np.ix_(told, told)]
        return float(residuals[told] @ np.linalg.solve(covariance, residuals[told]))

    def find_misreading(self, at: int, values: FloatArray, among: BoolArray) -> float | None:
        """Return by how much a grey reading is too high by the fit of some others, density; None for other patches.

        The curve went through it: it is told by what it did to the others.
        """
        if not self._is_grey[at]:
            return None
        return float(self._find_shifts(values, among, np.array([at]))[0][0])

    def draw_exposures(self, key: str) -> FloatArray:
        """Return the frames' errors of exposure in the drawn curves, log exposure, (DRAWS, F)."""
        alone = self._u_apart * seeded_generator(key, "exposures apart").standard_normal((DRAWS, self._u_apart.size))
        return np.asarray(self.smoothed.drawn_exposures @ self._made_by.T + alone, dtype=np.float64)

    def find_covariance(self, among: BoolArray) -> FloatArray:
        """Return S (m, m), log exposure^2, of the places of some readings less nominal exposures.

        S = u_d^2 M M' + u_e^2 Q Q' + diag(u_D^2 / g_fp^2), Q = O / g_fp, M = F - Q g, F the frame of each reading.
        Every reading has an error of its own, so that S can be inverted well. Of the grey patch's the fit uses none.
        """
        of_exposures, of_grey, of_readings, apart = (part[among] for part in self._parts)
        left = self._made_by[self.cells.table.frame[self.used & self._is_grey & ~among]].any(axis=0)
        of_grey = of_grey * np.where(left, UNKNOWN, 1.0) * self.smoothed.u_density
        return np.asarray(of_exposures @ of_exposures.T + of_grey @ of_grey.T + apart @ apart.T + np.diag(of_readings))

    def _find_shifts(self, values: FloatArray, among: BoolArray, of: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return how far some readings lie off by the fit of those `among`, and its uncertainty.

        In log exposure; a grey reading in density, which moves the others as it bends the curve.
        """
        table = self.cells.table
        told = among & ~self._is_grey
        at = np.flatnonzero(told)
        hat = self.solve(among).columns[table.patch[told]][:, told[among]]
        by_grey = self._parts[1][told] @ self._made_by[table.frame[of]].T
        return find_shifts(
            values[told] - hat @ values[told],
            self.find_covariance(among)[np.ix_(told[among], told[among])],
            hat,
            np.where(self._is_grey[of], -by_grey, at[:, None] == of),
        )

    @property
    def _is_grey(self) -> BoolArray:
        return np.asarray(self.cells.table.patch == self.zero)

    @cached_property
    def _with_frames(self) -> FloatArray:
        """C (F, n), log exposure^2: the covariance of the frames' errors of exposure with the values'."""
        of_exposures, _, _, apart = self._parts
        made = (self._made_by * self.smoothed.u_exposure) @ of_exposures.T
        return np.asarray(made + np.diag(self._u_apart) @ apart.T)

    @cached_property
    def _parts(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """What the readings' places owe, log exposure, to a standard error of each error in turn.

        (n, k) to the exposures of the curve's frames, (n, k) to each unit of density of its grey readings (with the
        other sign), the variance (n,) to themselves, and (n, F) to what is left of the frames' exposures.
        """
        cells, smoothed = self.cells, self.smoothed
        slope = np.where(cells.slope > 0, cells.slope, 1.0)
        grid = cells.curve.log_exposure
        bent = np.stack([np.interp(cells.predicted, grid, column) for column in smoothed.operator.T], axis=1)
        bent /= slope[:, None]
        of_exposures = self._made_by[cells.table.frame] * smoothed.u_exposure - bent * smoothed.shift
        apart = np.diag(self._u_apart)[cells.table.frame]
        return of_exposures, bent, (cells.table.u_density / slope) ** 2, apart

    @cached_property
    def _made_by(self) -> FloatArray:
        """Which of the curve's k readings is each frame's own, one or none, (F, k)."""
        table, sites = self.cells.table, self.smoothed.log_exposure
        has_grey = np.isin(np.arange(len(table.frames)), table.frame[table.patch == self.zero])
        same = np.abs(self.nominal[:, None] - sites) <= SAME_EXPOSURE
        return np.asarray(same & has_grey[:, None], dtype=np.float64)

    @cached_property
    def _u_apart(self) -> FloatArray:
        """The part of each frame's error of exposure that the curve has no share in, log exposure, (F,).

        All of it where the frame's grey patch was not read; of m frames of one exposure, whose mean the curve takes,
        sqrt(1 - 1/m).
        """
        alike = self._made_by @ self._made_by.sum(axis=0)
        u_exposure = float(self.smoothed.u_exposure.max(initial=0.0))
        return np.asarray(u_exposure * np.sqrt(1 - np.divide(1.0, alike, out=np.zeros_like(alike), where=alike > 0)))
