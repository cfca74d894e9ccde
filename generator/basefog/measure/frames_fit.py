"""All frames of a bracket at once: every reading turned back to log exposure, then x = frame + patch, by weights.

Every frame measures every patch anew. Turned back through the stock's own curve the contrast drops out, the frame's
effect takes up its exposure (shutter included), and the patch's effect is how far it lies from the grey patch.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.bracket_cells import Cells, density_of
from basefog.measure.bracket_readings import BracketTable, tabulate_bracket
from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve
from basefog.measure.frame_effects import FreeFrames, NominalFrames
from basefog.measure.reading_remarks import Misfit, remark_on_misfits, remark_on_off_curve
from basefog.measure.resampling import DRAWS
from basefog.measure.smoother import apply_to_rows
from basefog.measure.two_way import BoolArray, TwoWay, find_linked
from basefog.records.content import FloatArray, Frame, Test
from basefog.records.findings import FrameReading, Remark
from basefog.records.vocabulary import LOG10_2

FEWEST_DEGREES = 5
"""Degrees of freedom from which the readings' own disagreement widens the intervals (project)."""

USUAL_SHUTTER_STOPS = 0.10
"""How well exposures repeat where nothing tells it, stops (common practice, no source)."""

FEW_DEGREES = "too few frames and patches were read to tell how well they agree: {} degrees of freedom"

Frames = FreeFrames | NominalFrames


@dataclass(frozen=True, kw_only=True, slots=True)
class NoFramesFit:
    """Why the frames of a test can't be fitted together, in the tester's words."""

    why: str
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FramesFit:
    """The frames of one test fitted together; log exposures on the axis of `curve`.

    `frames` (F) by stops and `patches` (P) by id; `exposure` (rows, F), each frame's exposure of the grey patch, and
    `place` (rows, P), each patch's log exposure less the grey patch's, zero for that: row 0 the estimate, rows 1 to
    DRAWS with other errors of the curve and of the bracket's readings, rows beyond as the curve's. NaN throughout
    where a frame or patch has no reading that serves, or none linked to the grey patch; `why_not` says which, by
    patch. `place_reading_variance` (P,) is the part of the bracket's own readings in the variance of `place`.
    `factor` is what their part was widened by because they disagree; `note`, where that can't be told.
    `exposures_repeat_stops` is s_shutter, None where it can't be had from this test.
    """

    key: str
    exposure_index: float
    curve: FittedCurve
    frames: tuple[Frame, ...]
    patches: tuple[str, ...]
    grey_patch: str
    exposure: FloatArray
    place: FloatArray
    place_reading_variance: FloatArray
    why_not: dict[str, str]
    degrees: int
    factor: float
    note: str | None
    exposures_repeat_stops: float | None
    readings: tuple[FrameReading, ...]
    remarks: tuple[Remark, ...]

    @property
    def stops(self) -> FloatArray:
        """The stops of every frame, (F,)."""
        return np.array([frame.stops for frame in self.frames])

    def place_of(self, patch: str) -> FloatArray | None:
        """Return a patch's draws of log exposure from the grey patch, (rows,), or None where it has none."""
        if patch in self.why_not or patch not in self.patches:
            return None
        return np.asarray(self.place[:, self.patches.index(patch)])

    def patch_stops(self) -> dict[str, float]:
        """Return where every patch that has a place lies, stops from the grey one."""
        places = {patch: self.place_of(patch) for patch in self.patches}
        return {patch: float(place[0]) / LOG10_2 for patch, place in places.items() if place is not None}

    def told_shutter(self) -> tuple[int, float] | None:
        """Return the degrees of freedom and the size of s_shutter, stops, None where this test doesn't tell it."""
        if self.exposures_repeat_stops is None:
            return None
        return int(np.isfinite(self.exposure[0]).sum()) - 1, self.exposures_repeat_stops

    def offset_stops(self) -> FloatArray:
        """Return a_f / 0.3010 - s_f of every frame, (F,), NaN where a frame has no exposure.

        Their spread is the shutter's; their size depends on where the axis has its zero.
        """
        return np.asarray(self.exposure[0] / LOG10_2 - self.stops, dtype=np.float64)

    def line_of(self, patch: str, stops: FloatArray) -> FloatArray | None:
        """Return the density of a patch's line at stops, (k,), NaN beyond the curve; None where it has none.

        The line is the curve at the mean exposure of all frames, and stands on the curve's own base plus fog.
        """
        place = self.place_of(patch)
        if place is None:
            return None
        at = LOG10_2 * (float(np.nanmean(self.offset_stops())) + stops) + place[0]
        return np.asarray(np.interp(at, self.curve.log_exposure, self.curve.density[0], left=np.nan, right=np.nan))


