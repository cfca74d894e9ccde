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
    leave_out,
    screen,
    solve_known_rows,
    solve_two_way,
    standardise_together,
)
from basefog.records.content import FloatArray
from basefog.records.vocabulary import LOG10_2


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

    def draw_exposures(self, key: str) -> FloatArray:  # noqa: ARG002 - the other model draws by it
        """Return the frames' errors of exposure that a drawn curve doesn't know of, (DRAWS, F): none."""
        return np.zeros((DRAWS, len(self.cells.table.frames)))


@dataclass(frozen=True, kw_only=True, eq=False)
class NominalFrames:
    """Frames of nominal exposure on the curve that they made: x_fp - 0.3010 s_f = b_p + d_f + e_fp / g - c(x) / g.

    d_f is the frame's error of exposure and e_fp the reading's; c = O (g d + e_grey) is the curve's error, O the
    smoothing of the grey patch's readings and g the slope. These are in c, and say nothing beside it.
    """

    cells: Cells
    zero: int
    smoothed: SmoothedFrames

    @classmethod
    def of(cls, cells: Cells, zero: int) -> "NominalFrames":
        """Return the model; `zero` is the grey patch.

        Raises ValueError where the curve doesn't say what frames it was smoothed from.
        """
        if cells.curve.smoothed is None:
            raise ValueError("a curve on the bracket's own axis must say what frames it was smoothed from")
        return cls(cells=cells, zero=zero, smoothed=cells.curve.smoothed)

    @property
    def nominal(self) -> FloatArray:
        """What the frames' exposures count from, log exposure, (F,)."""
        return LOG10_2 * self.cells.table.stops

    def screen(self, values: FloatArray, at: IntArray) -> Screened:
        """Return which of the values at some places to keep; all (n,)."""
        frame, patch = self.cells.table.frame[at], self.cells.table.patch[at]

        def judge(some: IntArray) -> FloatArray:
            among = at[some]
            way = self._solve(among)
            hat = way.columns[patch[some]]
            of_some = self.covariance[np.ix_(among, among)]
            return np.abs(standardise_together(values[among] - hat @ values[among], of_some, hat))

        return screen(frame, patch, judge, patch != self.zero)

    def solve(self, among: BoolArray) -> TwoWay:
        """Return the fit of some of the readings."""
        return self._solve(np.flatnonzero(among))

    def sum_misfit(self, way: TwoWay, values: FloatArray, among: BoolArray) -> float:
        """Return r'S^-1 r of the residuals, whose expected size is the degrees of freedom."""
        patch = self.cells.table.patch
        told = (patch != self.zero)[among]
        residuals = (values[among] - way.columns[patch[among]] @ values[among])[told]
        at = np.flatnonzero(among)[told]
        return float(residuals @ np.linalg.solve(self.covariance[np.ix_(at, at)], residuals))

    def draw_exposures(self, key: str) -> FloatArray:
        """Return the frames' errors of exposure in the drawn curves, log exposure, (DRAWS, F)."""
        alone = self._u_apart * seeded_generator(key, "exposures apart").standard_normal((DRAWS, self._u_apart.size))
        return np.asarray(self.smoothed.drawn_exposures @ self._made_by.T + alone, dtype=np.float64)

    @cached_property
    def covariance(self) -> FloatArray:
        """S (n, n), log exposure^2, of the readings' places less nominal exposures; the grey patch's own are not used.

        S = u_d^2 M M' + u_e^2 Q Q' + diag(u_D^2 / g_fp^2), Q = O / g_fp, M = F - Q g, F the frame of each reading.
        Every reading has an error of its own, so that S can be inverted well.
        """
        of_exposures, of_grey, of_readings, apart = self._parts
        return np.asarray(of_exposures @ of_exposures.T + of_grey @ of_grey.T + apart @ apart.T + np.diag(of_readings))

    @cached_property
    def _with_frames(self) -> FloatArray:
        """C (F, n), log exposure^2: the covariance of the frames' errors of exposure with the values'."""
        of_exposures, _, _, apart = self._parts
        made = (self._made_by * self.smoothed.u_exposure) @ of_exposures.T
        return np.asarray(made + np.diag(self._u_apart) @ apart.T)

    @cached_property
    def _parts(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """What the readings' places owe, log exposure, to a standard error of each error in turn.

        (n, k) to the exposures of the curve's frames, (n, k) to its grey readings, the variance (n,) to themselves, and
        (n, F) to what is left of the frames' exposures.
        """
        cells, smoothed = self.cells, self.smoothed
        slope = np.where(cells.slope > 0, cells.slope, 1.0)
        grid = cells.curve.log_exposure
        bent = np.stack([np.interp(cells.predicted, grid, column) for column in smoothed.operator.T], axis=1)
        bent /= slope[:, None]
        of_exposures = self._made_by[cells.table.frame] * smoothed.u_exposure - bent * smoothed.shift
        apart = np.diag(self._u_apart)[cells.table.frame]
        return of_exposures, bent * smoothed.u_density, (cells.table.u_density / slope) ** 2, apart

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

    def _solve(self, at: IntArray) -> TwoWay:
        table = self.cells.table
        return solve_known_rows(
            table.patch[at],
            self.covariance[np.ix_(at, at)],
            self._with_frames[:, at],
            columns=len(table.patches),
            zero=self.zero,
        )
