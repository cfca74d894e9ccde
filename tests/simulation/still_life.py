"""The still life: a milliner's head, a jug, pears and an apple on folded cloth, the card behind them, a plain wall.

The unit is 100 mm; x runs right, y up, z away from the camera. Each thing has a ball round it, so that rays that
pass by need not ask for its distance.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from simulation import card
from simulation.cloth import sample_heights
from simulation.shapes import box, capsule, carve, ellipsoid, join, turn, turned

Floats = NDArray[np.float32]
Distance = Callable[[Floats, Floats, Floats], Floats]

WALL_Z: Final = 5.6
CARD_AT: Final = (3.15, 0.16, 0.15)
CARD_TURN_DEGREES: Final = -9.0
CARD_LEAN_DEGREES: Final = 7.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Thing:
    """One thing of the still life: its name as a material, its distance, and the ball it lies in.

    `slack` is how many times greater the distance truly is on the whole, where the function gives a cautious bound.
    """

    name: str
    distance: Distance
    centre: tuple[float, float, float]
    radius: float
    slack: float = 1.0


def _profile(points: Sequence[tuple[float, float]], count: int = 160) -> tuple[Floats, Floats]:
    heights, radii = np.array(points).T
    fine = np.linspace(heights[0], heights[-1], count)
    return fine.astype(np.float32), PchipInterpolator(heights, radii)(fine).astype(np.float32)


_FOOT: Final = _profile(
    [(-0.25, 0.74), (0.04, 0.74), (0.09, 0.71), (0.13, 0.60), (0.19, 0.46), (0.26, 0.44), (0.33, 0.50), (0.40, 0.52)]
)


def _head(x: Floats, y: Floats, z: Floats) -> Floats:
    x, z = turn(x + 2.7, z - 0.9, 27.0)
    y = y - 0.05
    side = np.abs(x)
    skull = ellipsoid(x, y, z, (0.0, 2.48, 0.12), (0.80, 0.86, 0.96))
    face = ellipsoid(side, y, z, (0.0, 1.92, -0.26), (0.60, 0.86, 0.62))
    whole = join(skull, face, 0.35)
    whole = join(whole, ellipsoid(side, y, z, (0.30, 1.82, -0.58), (0.26, 0.24, 0.22)), 0.22)
    whole = join(whole, capsule(side, y, z, (0.0, 2.34, -0.78), (0.36, 2.30, -0.68), radii=(0.11, 0.10)), 0.16)
    whole = carve(whole, ellipsoid(side, y, z, (0.275, 2.13, -0.94), (0.19, 0.11, 0.15)), 0.13)
    lids = ellipsoid(side, y, z, (0.275, 2.12, -0.74), (0.155, 0.10, 0.10))
    whole = join(whole, lids, 0.04)
    nose = capsule(x, y, z, (0.0, 2.25, -0.83), (0.0, 1.86, -1.03), radii=(0.075, 0.115))
    nose = join(nose, ellipsoid(side, y, z, (0.10, 1.83, -0.93), (0.075, 0.065, 0.085)), 0.06)
    whole = join(whole, nose, 0.10)
    whole = join(whole, ellipsoid(x, y, z, (0.0, 1.25, -0.66), (0.24, 0.18, 0.20)), 0.20)
    whole = join(whole, ellipsoid(side, y, z, (0.065, 1.585, -0.845), (0.15, 0.045, 0.085)), 0.05)
    whole = join(whole, ellipsoid(x, y, z, (0.0, 1.495, -0.825), (0.145, 0.055, 0.085)), 0.05)
    whole = carve(whole, ellipsoid(side, y, z, (0.03, 1.541, -0.93), (0.17, 0.010, 0.08)), 0.03)
    whole = join(whole, ellipsoid(side, y, z, (0.80, 2.02, 0.10), (0.06, 0.26, 0.16)), 0.06)
    whole = join(whole, capsule(x, y, z, (0.0, 1.55, 0.08), (0.0, 0.55, 0.16), radii=(0.44, 0.46)), 0.30)
    chest = ellipsoid(x, y, z, (0.0, 0.15, 0.14), (1.02, 0.62, 0.62))
    whole = join(whole, chest, 0.35)
    # The bust is sawn off level and stands on a turned foot.
    foot = turned(x, y, z - np.float32(0.10), *_FOOT)
    return np.asarray(np.minimum(np.maximum(whole, np.float32(0.36) - y), foot))


_JUG: Final = _profile(
    [
        (0.0, 0.62),
        (0.05, 0.68),
        (0.5, 0.92),
        (1.1, 1.06),
        (1.6, 0.98),
        (2.1, 0.66),
        (2.45, 0.50),
        (2.75, 0.52),
        (3.0, 0.64),
    ]
)
_JUG_INSIDE: Final = _profile([(1.2, 0.50), (1.6, 0.85), (2.1, 0.56), (2.45, 0.41), (2.75, 0.43), (3.1, 0.58)])
_PEAR: Final = _profile(
    [
        (0.0, 0.10),
        (0.03, 0.26),
        (0.15, 0.45),
        (0.42, 0.58),
        (0.72, 0.50),
        (1.0, 0.31),
        (1.2, 0.22),
        (1.32, 0.14),
        (1.36, 0.03),
    ]
)


_BEND: Final = tuple(
    zip(
        *PchipInterpolator(
            [0, 1, 2, 3, 4, 5, 6],
            [(0.46, 2.52), (0.82, 2.68), (1.14, 2.52), (1.29, 2.15), (1.26, 1.78), (1.13, 1.46), (0.92, 1.22)],
        )(np.linspace(0, 6, 15)).T,
        strict=True,
    )
)


def _jug(x: Floats, y: Floats, z: Floats) -> Floats:
    x, z = turn(x - 0.75, z - 1.5, -35.0)
    # The lip is pulled out to one side for pouring.
    pull = np.clip((y - 2.55) / 0.45, 0.0, 1.0) ** 2 * np.clip(-x, 0.0, 1.0)
    lip_x = x + np.float32(0.30) * pull
    body = turned(lip_x, y, z, *_JUG)
    body = np.maximum(body, -turned(lip_x, y, z, *_JUG_INSIDE) * np.float32(0.9))
    handle = _arc(x, y, z)
    return join(body, handle, 0.10)


def _arc(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the distance to the jug's handle: rods along a bent line, a strap wider than thick."""
    flat = z * np.float32(0.62)
    whole = np.full_like(x, 1e3)
    for (x0, y0), (x1, y1) in pairwise(_BEND):
        whole = np.minimum(whole, capsule(x, y, flat, (x0, y0, 0.0), (x1, y1, 0.0), radii=(0.085, 0.085)))
    return whole


