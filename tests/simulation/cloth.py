"""The cloth that the still life stands on: a height field of folds over a table and over a block at the back."""

from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

Floats = NDArray[np.float32]

LEFT, RIGHT, FRONT, BACK = -10.0, 10.0, -7.0, 6.0
PITCH: Final = 0.01
STANDING: Final = ((-2.7, 0.9, 1.25), (0.75, 1.5, 1.0), (0.0, -1.25, 0.75), (1.55, -1.0, 0.75), (-0.9, -2.3, 0.7))
"""Where things stand on the cloth and press it flat: x, z, radius."""


@cache
def compute_heights() -> Floats:
    """Return the cloth's height on a grid of `PITCH`, rows from front to back, columns from left to right."""
    x = np.arange(LEFT, RIGHT + PITCH / 2, PITCH)[None, :]
    z = np.arange(FRONT, BACK + PITCH / 2, PITCH)[:, None]
    random = np.random.default_rng(77)
    wander = [_drift(random, z.shape[0], x.shape[1], size) for size in (120, 120, 60)]
    warped_x, warped_z = x + 0.55 * wander[0], z + 0.55 * wander[1]
    height = _folds(warped_x, warped_z) + 0.035 * wander[2]
    for at_x, at_z, radius in STANDING:
        far = np.hypot(x - at_x, z - at_z) / radius
        height = height * (1.0 - np.exp(-(far**4)))
    block = _step(z + 0.12 * wander[0], 2.5, 4.7)
    hanging = 0.17 * np.sin(3.1 * warped_x + 1.1 * wander[1]) + 0.10 * np.sin(6.3 * warped_x + 2.0 + wander[0])
    slope = block * (1.0 - block) * 4.0
    height = (
        height * (1.0 - 0.6 * block)
        + (2.35 - 0.11 * x + 0.16 * np.sin(0.8 * x + 0.6)) * block
        + hanging * (slope + 0.25 * block)
    )
    return np.asarray(gaussian_filter(height, 3.0), dtype=np.float32)


def sample_heights(x: Floats, z: Floats) -> Floats:
    """Return the cloth's height at points, straight between the grid's, its border carried on outside."""
    grid = compute_heights()
    column = np.clip((x - LEFT) / PITCH, 0, grid.shape[1] - 1.001)
    row = np.clip((z - FRONT) / PITCH, 0, grid.shape[0] - 1.001)
    i, j = row.astype(np.int32), column.astype(np.int32)
    fi, fj = (row - i).astype(np.float32), (column - j).astype(np.float32)
    flat = grid.ravel()
    at = i * grid.shape[1] + j
    upper = flat[at] * (1 - fj) + flat[at + 1] * fj
    lower = flat[at + grid.shape[1]] * (1 - fj) + flat[at + grid.shape[1] + 1] * fj
    return np.asarray(upper * (1 - fi) + lower * fi)


def _folds(x: NDArray[np.float64], z: NDArray[np.float64]) -> NDArray[np.float64]:
    """Ridges, each along a line from a point in a direction, steeper on one side, fading at both ends."""
    folds = (
        (-5.2, -3.4, 24.0, 0.50, 0.30, 3.2),
        (-4.6, -2.3, 38.0, 0.42, 0.26, 2.6),
        (-3.2, -3.5, 12.0, 0.38, 0.24, 2.6),
        (-5.6, -0.8, 62.0, 0.46, 0.30, 2.4),
        (-1.4, -3.9, -8.0, 0.30, 0.22, 2.4),
        (0.9, -3.3, -22.0, 0.40, 0.26, 2.6),
        (2.6, -2.6, -38.0, 0.46, 0.28, 2.2),
        (3.6, -3.6, -15.0, 0.40, 0.24, 2.8),
        (4.9, -1.9, -55.0, 0.44, 0.30, 2.4),
        (5.6, -3.1, -30.0, 0.36, 0.22, 2.2),
        (-0.2, -4.8, 5.0, 0.36, 0.28, 3.4),
        (-1.1, 0.6, 80.0, 0.20, 0.20, 1.3),
        (2.3, 1.6, 70.0, 0.22, 0.20, 1.2),
        (-4.9, 1.6, 30.0, 0.34, 0.26, 1.8),
        (-3.0, -1.3, 28.0, 0.15, 0.10, 1.1),
        (-1.9, -3.1, 3.0, 0.14, 0.09, 1.2),
        (0.7, -2.2, -30.0, 0.16, 0.10, 1.0),
        (2.4, -3.4, -28.0, 0.15, 0.09, 1.3),
        (3.9, -2.5, -48.0, 0.16, 0.10, 1.1),
        (-4.4, -3.0, 33.0, 0.15, 0.10, 1.4),
        (0.3, -3.9, -14.0, 0.13, 0.09, 1.2),
    )
    total = np.zeros(np.broadcast_shapes(x.shape, z.shape))
    for at_x, at_z, degrees, rise, width, reach in folds:
        c, s = np.cos(np.deg2rad(degrees)), np.sin(np.deg2rad(degrees))
        along, across = (x - at_x) * c + (z - at_z) * s, (z - at_z) * c - (x - at_x) * s
        side = np.where(across > 0, width * 0.75, width * 1.7)
        crest = np.exp(-(np.abs(across / side) ** 1.7))
        hollow = 0.30 * np.exp(-(((across + 2.2 * width) / (1.4 * width)) ** 2))
        total += 1.55 * rise * (crest - hollow) * np.exp(-((along / reach) ** 2))
    return total


def _drift(random: np.random.Generator, rows: int, columns: int, size: int) -> NDArray[np.float64]:
    noise = gaussian_filter(random.normal(size=(rows, columns)), size, mode="nearest")
    return np.asarray(noise / noise.std())


def _step(value: NDArray[np.float64], start: float, end: float) -> NDArray[np.float64]:
    t = np.clip((value - start) / (end - start), 0.0, 1.0)
    return np.asarray(t * t * (3.0 - 2.0 * t))
