"""All frames of a bracket at once: every reading turned back to log exposure, then x = frame + patch, by weights.

Every frame measures every patch anew. Turned back through the stock's own curve the contrast drops out, the frame's
effect takes up its exposure (shutter included), and the patch's effect is how far it lies from the grey patch.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.bracket_readings import BracketTable, draw_reading_errors, tabulate_bracket
from basefog.measure.contrast import find_average_gradient
from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve
from basefog.measure.reading_remarks import Misfit, remark_on_misfits, remark_on_off_curve
from basefog.measure.resampling import DRAWS, seeded_generator
from basefog.measure.smoother import apply_to_rows
from basefog.measure.two_way import BoolArray, IntArray, TwoWay, find_linked, find_residuals, leave_out, solve_two_way
from basefog.records.content import FloatArray, Frame, Test
from basefog.records.findings import FrameReading, Remark
from basefog.records.vocabulary import LOG10_2

SECANT_REACH = 0.10
"""Log units either side of a predicted place over which the curve's slope there is taken (project)."""

INSIDE = 0.03
"""Density that a predicted place lies inside the readings of the curve, to serve (project)."""

LEAST_SHARE = 0.3
"""Share of the average gradient that the slope there has, to serve (project)."""

FEWEST_DEGREES = 5
"""Degrees of freedom from which the readings' own disagreement widens the intervals (project)."""

USUAL_SHUTTER_STOPS = 0.10
"""How well exposures repeat where nothing tells it, stops (common practice, no source)."""

FEW_DEGREES = "too few frames and patches were read to tell how well they agree: {} degrees of freedom"