def _fruit(
    profile: tuple[Floats, Floats],
    at: tuple[float, float, float],
    lean_degrees: float,
    turn_degrees: float,
    stem: float,
) -> Distance:
    lean = np.deg2rad(lean_degrees)
    c, s = np.float32(np.cos(lean)), np.float32(np.sin(lean))
    top = float(profile[0][-1])

    def distance(x: Floats, y: Floats, z: Floats) -> Floats:
        px, pz = turn(x - at[0], z - at[2], turn_degrees)
        py = y - at[1] - 0.45
        px, py = np.asarray(c * px + s * py), np.asarray(c * py - s * px + np.float32(0.45))
        around = np.arctan2(pz, px)
        lumps = 1.0 + 0.022 * np.sin(2 * around + 2.0 * py) + 0.012 * np.sin(3 * around - 3.0 * py + 1.0)
        lumps = lumps.astype(np.float32)
        body = np.asarray(turned(px * lumps, py, pz * lumps, *profile) - np.float32(0.035))
        twig = capsule(px, py, pz, (0.0, top - 0.10, 0.0), (0.09, top + stem, 0.05), radii=(0.026, 0.036))
        return np.asarray(np.minimum(body, twig))

    return distance


def _apple(x: Floats, y: Floats, z: Floats) -> Floats:
    lean = np.float32(0.24)
    x, z = turn(x + 0.95, z + 2.2, 70.0)
    x, y = x + lean * (y - 0.5), y - np.float32(0.02) - lean * x
    around = np.arctan2(z, x)
    five = 1.0 + np.float32(0.020) * np.sin(5 * around + 0.5) * np.clip(1.2 - y, 0.0, 1.0)
    body = ellipsoid(x * five, y, z * five, (0.0, 0.52, 0.0), (0.60, 0.53, 0.60))
    body = join(body, ellipsoid(x, y, z, (0.0, 0.68, 0.0), (0.54, 0.34, 0.54)), 0.25)
    body = carve(body, ellipsoid(x, y, z, (0.0, 1.06, 0.0), (0.17, 0.20, 0.17)), 0.22)
    twig = capsule(x, y, z, (0.0, 0.84, 0.0), (0.07, 1.20, 0.04), radii=(0.024, 0.032))
    return np.minimum(body, twig)