def fit_frames(
    test: Test, curve: FittedCurve, *, grey_patch: str | None, repeatability: float, quantum: float
) -> FramesFit | NoFramesFit:
    """Return the two-way fit of every reading of a bracket, or why there is none.

    x_fp = C^-1(D_fp - frame base + B), weights 1 / (u_D^2 / g^2 + u_C^2), x_fp = a_f + b_p, b_grey = 0 (measures.md,
    "The bracket"). With the bracket's own grey curve the densities are taken as read, frames are nominal but for the
    shutter, and the covariance of all readings weighs them (`frame_effects.NominalFrames`).

    Arguments: `repeatability`, density, above 0; `quantum`, the density step that readings were rounded to.
    """
    if test.bracket is None:
        return NoFramesFit(why="no bracket was read")
    if grey_patch is None:
        return NoFramesFit(why="the protocol names no grey patch")
    table = tabulate_bracket(test.bracket.frames, repeatability=repeatability, quantum=quantum)
    if grey_patch not in table.patches:
        return NoFramesFit(why="the grey patch was read on no frame")
    cells = Cells.of(table, curve)
    own = cells.own_places()
    serves = cells.serving()
    off = serves & np.isnan(own)
    zero = table.patches.index(grey_patch)
    remarks = remark_on_off_curve(_name(table, off), curve)
    usable = serves & ~off
    used = usable.copy()
    used[usable] = find_linked(table.frame[usable], table.patch[usable], zero)
    if not (used & (table.patch == zero)).any():
        return NoFramesFit(why="no reading of the grey patch lies on the usable part of the curve", remarks=remarks)
    own_axis = curve.axis == BRACKET_AXIS
    frames = NominalFrames.of(cells, used, zero) if own_axis else FreeFrames.of(cells, used, zero)
    fitted = _fit(frames, own, used)
    exposure, place, reading_variance = _draw(frames, own, fitted, test.key)
    exposure[:, ~np.isin(np.arange(len(table.frames)), table.frame[fitted.kept])] = np.nan
    misfits = _list_misfits(frames, own, fitted)
    return FramesFit(
        key=test.key,
        exposure_index=test.exposure_index,
        curve=curve,
        frames=table.frames,
        patches=table.patches,
        grey_patch=grey_patch,
        exposure=exposure,
        place=place,
        place_reading_variance=reading_variance,
        why_not=_why_not(table, place, serves, usable),
        degrees=fitted.way.degrees,
        factor=fitted.factor,
        note=FEW_DEGREES.format(fitted.way.degrees) if fitted.way.degrees < FEWEST_DEGREES else None,
        exposures_repeat_stops=_find_shutter(exposure, table.stops, curve),
        readings=_list_readings(cells, exposure, place, fitted, off),
        remarks=remarks + remark_on_misfits(misfits),
    )


def pool_shutter_scatter(told: Sequence[tuple[int, float]]) -> float:
    """Return how well exposures repeat over a series, stops: pooled over the tests that tell it, else 0.10.

    s^2 = sum (k - 1) s_t^2 / sum (k - 1), k the frames of test t.

    Arguments: (k - 1, s_t) of each test that tells, see `FramesFit.told_shutter`.
    """
    if not told:
        return USUAL_SHUTTER_STOPS
    return math.sqrt(math.fsum(free * s**2 for free, s in told) / sum(free for free, _ in told))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Fitted:
    """The last fit: which readings were in it (n,), the operators, and the widening factor; who left, who stuck.

    `values` (n,) are the readings' places less the nominal exposures of their frames.
    """

    values: FloatArray

    kept: BoolArray
    left: tuple[int, ...]
    stuck: tuple[int, ...]
    way: TwoWay
    factor: float


def _fit(frames: Frames, own: FloatArray, used: BoolArray) -> _Fitted:
    values = own - frames.nominal[frames.cells.table.frame]
    at = np.flatnonzero(used)
    screened = frames.screen(values, at)
    in_fit = np.zeros(used.size, dtype=np.bool_)
    in_fit[at[screened.kept]] = True
    way = frames.solve(in_fit)
    enough = way.degrees >= FEWEST_DEGREES
    return _Fitted(
        values=values,
        kept=in_fit,
        left=tuple(int(at[place]) for place in screened.left),
        stuck=tuple(int(at[place]) for place in screened.stuck),
        way=way,
        factor=max(1.0, math.sqrt(frames.sum_misfit(way, values, in_fit) / way.degrees)) if enough else 1.0,
    )


