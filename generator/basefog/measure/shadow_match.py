"""The extra light a stock needs for the reference's shadows, and the frame that gave them, from all frames together.

Every test's shadows are read once (`read_shadows`), the reference's tests together give the target (`find_target`),
and each test is matched to it (`match_shadows`).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.bracket_readings import tabulate_bracket
from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve
from basefog.measure.frames_fit import FramesFit, NoFramesFit
from basefog.measure.intervals import LOST_SHARE, missing, student_factor
from basefog.measure.resampling import DRAWS, NORMAL_FACTOR, seeded_generator
from basefog.measure.shadow_curve import find_net_shadows, find_stops, fit_shadow_curve, read_at_metered
from basefog.records.content import FloatArray, Frame, Test
from basefog.records.findings import FrameFinding, Quantity
from basefog.records.numbers import fixed
from basefog.records.vocabulary import LOG10_2

TIE = 1e-9

BEYOND_FRAMES = "beyond the bracket's own frames: the curve reaches it, no frame did"
FROM_FRAMES = "from the frames' own shadow densities, for want of a wedge exposure of both tests"


@dataclass(frozen=True, kw_only=True, slots=True)
class NoShadows:
    """Why a test has no net shadow densities, or gives no target, in the tester's words."""

    why: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class OnCurve:
    """Where the shadows lie on a test's curve at 0 stops: `place` (rows,), a + b_dark, with the error u(a) in it."""

    curve: FittedCurve
    place: FloatArray

    def net_density(self) -> FloatArray:
        """Return C(a + b_dark) - B, the net shadow density at 0 stops, (rows,); NaN off the curve."""
        return np.asarray(self.curve.density_at(self.place) - self.curve.base_plus_fog, dtype=np.float64)

    def find_stops(self, net: float) -> FloatArray:
        """Return (C^-1(N + B) - a - b_dark) / 0.3010, stops, of every row, (rows,); NaN off the curve."""
        reached = self.curve.log_exposure_at(net + self.curve.base_plus_fog)
        return np.asarray((reached - self.place) / LOG10_2, dtype=np.float64)

    def find_stops_as_it_is(self, net: FloatArray) -> FloatArray:
        """Return the same of row 0 alone, for any number of N, (k,)."""
        aims = net + self.curve.base_plus_fog[0]
        row, places = self.curve.density[0], self.curve.log_exposure
        # The first place of a flat stretch, as the curve's own inverse.
        first, at = np.unique(row, return_index=True)
        found = np.where((aims >= row[0]) & (aims <= row[-1]), np.interp(aims, first, places[at]), np.nan)
        return np.asarray((found - self.place[0]) / LOG10_2, dtype=np.float64)

    def tell_unreached(self, net: float) -> str:
        """Return why a net density N has no stops, in the tester's words."""
        base = float(self.curve.base_plus_fog[0])
        low, high = float(self.curve.density[0, 0]) - base, float(self.curve.density[0, -1]) - base
        return (
            f"the reference's net shadow density {fixed(net, 2)} is beyond the curve, net "
            f"{fixed(low, 2)} to {fixed(high, 2)}"
        )

    def note_on(self, stops: float, frames: Sequence[Frame]) -> str | None:
        """Return what is to be said of a match by the curve: that it lies beyond the frames, if it does."""
        own = [frame.stops for frame in frames]
        return None if min(own) - TIE <= stops <= max(own) + TIE else BEYOND_FRAMES


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class OnFrames:
    """The smooth curve of net shadow density against stops: `grid` (g,), stops; `curves` (rows, g)."""

    grid: FloatArray
    curves: FloatArray

    def find_stops(self, net: float) -> FloatArray:
        """Return where every row reaches a net density N, stops, (rows,); NaN where it does not."""
        return find_stops(self.grid, self.curves, np.full(self.curves.shape[0], net))

    def find_stops_as_it_is(self, net: FloatArray) -> FloatArray:
        """Return the same of row 0 alone, for any number of N, (k,)."""
        return find_stops(self.grid, np.broadcast_to(self.curves[0], (net.size, self.grid.size)), net)

    def tell_unreached(self, net: float) -> str:
        """Return why a net density N has no stops, in the tester's words."""
        low, high = float(self.curves[0, 0]), float(self.curves[0, -1])
        side = "more" if net > high else "less"
        return (
            f"the bracket's net shadow densities run from {fixed(low, 2)} to {fixed(high, 2)} and do not "
            f"reach the reference's "
            f"{fixed(net, 2)}: frames with {side} light are missing"
        )

    def note_on(self, _stops: float, _frames: Sequence[Frame]) -> str | None:
        """Return what is to be said of a match by the frames: that it is one."""
        return FROM_FRAMES


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Shadows:
    """The shadows of one test.

    `net` (F,) is the net density of the shadow patch on each of `frames`, NaN where it can't be had. `on_curve` where
    the test has a wedge curve, `on_frames` for those without; each None with its why.
    """

    test: Test
    frames: tuple[Frame, ...]
    net: FloatArray
    on_curve: OnCurve | None
    on_curve_why: str
    on_frames: OnFrames | None
    on_frames_why: str
    has_wedge: bool


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Target:
    """The net shadow density that the reference has at 0 stops, mean of its tests, two ways.

    `by_curve`, `by_frames` (rows,); None where that way gives none, with why. Without a wedge curve of some test of the
    reference's, `by_curve` is of those that have one.
    """

    keys: tuple[str, ...]
    exposure_index: float
    by_curve: FloatArray | None
    by_curve_why: str
    by_frames: FloatArray | None
    by_frames_why: str
    has_wedge: bool


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ShadowMatch:
    """The shadow match of a test with its parts, all in stops.

    `own` (rows,): the test's own curve, bracket and u(a) drawn, N held at its estimate; `reference` (rows of the
    reference): N drawn, the test's own held. Both None where there is no value. The variance of the whole is the sum.
    `target` is N as the match took it, None where there is none.
    """

    quantity: Quantity
    own: FloatArray | None = None
    reference: FloatArray | None = None
    own_variance: float = math.nan
    reference_variance: float = math.nan
    target: float | None = None