def to_card(x: Floats, y: Floats, z: Floats) -> tuple[Floats, Floats, Floats]:
    """Return points in the card's own axes: u right, v up, w out of its back."""
    u, w = turn(x - CARD_AT[0], z - CARD_AT[2], CARD_TURN_DEGREES)
    lean = np.deg2rad(CARD_LEAN_DEGREES)
    c, s = np.float32(np.cos(lean)), np.float32(np.sin(lean))
    y = y - CARD_AT[1]
    return u + card.WIDTH / 2, c * y + s * w, c * w - s * y


def from_card(u: float, v: float) -> tuple[float, float, float]:
    """Return where a point of the card's face stands in the scene."""
    lean, angle = np.deg2rad(CARD_LEAN_DEGREES), np.deg2rad(CARD_TURN_DEGREES)
    y, back, across = v * np.cos(lean), v * np.sin(lean), u - card.WIDTH / 2
    x, z = across * np.cos(angle) - back * np.sin(angle), across * np.sin(angle) + back * np.cos(angle)
    return float(CARD_AT[0] + x), float(CARD_AT[1] + y), float(CARD_AT[2] + z)


def _card(x: Floats, y: Floats, z: Floats) -> Floats:
    u, v, w = to_card(x, y, z)
    half = (card.WIDTH / 2, card.HEIGHT / 2, 0.03)
    return box(u - card.WIDTH / 2, v - card.HEIGHT / 2, w - 0.03, half, 0.008)


def _block(x: Floats, y: Floats, z: Floats) -> Floats:
    px, pz = turn(x - 3.15, z + 0.02, CARD_TURN_DEGREES)
    front = box(px, y - 0.10, pz + 0.13, (1.5, 0.20, 0.10), 0.03)
    return np.minimum(front, box(px, y - 0.06, pz - 0.35, (1.5, 0.16, 0.45), 0.03))


def _cloth(x: Floats, y: Floats, z: Floats) -> Floats:
    return np.asarray((y - sample_heights(x, z)) * np.float32(0.48))


def _wall(_x: Floats, _y: Floats, z: Floats) -> Floats:
    return np.asarray(WALL_Z - z)


THINGS: Final[tuple[Thing, ...]] = (
    Thing(name="cloth", distance=_cloth, centre=(0.0, 0.0, 0.0), radius=60.0, slack=1.7),
    Thing(name="wall", distance=_wall, centre=(0.0, 0.0, 0.0), radius=60.0),
    Thing(name="plaster", distance=_head, centre=(-2.7, 1.7, 0.9), radius=2.05),
    Thing(name="stoneware", distance=_jug, centre=(0.75, 1.5, 1.5), radius=2.05),
    Thing(
        name="pear", distance=_fruit(_PEAR, (0.0, 0.05, -1.25), 9.0, 20.0, 0.20), centre=(0.0, 0.75, -1.25), radius=1.15
    ),
    Thing(
        name="pear",
        distance=_fruit(_PEAR, (1.35, 0.13, -1.05), 68.0, 200.0, 0.22),
        centre=(1.35, 0.6, -1.05),
        radius=1.35,
    ),
    Thing(name="apple", distance=_apple, centre=(-0.95, 0.55, -2.2), radius=1.0),
    Thing(name="card", distance=_card, centre=(3.15, 1.8, 0.35), radius=2.3),
    Thing(name="wood", distance=_block, centre=(3.15, 0.05, 0.2), radius=1.75),
)