_PLACE_STEP = 0.005


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
    "The bracket"). With the bracket's own grey curve the densities are taken as read, and the grey patch's readings
    bring no error of their own: it is the curve's already.

    Arguments: `repeatability`, density, above 0; `quantum`, the density step that readings were rounded to.
    """
    if test.bracket is None:
        return NoFramesFit(why="no bracket was read")
    if grey_patch is None:
        return NoFramesFit(why="the protocol names no grey patch")
    table = tabulate_bracket(test.bracket.frames, repeatability=repeatability, quantum=quantum)
    if grey_patch not in table.patches:
        return NoFramesFit(why="the grey patch was read on no frame")
    cells = _Cells.of(table, curve)
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
    fitted = _fit(cells, own, used, zero)
    exposure, place, reading_variance = _draw(cells, own, fitted, test.key, zero)
    misfits = _list_misfits(cells, own, fitted, zero)
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


def pool_shutter_scatter(fits: Sequence[FramesFit]) -> float:
    """Return how well exposures repeat over a series, stops: pooled over the tests that tell it, else 0.10.

    s^2 = sum (k - 1) s_t^2 / sum (k - 1), k the frames of test t.
    """
    told = [
        (int(np.isfinite(fit.exposure[0]).sum()) - 1, fit.exposures_repeat_stops)
        for fit in fits
        if fit.exposures_repeat_stops is not None
    ]
    if not told:
        return USUAL_SHUTTER_STOPS
    return math.sqrt(math.fsum(free * s**2 for free, s in told) / sum(free for free, _ in told))


def find_log_exposures(curve: FittedCurve, density: FloatArray) -> FloatArray:
    """Return where every row of a curve reaches its densities: (rows, k) -> (rows, k), NaN where it does not.

    As `FittedCurve.log_exposure_at`, for many densities a row at once.
    """
    rows, size = curve.density.shape
    rung = float(curve.density.max() - curve.density.min()) + 1.0
    lift = rung * np.arange(rows)[:, None]
    # A density far off would stray onto another row's rung; it is not reached in either case.
    low, high = curve.density[:, :1], curve.density[:, -1:]
    held = np.clip(np.where(np.isnan(density), low, density), low, high)
    below = np.searchsorted((curve.density + lift).ravel(), (held + lift).ravel()).reshape(density.shape)
    flat = np.clip(below - size * np.arange(rows)[:, None], 1, size - 1) + size * np.arange(rows)[:, None]
    left, right = curve.density.ravel()[flat - 1], curve.density.ravel()[flat]
    rise = np.where(right > left, right - left, 1.0)
    step = (curve.last - curve.first) / (size - 1)
    place = curve.first + step * (flat - size * np.arange(rows)[:, None] - 1 + np.clip((held - left) / rise, 0.0, 1.0))
    return np.where((density >= low) & (density <= high), place, np.nan)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Cells:
    """The readings of a bracket on one curve: densities on its base, predicted places, slopes there, errors (n,)."""

    table: BracketTable
    curve: FittedCurve
    based: BoolArray
    density: FloatArray
    predicted: FloatArray
    slope: FloatArray

    @classmethod
    def of(cls, table: BracketTable, curve: FittedCurve) -> "_Cells":
        as_read = curve.axis == BRACKET_AXIS or not math.isfinite(curve.base_plus_fog[0])
        based = np.isfinite(table.base) & (not as_read)
        base = np.where(based, table.base - (0.0 if as_read else curve.base_plus_fog[0]), 0.0)
        density = table.density - base[table.frame]
        predicted = predict_places(curve, density, table.stops[table.frame], table.patch)
        low = np.clip(predicted - SECANT_REACH, curve.first, curve.last)
        high = np.clip(predicted + SECANT_REACH, curve.first, curve.last)
        rise = _density_of(curve, high) - _density_of(curve, low)
        slope = np.where(high > low, rise / np.where(high > low, high - low, 1.0), 0.0)
        return cls(table=table, curve=curve, based=based, density=density, predicted=predicted, slope=slope)

    def own_places(self) -> FloatArray:
        """Return where the curve has every reading, (n,); NaN where it is off the curve."""
        log_exposure, density = self.curve.log_exposure, self.curve.density[0]
        found = np.interp(self.density, density, log_exposure)
        return np.where((self.density >= density[0]) & (self.density <= density[-1]), found, np.nan)

    def serving(self) -> BoolArray:
        """Return which readings are predicted to lie inside the curve's readings and where it is steep enough."""
        ends = self.curve.density[0, [0, -1]]
        there = _density_of(self.curve, self.predicted)
        inside = (self.predicted > self.curve.first) & (self.predicted < self.curve.last)
        inside &= (there >= ends[0] + INSIDE) & (there <= ends[1] - INSIDE)
        return np.asarray(inside & (self.slope >= LEAST_SHARE * _usual_gradient(self.curve)) & (self.slope > 0))

    def u_place(self, used: BoolArray) -> FloatArray:
        """Return u_fp of the readings that serve, log exposure: its own error and the curve's at its predicted place.

        The frame's base is not in it: its error moves a whole frame, and the frame's own effect takes that up.
        """
        drawn = self.curve.densities_at(self.predicted[used])
        u_curve = np.sqrt(np.mean((drawn[1 : 1 + DRAWS] - drawn[0]) ** 2, axis=0))
        return np.asarray(np.hypot(self.table.u_density[used], u_curve) / self.slope[used], dtype=np.float64)

    def on_drawn_curves(self, used: BoolArray) -> FloatArray:
        """Return where every row of the curve has the readings as they are, (rows, n used).

        A row that ends short of a reading is drawn on with the slope there: a draw lost would narrow the interval.
        """
        base = np.where(np.isfinite(self.curve.base_plus_fog), self.curve.base_plus_fog, 0.0)
        moved = self.based[self.table.frame[used]] * (base - base[0])[:, None]
        density = self.density[used] + moved
        low, high = self.curve.density[:, :1], self.curve.density[:, -1:]
        beyond = np.minimum(density - low, 0.0) + np.maximum(density - high, 0.0)
        found = find_log_exposures(self.curve, np.clip(density, low, high))
        return np.asarray(found + beyond / self.slope[used], dtype=np.float64)

    def moved_by_reading(self, own: FloatArray, used: BoolArray, key: str, zero: int) -> FloatArray:
        """Return by how much other errors of reading move the readings on the curve as it is, (DRAWS, n used)."""
        of_patch, of_base = draw_reading_errors(self.table, key)
        if self.curve.axis == BRACKET_AXIS:
            of_patch = np.where(self.table.patch == zero, 0.0, of_patch)  # see `grey_on_its_own_curve`
        errors = (of_patch - np.where(self.based, of_base, 0.0)[:, self.table.frame])[:, used]
        density, row = self.density[used] + errors, self.curve.density[0]
        beyond = np.minimum(density - row[0], 0.0) + np.maximum(density - row[-1], 0.0)
        return np.asarray(
            np.interp(density, row, self.curve.log_exposure) + beyond / self.slope[used] - own[used], dtype=np.float64
        )

    def grey_on_its_own_curve(self, moved: FloatArray, used: BoolArray, key: str, zero: int) -> FloatArray:
        """Return what the grey patch's own errors add to its draws where it made the curve, (DRAWS, n used).

        A drawn curve is off at the grey patch's own places by an error of exposure d and one of reading e. The former
        moves the whole frame, which takes it up; the latter is the grey reading's own and cancels there, but not for
        the other patches. Of the sum n that the curve shows, e is k n plus k (1 - k) var n of its own, k = var e /
        var n (the conditional normal distribution). Without it patches near the grey one would seem too sure.

        Arguments: `moved` (DRAWS, n used), by how much the drawn curves move the readings.
        """
        grey = (self.table.patch == zero)[used]
        variance = np.mean(moved**2, axis=0)
        own = np.minimum((self.table.u_density[used] / self.slope[used]) ** 2, variance)
        share = np.divide(own, variance, out=np.zeros_like(own), where=variance > 0)
        independent = seeded_generator(key, "grey").standard_normal(moved.shape)
        error = -share * moved + np.sqrt(share * (1 - share) * variance) * independent
        return np.where(grey, error, 0.0)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Fitted:
    """The last fit: which readings were in it (n,), the operators, and the widening factor; who left, who stuck."""

    kept: BoolArray
    left: tuple[int, ...]
    stuck: tuple[int, ...]
    u_place: FloatArray
    way: TwoWay
    factor: float