def read_shadows(
    test: Test,
    fit: FramesFit | NoFramesFit,
    base_plus_fog: FloatArray,
    *,
    shadow_patch: str | None,
    repeatability: float,
    quantum: float,
    shutter_stops: float,
) -> Shadows | NoShadows:
    """Return the shadows of a test, or why it has none.

    Arguments: `fit`, its frames fitted together; `base_plus_fog` (rows,), NaN where it isn't known; `quantum`, the
    density step that readings were rounded to; `shutter_stops`, the series' pooled s_shutter, for a test that does not
    tell its own.
    """
    if test.bracket is None:
        return NoShadows(why="no bracket was read")
    if shadow_patch is None:
        return NoShadows(why="the protocol names no shadow patch")
    table = tabulate_bracket(test.bracket.frames, repeatability=repeatability, quantum=quantum)
    if shadow_patch not in table.patches:
        return NoShadows(why=f"the shadow patch {shadow_patch} was read on no frame")
    net, u_net = find_net_shadows(table, base_plus_fog, shadow_patch)
    known = np.isfinite(net[0])
    if not known.any():
        return NoShadows(why="neither a frame's own base nor base plus fog is known, so no density is net")
    own_shutter = shutter_stops
    if isinstance(fit, FramesFit) and fit.exposures_repeat_stops is not None:
        own_shutter = fit.exposures_repeat_stops
    on_frames, on_frames_why = _place_on_frames(
        table.stops[known], net[:, known], u_net[known], shutter_stops=own_shutter, key=test.key
    )
    on_curve, on_curve_why = _place_on_curve(fit, shadow_patch, shutter_stops)
    return Shadows(
        test=test,
        frames=table.frames,
        net=net[0],
        on_curve=on_curve,
        on_curve_why=on_curve_why,
        on_frames=on_frames,
        on_frames_why=on_frames_why,
        has_wedge=isinstance(fit, FramesFit) and fit.curve.axis != BRACKET_AXIS,
    )


def find_u_exposure(fit: FramesFit, shutter_stops: float) -> float:
    """Return u(a), log exposure, the error of the mean exposure of k frames: 0.3010 s_shutter / sqrt(k).

    Where s_shutter is the test's own it is widened by Student's factor at k - 1 over the normal one, so that 1.96
    times it is the half of a 95 % interval. `shutter_stops` serves where the test does not tell its own.

    Source: Student, Biometrika 6 (1908) 1 (from memory).
    """
    frames = int(np.isfinite(fit.exposure[0]).sum())
    if fit.exposures_repeat_stops is None:
        return LOG10_2 * shutter_stops / math.sqrt(frames)
    widened = student_factor(frames - 1) / NORMAL_FACTOR
    return LOG10_2 * fit.exposures_repeat_stops / math.sqrt(frames) * widened


