"""Readings of a bracket that disagree with all the others, as remarks to the tester."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from basefog.measure.curve_fit import FittedCurve
from basefog.records.findings import Remark
from basefog.records.numbers import fixed

EXCHANGED_SHARE = 1 / 3
"""Share of its misfit that a pair keeps when it is exchanged, at most, to be called exchanged (project)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Misfit:
    """A reading that disagrees with the other frames and patches.

    `stops` and `density`, by how much it is above them (negative, below). `place` is its log exposure less its frame's
    by the others, `patch_place` what its patch's is by them.
    `left_out` is False where too few readings were left to leave it out.
    """

    frame: str
    patch: str
    stops: float
    density: float
    place: float
    patch_place: float
    left_out: bool


def remark_on_off_curve(readings: Sequence[tuple[str, str, float]], curve: FittedCurve) -> tuple[Remark, ...]:
    """Return a remark for each reading, named by frame, patch and density, that the curve should have and hasn't."""
    low, high = float(curve.density[0, 0]), float(curve.density[0, -1])
    return tuple(
        Remark(
            message=f"frame {frame}, patch {patch}: its density {fixed(density, 2)} is beyond the curve, "
            f"which runs from "
            f"{fixed(low, 2)} to {fixed(high, 2)}, and the other frames put it inside: left out",
            mend="read it again, or compare the cell with the sheet",
        )
        for frame, patch, density in readings
    )


def remark_on_misfits(misfits: Sequence[Misfit]) -> tuple[Remark, ...]:
    """Return a remark for each reading that disagrees with the others; one for two that look exchanged."""
    rest, found = list(misfits), []
    for one, other in combinations(misfits, 2):
        if one in rest and other in rest and _look_exchanged(one, other):
            rest = [misfit for misfit in rest if misfit not in (one, other)]
            first, second = sorted((one.patch, other.patch))
            found.append(
                Remark(
                    message=f"frame {one.frame}: the readings of {first} and {second} look exchanged, for each is what "
                    f"the other should be; {_what_became(one, other)}",
                    mend="compare the two cells with the sheet, and exchange them if they are",
                )
            )
    return tuple(found) + tuple(_remark_on_misfit(misfit) for misfit in rest)


def _look_exchanged(one: Misfit, other: Misfit) -> bool:
    """Return whether two readings of a frame each fit the other's patch, and far better than their own."""
    if one.frame != other.frame:
        return False
    as_typed = min(abs(one.place - one.patch_place), abs(other.place - other.patch_place))
    exchanged = max(abs(one.place - other.patch_place), abs(other.place - one.patch_place))
    return exchanged <= EXCHANGED_SHARE * as_typed


def _what_became(*misfits: Misfit) -> str:
    if all(misfit.left_out for misfit in misfits):
        return "both left out"
    if any(misfit.left_out for misfit in misfits):
        return f"{next(misfit.patch for misfit in misfits if misfit.left_out)} left out"
    return "too few readings to leave them out"


def _remark_on_misfit(misfit: Misfit) -> Remark:
    became = "left out" if misfit.left_out else "too few other readings to leave it out"
    return Remark(
        message=f"frame {misfit.frame}, patch {misfit.patch}: {fixed(abs(misfit.density), 2)} in density "
        f"({fixed(abs(misfit.stops), 2)} stop) {'above' if misfit.stops > 0 else 'below'} what the other "
        f"frames and patches "
        f"say: {became}",
        mend="read it again, or compare the cell with the sheet",
    )
