"""How light the film renders each patch, in stops from the grey patch, from all frames of the bracket together."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.frames_fit import FramesFit, NoFramesFit
from basefog.measure.intervals import missing, quantity_from_draws
from basefog.measure.resampling import DRAWS
from basefog.records.content import FloatArray
from basefog.records.findings import Quantity
from basefog.records.vocabulary import LOG10_2


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PatchStops:
    """One patch's stops from the grey patch.

    `draws` (rows,) as in `FramesFit`, in stops, None where there is no value. `variance` is that of the whole, its
    square root times 1.96 the half width; `reading_variance`, in it, the part of the bracket's own readings, which no
    other test shares; the rest is the curve's. Both in stops squared.
    """

    stops_from_grey: Quantity
    draws: FloatArray | None
    variance: float
    reading_variance: float


def measure_patch_stops(fit: FramesFit | NoFramesFit, patches: Sequence[str]) -> Mapping[str, PatchStops]:
    """Return b_p / 0.3010 of every patch, by id; zero for the grey patch, none where it can't be had, and why.

    Arguments: the ids of all `patches` of the series.
    """
    return {patch: _measure(fit, patch) for patch in patches}


def _measure(fit: FramesFit | NoFramesFit, patch: str) -> PatchStops:
    if isinstance(fit, NoFramesFit):
        return _nothing(fit.why)
    if patch == fit.grey_patch:
        zero = Quantity(value=0.0, low=0.0, high=0.0, unit="stops", note="zero by definition")
        return PatchStops(stops_from_grey=zero, draws=np.zeros(fit.place.shape[0]), variance=0.0, reading_variance=0.0)
    place = fit.place_of(patch)
    if place is None:
        return _nothing(fit.why_not.get(patch, "not read on any frame"))
    draws = place / LOG10_2
    notes = [note for note in (fit.curve.note, fit.note) if note]
    return PatchStops(
        stops_from_grey=quantity_from_draws(
            draws, "stops", why="", note="; ".join(notes) or None, wedge=fit.curve.wedge
        ),
        draws=draws,
        variance=float(np.mean((draws[1 : 1 + DRAWS] - draws[0]) ** 2)),
        reading_variance=float(fit.place_reading_variance[fit.patches.index(patch)]) / LOG10_2**2,
    )


def _nothing(why: str) -> PatchStops:
    return PatchStops(stops_from_grey=missing(why, "stops"), draws=None, variance=math.nan, reading_variance=math.nan)