def predict_places(curve: FittedCurve, density: FloatArray, stops: FloatArray, patch: IntArray) -> FloatArray:
    """Return the place on the curve's axis where each reading is expected from all frames of its patch, (n,).

    m_p + 0.3010 s_f, where m_p makes the sum over the frames of |D_fp - C(m_p + 0.3010 s_f)| least: the median of
    x_fp - 0.3010 s_f with the curve's slope as weight. A plain median would be drawn off by the frames that lie in the
    toe or off the curve, where a place means nothing; here they weigh nothing. No reading decides its own place.

    Arguments: `density`, on the curve's base, `stops` and `patch`, all (n,).
    """
    found = np.empty(density.size)
    reach = LOG10_2 * np.abs(stops).max(initial=0.0)
    width = curve.last - curve.first + 2 * reach
    places = np.linspace(curve.first - reach, curve.last + reach, math.ceil(width / _PLACE_STEP) + 1)
    for number in np.unique(patch):
        own = patch == number
        shift = LOG10_2 * stops[own]
        misfit = np.abs(density[own] - _density_of(curve, places[:, None] + shift)).sum(axis=1)
        # Readings wholly off the curve leave a flat bottom; its middle is off the curve too.
        least = np.flatnonzero(misfit <= misfit.min() + 1e-9)
        found[own] = (places[least[0]] + places[least[-1]]) / 2 + shift
    return found


def _fit(cells: _Cells, own: FloatArray, used: BoolArray, zero: int) -> _Fitted:
    frame, patch = cells.table.frame, cells.table.patch
    at = np.flatnonzero(used)
    u_place = np.full(used.size, np.nan)
    u_place[at] = cells.u_place(used)
    screened = leave_out(frame[at], patch[at], own[at], u_place[at], zero=zero)
    kept = at[screened.kept]
    way = solve_two_way(
        frame[kept],
        patch[kept],
        u_place[kept] ** -2,
        rows=len(cells.table.frames),
        columns=len(cells.table.patches),
        zero=zero,
    )
    misfit = np.sum((find_residuals(way, frame[kept], patch[kept], own[kept]) / u_place[kept]) ** 2)
    enough = way.degrees >= FEWEST_DEGREES
    in_fit = np.zeros(used.size, dtype=np.bool_)
    in_fit[kept] = True
    return _Fitted(
        kept=in_fit,
        left=tuple(int(at[place]) for place in screened.left),
        stuck=tuple(int(at[place]) for place in screened.stuck),
        u_place=u_place,
        way=way,
        factor=max(1.0, math.sqrt(misfit / way.degrees)) if enough else 1.0,
    )


