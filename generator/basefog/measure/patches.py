"""How light the film renders each patch, in stops from the grey patch: against the eye and against the reference.

Every density is turned back to log exposure through the stock's own curve, so that contrast drops out.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from basefog.measure.bracket import pool_bracket_error
from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve
from basefog.measure.intervals import compare, missing, not_measured, quantity_from_draws
from basefog.measure.resampling import DRAWS, draw_values, seeded_generator
from basefog.records.content import FloatArray, Frame, Patch, Test
from basefog.records.findings import Comparison, PatchFinding, Quantity, Scatter
from basefog.records.numbers import fixed
from basefog.records.vocabulary import LOG10_2

GREY_IS_ZERO = "this is the grey patch, from which the others are counted"


def measure_patches(
    test: Test, frame: Frame, curve: FittedCurve, patches: Sequence[Patch], *, grey_patch: str, repeatability: float
) -> dict[str, Quantity]:
    """Return stops_from_grey = (log H(patch) - log H(grey)) / 0.3010 of every patch, by patch id.

    log H is where the curve has the patch's density: net of the frame's own base where that was read and set on the
    curve's base plus fog, else as read. With the bracket's own grey curve the densities are taken as read, and the
    grey patch's log H is its frame's exposure itself. The grey patch is zero. No value where the patch wasn't read,
    or where it or the grey patch lies beyond the curve.

    Arguments: `frame`, one of the test's; `repeatability`, density.
    """
    if not frame.patches.get(grey_patch):
        why = f"the grey patch was not read on frame {frame.frame}"
        return {patch.id: missing(why, "stops") for patch in patches}
    read = [patch.id for patch in patches if frame.patches.get(patch.id)]
    densities = dict(zip(read, _draw_densities(test, frame, curve, read, repeatability).T, strict=True))
    if curve.axis == BRACKET_AXIS:
        grey = np.full(1 + DRAWS, LOG10_2 * frame.stops)
    else:
        grey = curve.log_exposure_at(densities[grey_patch])
    found: dict[str, Quantity] = {}
    for patch in patches:
        if patch.id == grey_patch:
            found[patch.id] = Quantity(value=0.0, low=0.0, high=0.0, unit="stops", note="zero by definition")
        elif patch.id not in densities:
            found[patch.id] = missing(f"not read on frame {frame.frame}", "stops")
        else:
            found[patch.id] = _stops_between(densities[patch.id], densities[grey_patch], grey, curve)
    return found


def note_patches(quantities: Mapping[str, Quantity], note: str) -> dict[str, Quantity]:
    """Return the same stops from grey, each that has a value carrying a further note."""
    return {
        patch: quantity
        if quantity.value is None
        else replace(quantity, note=note if quantity.note is None else f"{quantity.note}; {note}")
        for patch, quantity in quantities.items()
    }


def judge_patches(
    quantities: Mapping[str, Quantity],
    reference: Mapping[str, Quantity] | None,
    patches: Sequence[Patch],
    *,
    grey_patch: str,
    why_no_reference: str,
    scatter: Mapping[str, Scatter],
) -> dict[str, PatchFinding]:
    """Return every patch's finding: its stops from grey, against the eye, and against the reference.

    Arguments: `quantities` of this test and of the `reference`, by patch id, the latter None where it can't be set
    against this test, which `why_no_reference` explains; `scatter` by patch id, where it is known.
    """
    grey_reflectance = next((patch.luminous_reflectance for patch in patches if patch.id == grey_patch), None)
    return {
        patch.id: PatchFinding(
            patch=patch.id,
            stops_from_grey=quantities[patch.id],
            against_eye=_compare_with_eye(quantities[patch.id], patch, grey_patch, grey_reflectance),
            against_reference=_compare_with_reference(
                quantities[patch.id],
                None if reference is None else reference[patch.id],
                why=GREY_IS_ZERO if patch.id == grey_patch else why_no_reference,
                is_grey=patch.id == grey_patch,
                scatter=scatter.get(patch.id),
            ),
        )
        for patch in patches
    }


def _draw_densities(
    test: Test, frame: Frame, curve: FittedCurve, read: Sequence[str], repeatability: float
) -> FloatArray:
    """Return the draws of the patches' densities on the curve's own base, (1 + DRAWS, patches)."""
    frames = (frame,) if test.bracket is None else test.bracket.frames
    error = pool_bracket_error(frames, repeatability)
    generator = seeded_generator(test.key, "patches")
    means = np.array([float(np.mean(frame.patches[patch])) for patch in read])
    counts = np.array([len(frame.patches[patch]) for patch in read])
    drawn = draw_values(means, error / np.sqrt(counts), generator)
    if curve.axis == BRACKET_AXIS or not frame.base or not math.isfinite(curve.base_plus_fog[0]):
        # Without a base of the frame's own, base plus fog is taken off and put back: it can't matter.
        return drawn
    base = draw_values(
        np.array([float(np.mean(frame.base))]), np.array([error / math.sqrt(len(frame.base))]), generator
    )
    return np.asarray(drawn - base + curve.base_plus_fog[:, None], dtype=np.float64)


def _stops_between(density: FloatArray, grey_density: FloatArray, grey: FloatArray, curve: FittedCurve) -> Quantity:
    """Return one patch's stops from the grey patch, or why there are none."""
    place = curve.log_exposure_at(density)
    low, high = float(curve.density[0, 0]), float(curve.density[0, -1])
    for whose, level, found in (("the grey patch's", grey_density[0], grey[0]), ("its", density[0], place[0])):
        if math.isnan(found):
            return missing(
                f"{whose} density {fixed(level, 2)} is beyond the curve, which runs from {fixed(low, 2)} to "
                f"{fixed(high, 2)}",
                "stops",
            )
    return quantity_from_draws((place - grey) / LOG10_2, "stops", why="", note=curve.note)


def _compare_with_eye(quantity: Quantity, patch: Patch, grey_patch: str, grey_reflectance: float | None) -> Comparison:
    """Return the difference to log2(Y_patch / Y_grey): positive, the film renders it lighter than the eye sees it."""
    if patch.id == grey_patch:
        return not_measured(GREY_IS_ZERO, "stops")
    if patch.luminous_reflectance is None:
        return not_measured("the series gives no luminous_reflectance for this patch", "stops")
    if grey_reflectance is None:
        return not_measured("the series gives no luminous_reflectance for the grey patch", "stops")
    eye = math.log2(patch.luminous_reflectance / grey_reflectance)
    return compare(quantity, Quantity(value=eye, low=eye, high=eye, unit="stops"))


def _compare_with_reference(
    quantity: Quantity, other: Quantity | None, *, why: str, is_grey: bool, scatter: Scatter | None
) -> Comparison:
    if other is None or is_grey:
        return not_measured(why, "stops")
    return compare(quantity, other, scatter)