def find_target(shadows: Sequence[Shadows | NoShadows]) -> Target | NoShadows:
    """Return the target from the reference's tests: one, or the group of its repeats, of which it is the mean.

    Raises ValueError where there is no test.
    """
    if not shadows:
        raise ValueError("shadows must hold one test at least")
    read = [one for one in shadows if isinstance(one, Shadows)]
    if not read:
        return NoShadows(why=f"the reference gives no target: {_no_shadows(shadows)[0].why}")
    by_curve, curve_why = _mean_rows([(_net_by_curve(one), one.on_curve_why) for one in read])
    by_frames, frames_why = _mean_rows(
        [
            (None if one.on_frames is None else read_at_metered(one.on_frames.grid, one.on_frames.curves), why)
            for one in read
            for why in [one.on_frames_why or "no frame of it is as low, or none as high, as 0 stops"]
        ]
    )
    return Target(
        keys=tuple(one.test.key for one in read),
        exposure_index=read[0].test.exposure_index,
        by_curve=by_curve,
        by_curve_why=curve_why,
        by_frames=by_frames,
        by_frames_why=frames_why,
        has_wedge=any(one.has_wedge for one in read),
    )


def match_shadows(shadows: Shadows | NoShadows, target: Target | NoShadows, *, is_reference: bool) -> ShadowMatch:
    """Return the stops of extra light for the reference's net shadow density at 0 stops; positive is slower.

    (C^-1(N + B) - a - b_dark) / 0.3010 + log2(EI_ref / EI), where both have a wedge curve; else where the frames' own
    net shadow densities reach N. Zero for the reference itself.
    """
    if isinstance(shadows, NoShadows):
        return ShadowMatch(quantity=missing(shadows.why, "stops"))
    if isinstance(target, NoShadows):
        return ShadowMatch(quantity=missing(target.why, "stops"))
    if is_reference:
        return _zero(target)
    if shadows.has_wedge and target.has_wedge:
        on_curve = (shadows.on_curve, shadows.on_curve_why)
        return _match(shadows, target, on_curve, (target.by_curve, target.by_curve_why))
    on_frames = (shadows.on_frames, shadows.on_frames_why)
    return _match(shadows, target, on_frames, (target.by_frames, target.by_frames_why))


def describe_frames(
    shadows: Shadows | NoShadows, target: Target | NoShadows, match: ShadowMatch, frames: Sequence[Frame]
) -> tuple[FrameFinding, ...]:
    """Return every frame against the target; the chosen one has the smallest residual in stops.

    residual_stops = s_f + log2(EI_ref / EI) - shadow_match; residual_density = net density less the target's. Of two
    as near, the one nearer the metered exposure, then the one with less light. `frames` are listed where there are no
    shadows.
    """
    if isinstance(shadows, NoShadows):
        return tuple(_describe(frame, math.nan, None, None) for frame in frames)
    residual: list[float | None] = [None for _ in shadows.frames]
    if isinstance(target, Target) and match.quantity.value is not None:
        count = _count_stops(shadows, target) - match.quantity.value
        residual = [frame.stops + count for frame in shadows.frames]
    ranks = [
        (round(abs(away), 9), abs(frame.stops), frame.stops, frame.frame)
        for frame, away in zip(shadows.frames, residual, strict=True)
        if away is not None
    ]
    chosen = min(ranks, default=None)
    return tuple(
        _describe(
            frame, net, match.target, away, chosen=chosen is not None and (frame.stops, frame.frame) == chosen[2:]
        )
        for frame, net, away in zip(shadows.frames, shadows.net.tolist(), residual, strict=True)
    )


def _place_on_curve(
    fit: FramesFit | NoFramesFit, shadow_patch: str, shutter_stops: float
) -> tuple[OnCurve | None, str]:
    if isinstance(fit, NoFramesFit):
        return None, fit.why
    if fit.curve.axis == BRACKET_AXIS:
        return None, "there is no wedge curve"
    if not math.isfinite(fit.curve.base_plus_fog[0]):
        return None, fit.curve.base_why or "base plus fog is not known"
    of_patch = fit.place_of(shadow_patch)
    if of_patch is None:
        return None, f"the shadow patch {shadow_patch}: {fit.why_not[shadow_patch]}"
    known = np.isfinite(fit.exposure[0])
    mean = np.mean(fit.exposure[:, known] - LOG10_2 * fit.stops[known], axis=1)
    place = mean + of_patch
    u_exposure = find_u_exposure(fit, shutter_stops)
    place[1 : 1 + DRAWS] += u_exposure * seeded_generator(fit.key, "shutter").standard_normal(DRAWS)
    return OnCurve(curve=fit.curve, place=place), ""


def _place_on_frames(
    stops: FloatArray, net: FloatArray, u_net: FloatArray, *, shutter_stops: float, key: str
) -> tuple[OnFrames | None, str]:
    if np.unique(stops).size < 2:
        return None, "the shadow patch was read at one exposure only"
    fitted = fit_shadow_curve(stops, net, u_net, shutter_stops=shutter_stops, key=key)
    if fitted is None:
        return None, "the shadow densities do not rise over the bracket"
    return OnFrames(grid=fitted[0], curves=fitted[1]), ""


