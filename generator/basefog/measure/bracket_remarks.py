"""Frames off their stops and columns in each other's place: what a whole bracket shows to be wrong, as remarks."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from basefog.measure.frames_fit import FramesFit
from basefog.measure.reading_remarks import EXCHANGED_SHARE
from basefog.measure.two_way import NORMAL_QUARTILE
from basefog.records.findings import Remark
from basefog.records.numbers import fixed, round_to

LEAST_EXCHANGE_STOPS = 0.5
"""Stops by which both patches of a column pair are off before they are thought exchanged (project)."""

OFF_STEP_SPREADS = 4.0
"""Robust standard deviations of the frames' exposures beyond which one does not fit its stops (project)."""

LEAST_OFF_STOPS = 0.25
"""Stops below which a frame's exposure is the shutter's business (project)."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PatchPlaces:
    """Where the tests of a series have their patches, stops from the grey one, by patch: ascending, and whose is which.

    `ranks` is by patch the place of each test's in `stops`, by the test's key.
    """

    stops: Mapping[str, tuple[float, ...]]
    ranks: Mapping[str, Mapping[str, int]]

    def usual(self, patch: str, without: str) -> float | None:
        """Return the median over all tests but the one of that key; None where no other has the patch."""
        stops, left_out = self.stops.get(patch, ()), self.ranks.get(patch, {}).get(without)
        if left_out is not None:
            stops = stops[:left_out] + stops[left_out + 1 :]
        return (stops[(len(stops) - 1) // 2] + stops[len(stops) // 2]) / 2 if stops else None


def gather_places(tests: Iterable[tuple[str, Mapping[str, float]]]) -> PatchPlaces:
    """Return where tests have their patches.

    Arguments: each test's key, and where it has its patches, stops from the grey one.
    """
    found: dict[str, list[tuple[float, str]]] = {}
    for key, own in tests:
        for patch, stops in own.items():
            found.setdefault(patch, []).append((stops, key))
    ordered = {patch: sorted(places) for patch, places in found.items()}
    return PatchPlaces(
        stops={patch: tuple(stops for stops, _ in places) for patch, places in ordered.items()},
        ranks={patch: {key: rank for rank, (_, key) in enumerate(places)} for patch, places in ordered.items()},
    )


def remark_on_exchanged_patches(key: str, own: Mapping[str, float], series: PatchPlaces) -> tuple[Remark, ...]:
    """Return a remark for each two patches of a test whose columns look exchanged, set against the series' others.

    Both lie half a stop or more from where the other tests have them (their median), and each within a third of that
    of where they have the other.

    Arguments: the test's `key` and where it has its `own` patches, stops from the grey one.
    """
    found = []
    places = {patch: series.usual(patch, key) for patch in own}
    for first, second in combinations(own, 2):
        usual_first, usual_second = places[first], places[second]
        if usual_first is None or usual_second is None:
            continue
        here, there = [own[first], own[second]], [usual_first, usual_second]
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