def _draw(
    cells: _Cells, own: FloatArray, fitted: _Fitted, key: str, zero: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the frames' exposures (rows, F), the patches' places (rows, P), and the readings' part in these (P,)."""
    x = cells.on_drawn_curves(fitted.kept)
    x[0] = own[fitted.kept]
    moved = fitted.factor * cells.moved_by_reading(own, fitted.kept, key, zero)
    if cells.curve.axis == BRACKET_AXIS:
        x[1 : 1 + DRAWS] += cells.grey_on_its_own_curve(x[1 : 1 + DRAWS] - x[0], fitted.kept, key, zero)
    x[1 : 1 + DRAWS] += moved
    variance = np.mean(apply_to_rows(moved, fitted.way.columns.T) ** 2, axis=0)
    return apply_to_rows(x, fitted.way.rows.T), apply_to_rows(x, fitted.way.columns.T), variance


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


def _usual_gradient(curve: FittedCurve) -> float:
    """Return the average gradient, else the curve's greatest slope over 0.20 log units."""
    average = float(find_average_gradient(curve)[0])
    if math.isfinite(average):
        return average
    centres = np.clip(curve.log_exposure, curve.first + SECANT_REACH, max(curve.last - SECANT_REACH, curve.first))
    low = np.clip(centres - SECANT_REACH, curve.first, curve.last)
    high = np.clip(centres + SECANT_REACH, curve.first, curve.last)
    return float(np.max((_density_of(curve, high) - _density_of(curve, low)) / (high - low)))


def _density_of(curve: FittedCurve, places: FloatArray) -> FloatArray:
    """Return row 0 of the curve at any places, held at its ends beyond them."""
    return np.asarray(np.interp(places, curve.log_exposure, curve.density[0]), dtype=np.float64)


def _name(table: BracketTable, which: BoolArray) -> tuple[tuple[str, str, float], ...]:
    return tuple(
        (table.frames[table.frame[at]].frame, table.patches[table.patch[at]], float(table.density[at]))
        for at in np.flatnonzero(which)
    )


def _list_misfits(cells: _Cells, own: FloatArray, fitted: _Fitted, zero: int) -> tuple[Misfit, ...]:
    """Return the readings that were left out or should have been, each against what the fit without them all says."""
    table = cells.table
    sound = fitted.kept.copy()
    sound[list(fitted.stuck)] = False
    way = solve_two_way(
        table.frame[sound],
        table.patch[sound],
        fitted.u_place[sound] ** -2,
        rows=len(table.frames),
        columns=len(table.patches),
        zero=zero,
    )
    exposure, place = way.rows @ own[sound], way.columns @ own[sound]
    found = []
    for at in (*fitted.left, *fitted.stuck):
        frame, patch = int(table.frame[at]), int(table.patch[at])
        predicted = float(exposure[frame] + place[patch])
        found.append(
            Misfit(
                frame=table.frames[frame].frame,
                patch=table.patches[patch],
                stops=(float(own[at]) - predicted) / LOG10_2,
                density=float(cells.density[at] - _density_of(cells.curve, np.array(predicted))),
                place=float(own[at] - exposure[frame]),
                patch_place=float(place[patch]),
                left_out=at in fitted.left,
            )
        )
    return tuple(found)


def _list_readings(
    cells: _Cells, exposure: FloatArray, place: FloatArray, fitted: _Fitted, off: BoolArray
) -> tuple[FrameReading, ...]:
    table, curve = cells.table, cells.curve
    at = exposure[0][table.frame] + place[0][table.patch]
    with_curve = (at >= curve.first) & (at <= curve.last)
    predicted = _density_of(curve, np.where(with_curve, at, curve.first))
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
