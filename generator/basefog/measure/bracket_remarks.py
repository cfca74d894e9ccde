"""Frames off their stops and columns in each other's place: what a whole bracket shows to be wrong, as remarks."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from basefog.measure.frames_fit import FramesFit
from basefog.measure.reading_remarks import EXCHANGED_SHARE
from basefog.measure.two_way import NORMAL_QUARTILE
from basefog.records.content import FloatArray
from basefog.records.findings import Remark
from basefog.records.numbers import fixed, round_to
from basefog.records.vocabulary import LOG10_2

LEAST_EXCHANGE_STOPS = 0.5
"""Stops by which both patches of a column pair are off before they are thought exchanged (project)."""

OFF_STEP_SPREADS = 4.0
"""Robust standard deviations of the frames' exposures beyond which one does not fit its stops (project)."""

LEAST_OFF_STOPS = 0.25
"""Stops below which a frame's exposure is the shutter's business (project)."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PatchPlaces:
    """Where the tests of a series have their patches, stops from the grey one: by patch, keys and places of tests."""

    keys: Mapping[str, tuple[str, ...]]
    stops: Mapping[str, FloatArray]

    def usual(self, patch: str, without: str) -> float | None:
        """Return the median over all tests but the one of that key; None where no other has the patch."""
        places = self.stops.get(patch, np.zeros(0))
        if without in self.keys.get(patch, ()):
            places = np.delete(places, self.keys[patch].index(without))
        return float(np.median(places)) if places.size else None


def gather_places(fits: Iterable[FramesFit]) -> PatchPlaces:
    """Return where tests have their patches."""
    found: dict[str, list[tuple[str, float]]] = {}
    for fit in fits:
        for patch in fit.patches:
            if (place := fit.place_of(patch)) is not None:
                found.setdefault(patch, []).append((fit.key, float(place[0]) / LOG10_2))
    return PatchPlaces(
        keys={patch: tuple(key for key, _ in places) for patch, places in found.items()},
        stops={patch: np.array([stops for _, stops in places]) for patch, places in found.items()},
    )


def remark_on_exchanged_patches(fit: FramesFit, series: PatchPlaces) -> tuple[Remark, ...]:
    """Return a remark for each two patches of a test whose columns look exchanged, set against the series' others.

    Both lie half a stop or more from where the other tests have them (their median), and each within a third of that
    of where they have the other.
    """
    found = []
    places = {patch: series.usual(patch, fit.key) for patch in fit.patches}
    for first, second in combinations(fit.patches, 2):
        own = [fit.place_of(patch) for patch in (first, second)]
        usual = [places[first], places[second]]
        if own[0] is None or own[1] is None or usual[0] is None or usual[1] is None:
            continue
        here = [float(place[0]) / LOG10_2 for place in own if place is not None]
        there = [place for place in usual if place is not None]
        as_typed = [abs(here[0] - there[0]), abs(here[1] - there[1])]
        exchanged = [abs(here[0] - there[1]), abs(here[1] - there[0])]
        if min(as_typed) >= LEAST_EXCHANGE_STOPS and max(exchanged) <= EXCHANGED_SHARE * min(as_typed):
            found.append(
                Remark(
                    message=f"the columns {first} and {second} of the bracket look exchanged: {first} is "
                    f"{round_to(here[0], 2):+.2f} stops from the grey patch and {second} "
                    f"{round_to(here[1], 2):+.2f}, and in the other tests "
                    f"they are {round_to(there[0], 2):+.2f} and {round_to(there[1], 2):+.2f}",
                    mend="compare the header of the bracket's table with the sheet",
                )
            )
    return tuple(found)


def remark_on_exposures(fit: FramesFit) -> tuple[Remark, ...]:
    """Return a remark for each frame whose exposure is not what its stops say, by all its patches together.

    It is beyond four robust standard deviations of the frames' own spread, and a quarter stop, from their median.
    """
    offset = fit.offset_stops()
    known = np.isfinite(offset)
    if known.sum() < 4:
        return ()
    away = offset - float(np.median(offset[known]))
    spread = float(np.median(np.abs(away[known]))) / NORMAL_QUARTILE
    limit = max(OFF_STEP_SPREADS * spread, LEAST_OFF_STOPS)
    return tuple(
        Remark(
            message=f"frame {frame.frame}: by all its patches it had {fixed(abs(by), 2)} stop "
            f"{'more' if by > 0 else 'less'} light than its {round_to(frame.stops, 2):+.2f} stops say",
            mend="compare its stops with the sheet; if they are right, the shutter or the meter slipped there",
        )
        for frame, by in zip(fit.frames, away.tolist(), strict=True)
        if math.isfinite(by) and abs(by) > limit
    )