def _draw(frames: Frames, own: FloatArray, fitted: _Fitted, key: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the frames' exposures (rows, F), the patches' places (rows, P), and the readings' part in these (P,)."""
    frame = frames.cells.table.frame[fitted.kept]
    x = frames.cells.on_drawn_curves(fitted.kept) - frames.nominal[frame]
    x[0] = fitted.values[fitted.kept]
    moved = fitted.factor * frames.cells.moved_by_reading(own, fitted.kept, key)
    x[1 : 1 + DRAWS] += frames.draw_exposures(key)[:, frame]
    x[1 : 1 + DRAWS] += moved
    variance = np.mean(apply_to_rows(moved, fitted.way.columns.T) ** 2, axis=0)
    exposure = frames.nominal + apply_to_rows(x, fitted.way.rows.T)
    return exposure, apply_to_rows(x, fitted.way.columns.T), variance


def _find_shutter(exposure: FloatArray, stops: FloatArray, curve: FittedCurve) -> float | None:
    """Return s_shutter, stops; None with the bracket's own curve, which has taken the shutter for granted."""
    known = np.isfinite(exposure[0])
    if curve.axis == BRACKET_AXIS or known.sum() < 2:
        return None
    return float(np.std(exposure[0, known] / LOG10_2 - stops[known], ddof=1))


def _why_not(table: BracketTable, place: FloatArray, serves: BoolArray, usable: BoolArray) -> dict[str, str]:
    why = {}
    for number, patch in enumerate(table.patches):
        if np.isfinite(place[0, number]):
            continue
        own = table.patch == number
        if not serves[own].any():
            why[patch] = "on every frame it lies beyond the curve, or where the curve is too flat to tell"
        elif not usable[own].any():
            why[patch] = "its densities are beyond the curve"
        else:
            why[patch] = "it was not read on the same frames as the grey patch, nor on any linked to them"
    return why


def _name(table: BracketTable, which: BoolArray) -> tuple[tuple[str, str, float], ...]:
    return tuple(
        (table.frames[table.frame[at]].frame, table.patches[table.patch[at]], float(table.density[at]))
        for at in np.flatnonzero(which)
    )


def _list_misfits(frames: Frames, own: FloatArray, fitted: _Fitted) -> tuple[Misfit, ...]:
    """Return the readings that were left out or should have been, each against what the fit without them all says."""
    cells, table = frames.cells, frames.cells.table
    sound = fitted.kept.copy()
    sound[list(fitted.stuck)] = False
    way = frames.solve(sound)
    exposure, place = frames.nominal + way.rows @ fitted.values[sound], way.columns @ fitted.values[sound]
    found = []
    for at in (*fitted.left, *fitted.stuck):
        frame, patch = int(table.frame[at]), int(table.patch[at])
        predicted = float(exposure[frame] + place[patch])
        misreading = frames.find_misreading(at, fitted.values, sound)
        if misreading is not None:
            predicted = float(own[at] - misreading / cells.slope[at])
        found.append(
            Misfit(
                frame=table.frames[frame].frame,
                patch=table.patches[patch],
                stops=(float(own[at]) - predicted) / LOG10_2,
                density=misreading or float(cells.density[at] - density_of(cells.curve, np.array(predicted))),
                place=float(own[at] - predicted + place[patch]),
                patch_place=float(place[patch]),
                left_out=at in fitted.left,
            )
        )
    return tuple(found)


def _list_readings(
    cells: Cells, exposure: FloatArray, place: FloatArray, fitted: _Fitted, off: BoolArray
) -> tuple[FrameReading, ...]:
    table, curve = cells.table, cells.curve
    at = exposure[0][table.frame] + place[0][table.patch]
    with_curve = (at >= curve.first) & (at <= curve.last)
    predicted = density_of(curve, np.where(with_curve, at, curve.first))
    held_against = {*fitted.left, *fitted.stuck, *np.flatnonzero(off).tolist()}
    return tuple(
        FrameReading(
            frame=table.frames[table.frame[number]].frame,
            stops=table.frames[table.frame[number]].stops,
            patch=table.patches[table.patch[number]],
            density=float(cells.density[number]),
            predicted_density=float(predicted[number]) if with_curve[number] else None,
            used=bool(fitted.kept[number]),
            left_out=number in held_against,
        )
        for number in range(table.density.size)
    )
