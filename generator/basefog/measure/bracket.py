"""The bracket: net shadow densities, the frame that matches the reference's shadows, and the light that took.

The reference's current test gives the target: its frame nearest the metered exposure. Every other test looks for
that net shadow density among its own frames. Stops count from each test's own metered frame.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.crossing import find_crossings, fit_rising_rows
from basefog.measure.intervals import missing, quantity_from_draws
from basefog.measure.noise import pool_reading_error
from basefog.measure.resampling import DRAWS, seeded_generator
from basefog.measure.smoother import apply_to_rows
from basefog.records.content import FloatArray, Frame, Test
from basefog.records.findings import FrameFinding, Quantity
from basefog.records.numbers import fixed
from basefog.records.vocabulary import LOG10_2

TYPICAL_BEND = 1.0
"""Typical second derivative of density by log exposure in the shadows, per (log unit)^1.5: see `smoother`."""

TIE = 1e-9
"""Densities closer than this are the same: the difference of two decimals is never quite a decimal."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class NetShadows:
    """The net density of the shadow patch on every frame that has it, with draws.

    `frames` (k) by stops; `net` (1 + DRAWS, k); `u_frame` (k,) the standard uncertainty of each frame's density that
    it doesn't share with the others.
    """

    test: Test
    frames: tuple[Frame, ...]
    net: FloatArray
    u_frame: FloatArray


@dataclass(frozen=True, kw_only=True, slots=True)
class NoShadows:
    """Why a test has no net shadow densities, or gives no target, in the tester's words."""

    why: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Target:
    """The reference's frame whose net shadow density the others look for; `net` (1 + DRAWS,)."""

    test: Test
    frame: Frame
    net: FloatArray


def pool_bracket_error(frames: Sequence[Frame], repeatability: float) -> float:
    """Return the standard deviation of one reading on a bracket, in density: repeatability and replicates, pooled."""
    readings = [frame.base for frame in frames] + [
        read for frame in frames for _, read in sorted(frame.patches.items())
    ]
    return pool_reading_error(readings, repeatability)


def read_net_shadows(
    test: Test, base_plus_fog: FloatArray, *, shadow_patch: str | None, repeatability: float
) -> NetShadows | NoShadows:
    """Return the net shadow densities of a test's frames, or why there are none.

    Net density is the patch's mean density less the frame's own base, where that was read, else less the test's base
    plus fog. Frames without a reading of the patch, or without either base, are left out.

    Arguments: `base_plus_fog` (1 + DRAWS,), density, NaN where it isn't known; `repeatability`, density.
    """
    if test.bracket is None:
        return NoShadows(why="no bracket was read")
    if shadow_patch is None:
        return NoShadows(why="the protocol names no shadow patch")
    read = [frame for frame in test.bracket.frames if frame.patches.get(shadow_patch)]
    if not read:
        return NoShadows(why=f"the shadow patch {shadow_patch} was read on no frame")
    based = tuple(frame for frame in read if frame.base or math.isfinite(base_plus_fog[0]))
    if not based:
        return NoShadows(why="neither a frame's own base nor base plus fog is known, so no density is net")
    error = pool_bracket_error(test.bracket.frames, repeatability)
    density = np.array([float(np.mean(frame.patches[shadow_patch])) for frame in based])
    u_density = error / np.sqrt([len(frame.patches[shadow_patch]) for frame in based])
    u_base = np.array([error / math.sqrt(len(frame.base)) if frame.base else 0.0 for frame in based])
    own_base = np.array([float(np.mean(frame.base)) if frame.base else np.nan for frame in based])
    u_frame = np.hypot(u_density, u_base)
    generator = seeded_generator(test.key, "shadows")
    errors = np.vstack([np.zeros(len(based)), u_frame * generator.standard_normal((DRAWS, len(based)))])
    base = np.where(np.isnan(own_base), base_plus_fog[:, None], own_base)
    return NetShadows(test=test, frames=based, net=density - base + errors, u_frame=u_frame)


def find_target(shadows: NetShadows | NoShadows, reference: Test) -> Target | NoShadows:
    """Return the target: the reference's frame nearest the metered exposure.

    Arguments: `shadows`, those of the reference's current test.
    """
    if isinstance(shadows, NoShadows):
        return NoShadows(why=f"the reference gives no target: {shadows.why}")
    if reference.bracket is None:
        raise ValueError("shadows must be those of the reference")
    nearest = frame_nearest_metered(reference.bracket.frames)
    if nearest not in shadows.frames:
        return NoShadows(
            why=f"the reference gives no target: its frame {nearest.frame}, nearest the metered exposure, lacks a "
            "net reading of the shadow patch"
        )
    return Target(test=reference, frame=nearest, net=shadows.net[:, shadows.frames.index(nearest)])


def frame_nearest_metered(frames: Sequence[Frame]) -> Frame:
    """Return the frame nearest the metered exposure; of two as near, the one with less light."""
    return min(frames, key=lambda frame: (abs(frame.stops), frame.stops, frame.frame))


