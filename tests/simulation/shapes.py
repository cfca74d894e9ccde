"""Signed distances of simple solids, in float32 over arrays of points; a negative distance is inside.

Some are bounds rather than true distances (never greater than the distance times the inverse of `SAFE_STEP`), which
the ray marcher allows for. Source of the forms: textbook solid geometry.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Point = tuple[float, float, float]

SAFE_STEP: Final = 0.8


def ellipsoid(x: Floats, y: Floats, z: Floats, centre: Point, radii: Point) -> Floats:
    """Return a first-order distance to an ellipsoid along the axes."""
    px, py, pz = (x - centre[0]) / radii[0], (y - centre[1]) / radii[1], (z - centre[2]) / radii[2]
    near = np.sqrt(px * px + py * py + pz * pz)
    slope = np.sqrt((px / radii[0]) ** 2 + (py / radii[1]) ** 2 + (pz / radii[2]) ** 2)
    return np.asarray(near * (near - 1.0) / np.maximum(slope, np.float32(1e-6)))


def capsule(x: Floats, y: Floats, z: Floats, start: Point, end: Point, *, radii: tuple[float, float]) -> Floats:
    """Return the distance to a rod from start to end whose radius runs from one to the other."""
    dx, dy, dz = end[0] - start[0], end[1] - start[1], end[2] - start[2]
    px, py, pz = x - start[0], y - start[1], z - start[2]
    along = np.clip((px * dx + py * dy + pz * dz) / (dx * dx + dy * dy + dz * dz), 0.0, 1.0)
    gap = np.sqrt((px - along * dx) ** 2 + (py - along * dy) ** 2 + (pz - along * dz) ** 2)
    return np.asarray(gap - (radii[0] + (radii[1] - radii[0]) * along))


def box(x: Floats, y: Floats, z: Floats, half: Point, rounding: float) -> Floats:
    """Return the distance to a box round the origin with rounded edges."""
    qx, qy, qz = (np.abs(p) - (h - rounding) for p, h in zip((x, y, z), half, strict=True))
    outside = np.sqrt(np.maximum(qx, 0) ** 2 + np.maximum(qy, 0) ** 2 + np.maximum(qz, 0) ** 2)
    return np.asarray(outside + np.minimum(np.maximum(qx, np.maximum(qy, qz)), 0) - rounding)


def turned(x: Floats, y: Floats, z: Floats, heights: Floats, radii: Floats) -> Floats:
    """Return a bound on the distance to a solid turned on the y axis, given its profile from bottom to top."""
    out = np.sqrt(x * x + z * z)
    radius = np.interp(y, heights, radii).astype(np.float32)
    side = (out - radius) * np.float32(0.75)
    return np.asarray(np.maximum(side, np.maximum(heights[0] - y, y - heights[-1])))


def join(a: Floats, b: Floats, softness: float) -> Floats:
    """Return the union of two solids, rounded off where they meet."""
    h = np.maximum(softness - np.abs(a - b), 0.0) / softness
    return np.asarray(np.minimum(a, b) - h * h * np.float32(softness * 0.25))


def carve(a: Floats, b: Floats, softness: float) -> Floats:
    """Return the first solid less the second, the rim rounded off."""
    return np.asarray(-join(-a, b, softness))


def turn(x: Floats, z: Floats, degrees: float) -> tuple[Floats, Floats]:
    """Return x and z turned round the y axis."""
    angle = np.deg2rad(degrees)
    c, s = np.float32(np.cos(angle)), np.float32(np.sin(angle))
    return np.asarray(c * x + s * z), np.asarray(c * z - s * x)