def _net_by_curve(shadows: Shadows) -> FloatArray | None:
    return None if shadows.on_curve is None else shadows.on_curve.net_density()


def _no_shadows(shadows: Sequence[Shadows | NoShadows]) -> list[NoShadows]:
    return [one for one in shadows if isinstance(one, NoShadows)]


def _mean_rows(tests: Sequence[tuple[FloatArray | None, str]]) -> tuple[FloatArray | None, str]:
    """Return the mean over the tests that have a value, row by row, or None and the first test's why."""
    had = [rows for rows, _ in tests if rows is not None and math.isfinite(rows[0])]
    if not had:
        why = next((why for rows, why in tests if why), "its shadows at 0 stops lie beyond its curve")
        return None, f"the reference gives no target: {why}"
    # Rows beyond the draws move the steps of one wedge; tests on different ones have only the draws in common.
    alike = len({rows.size for rows in had}) == 1
    stacked = np.stack([rows if alike else rows[: 1 + DRAWS] for rows in had])
    return np.asarray(stacked.mean(axis=0)), ""


def _zero(target: Target) -> ShadowMatch:
    rows = target.by_curve if target.has_wedge else target.by_frames
    zero = Quantity(value=0.0, low=0.0, high=0.0, unit="stops", note="zero by definition: this is the reference")
    return ShadowMatch(
        quantity=zero,
        own_variance=0.0,
        reference_variance=0.0,
        target=None if rows is None else float(rows[0]),
    )


def _match(
    shadows: Shadows,
    target: Target,
    own: tuple[OnCurve | OnFrames | None, str],
    nets: tuple[FloatArray | None, str],
) -> ShadowMatch:
    """Return the match one of the two ways: the test's place against the target's rows, each None with its why."""
    (place, place_why), (rows, rows_why) = own, nets
    if place is None:
        return ShadowMatch(quantity=missing(place_why, "stops"))
    if rows is None:
        return ShadowMatch(quantity=missing(rows_why, "stops"))
    estimate = float(rows[0])
    found = place.find_stops(estimate)
    if not math.isfinite(found[0]):
        return ShadowMatch(quantity=missing(place.tell_unreached(estimate), "stops"), target=estimate)
    return _sum_up(
        found,
        place.find_stops_as_it_is(rows),
        count=_count_stops(shadows, target),
        estimate=estimate,
        note=place.note_on(float(found[0]), shadows.frames),
    )


def _sum_up(own: FloatArray, reference: FloatArray, *, count: float, estimate: float, note: str | None) -> ShadowMatch:
    """Return the match whose variance is the sum of the two parts, each round the one estimate.

    `count`, log2(EI_ref / EI), is added throughout.
    """
    own, reference = own + count, reference + count
    value = float(own[0])
    variances, lost = [], 0.0
    for draws in (own[1 : 1 + DRAWS], reference[1 : 1 + DRAWS]):
        told = draws[np.isfinite(draws)]
        lost = max(lost, 1 - told.size / draws.size)
        variances.append(float(np.mean((told - value) ** 2)) if told.size else math.nan)
    if any(math.isnan(variance) for variance in variances):
        why = "the readings end too close to it to say how sure it is"
        return ShadowMatch(quantity=missing(why, "stops"), target=estimate)
    notes = [note] if note else []
    if lost > LOST_SHARE:
        notes.append(f"within error of where the readings end: {lost:.0%} of the resampled curves do not reach it")
    half = NORMAL_FACTOR * math.sqrt(sum(variances))
    return ShadowMatch(
        quantity=Quantity(
            value=value, low=value - half, high=value + half, unit="stops", note="; ".join(notes) or None
        ),
        own=own,
        reference=reference,
        own_variance=variances[0],
        reference_variance=variances[1],
        target=estimate,
    )


def _count_stops(shadows: Shadows, target: Target) -> float:
    """Return the light that the exposure indexes put between the two metered frames, stops."""
    return math.log2(target.exposure_index / shadows.test.exposure_index)


def _describe(
    frame: Frame, net: float, target: float | None, residual_stops: float | None, *, chosen: bool = False
) -> FrameFinding:
    known = math.isfinite(net)
    return FrameFinding(
        frame=frame.frame,
        stops=frame.stops,
        chosen=chosen,
        shadow_density=net if known else None,
        residual_density=net - target if known and target is not None else None,
        residual_stops=residual_stops,
    )