def choose_frame(shadows: NetShadows, target: Target) -> Frame:
    """Return the frame nearest the target's net shadow density; of equals, the one nearest the metered exposure."""
    if shadows.test.key == target.test.key:
        return target.frame
    residuals = np.abs(shadows.net[0] - target.net[0])
    nearest = [frame for frame, away in zip(shadows.frames, residuals, strict=True) if away <= residuals.min() + TIE]
    return frame_nearest_metered(nearest)


def measure_shadow_match(shadows: NetShadows, target: Target) -> Quantity:
    """Return the stops of extra light the stock needs for the target's net shadow density; positive is slower.

    s - s_ref + log2(EI_ref / EI), s where the stock's own shadow-density-against-stops curve reaches the target,
    s_ref the stops of the target's frame (zero for a metered one). Zero for the reference itself. Its error holds
    the readings of both brackets, and their bases. No value where the curve does not reach the target, or is level
    there.
    """
    if shadows.test.key == target.test.key:
        return Quantity(value=0.0, low=0.0, high=0.0, unit="stops", note="zero by definition: this is the reference")
    if len({frame.stops for frame in shadows.frames}) < 2:
        return missing("the shadow patch was read at one exposure only", "stops")
    stops = find_matching_stops(shadows, target)
    if stops is None:
        return missing("the shadow densities do not rise over the bracket", "stops")
    if not math.isfinite(stops[0]):
        return missing(_why_out_of_reach(shadows, target), "stops")
    count = math.log2(target.test.exposure_index / shadows.test.exposure_index) - target.frame.stops
    return quantity_from_draws(stops + count, "stops", why="")


def find_matching_stops(shadows: NetShadows, target: Target) -> FloatArray | None:
    """Return where every draw of the shadow curve reaches the target, in stops from the test's metered frame.

    Arguments: `shadows`, read at two exposures or more.
    Returns (1 + DRAWS,), NaN outside the frames; None where the densities do not rise.
    """
    stops, net, u_net = _merge_equal_exposures(shadows)
    grid, curves = fit_rising_rows(LOG10_2 * stops, net, u_net**2, typical_derivative=TYPICAL_BEND)
    if curves[0, -1] - curves[0, 0] <= TIE:
        return None
    aims = target.net.copy()
    # The smooth curve may stop a hair short of the last reading itself, which counts as reached.
    if net[0].min() - TIE <= aims[0] <= net[0].max() + TIE:
        aims[0] = min(max(aims[0], curves[0, 0]), curves[0, -1])
    return find_crossings(grid, curves, aims) / LOG10_2


def describe_frames(
    frames: Sequence[Frame], shadows: NetShadows | NoShadows, target: Target | NoShadows, match: float | None
) -> tuple[FrameFinding, ...]:
    """Return every frame of a test against the target; what can't be had is None.

    Arguments: `match`, the test's shadow match in stops, None where it has none.
    """
    if isinstance(shadows, NoShadows):
        return tuple(_describe_frame(frame) for frame in frames)
    net = {frame.frame: float(value) for frame, value in zip(shadows.frames, shadows.net[0], strict=True)}
    if isinstance(target, NoShadows):
        return tuple(_describe_frame(frame, shadow_density=net.get(frame.frame)) for frame in frames)
    count = math.log2(target.test.exposure_index / shadows.test.exposure_index) - target.frame.stops
    chosen = choose_frame(shadows, target)
    return tuple(
        _describe_frame(
            frame,
            shadow_density=net.get(frame.frame),
            chosen=frame is chosen,
            target=float(target.net[0]),
            residual_stops=None if match is None else frame.stops + count - match,
        )
        for frame in frames
    )


def _describe_frame(
    frame: Frame,
    *,
    shadow_density: float | None = None,
    chosen: bool = False,
    target: float | None = None,
    residual_stops: float | None = None,
) -> FrameFinding:
    residual = None if shadow_density is None or target is None else shadow_density - target
    return FrameFinding(
        frame=frame.frame,
        stops=frame.stops,
        chosen=chosen,
        shadow_density=shadow_density,
        residual_density=residual,
        residual_stops=residual_stops,
    )


def _merge_equal_exposures(shadows: NetShadows) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the distinct stops (n,), the net densities there (1 + DRAWS, n), and their uncertainties (n,)."""
    every = np.array([frame.stops for frame in shadows.frames])
    stops, place = np.unique(every, return_inverse=True)
    weights = np.zeros((every.size, stops.size))
    weights[np.arange(every.size), place] = shadows.u_frame**-2
    total = weights.sum(axis=0)
    return stops, apply_to_rows(shadows.net, weights / total), total**-0.5


def _why_out_of_reach(shadows: NetShadows, target: Target) -> str:
    low, high, aim = float(shadows.net[0].min()), float(shadows.net[0].max()), float(target.net[0])
    side = "more" if aim > high else "less"
    return (
        f"the bracket's net shadow densities run from {fixed(low, 2)} to {fixed(high, 2)} and do not "
        f"reach the reference's {fixed(aim, 2)}: frames with {side} light are missing"
    )
