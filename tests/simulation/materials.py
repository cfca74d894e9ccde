"""What the things are made of: reflectance in six bands of the spectrum, with weave, glaze, speckle and grain."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from simulation import card
from simulation.spectra import WAVELENGTH_NM, FloatArray
from simulation.still_life import to_card

Floats = NDArray[np.float32]

BANDS_NM: Final = (400.0, 450.0, 500.0, 550.0, 600.0, 650.0, 701.0)
BAND_COUNT: Final = len(BANDS_NM) - 1


def average_bands(spectrum: FloatArray) -> FloatArray:
    """Return the plain means of a spectrum (last axis by 10 nm) over the six bands."""
    parts = [(low <= WAVELENGTH_NM) & (high > WAVELENGTH_NM) for low, high in pairwise(BANDS_NM)]
    return np.stack([spectrum[..., part].mean(axis=-1) for part in parts], axis=-1)


def _hue(*bands: float) -> Floats:
    return np.array(bands, dtype=np.float32)


_HUES: Final[Mapping[str, Floats]] = {
    "cloth": _hue(0.92, 0.98, 1.0, 1.0, 1.02, 1.06),
    "wall": _hue(0.94, 0.97, 1.0, 1.0, 1.02, 1.03),
    "plaster": _hue(0.92, 0.97, 1.0, 1.01, 1.02, 1.02),
    "stoneware": _hue(0.75, 0.85, 0.96, 1.05, 1.15, 1.2),
    "pear": _hue(0.22, 0.30, 0.85, 1.15, 1.20, 1.15),
    "apple": _hue(0.30, 0.32, 0.35, 0.60, 1.90, 2.60),
    "wood": _hue(0.55, 0.70, 0.88, 1.05, 1.25, 1.4),
}
GLOSS: Final[Mapping[str, tuple[float, float]]] = {
    "cloth": (0.0, 8.0),
    "wall": (0.0, 8.0),
    "plaster": (0.03, 9.0),
    "stoneware": (0.55, 90.0),
    "pear": (0.12, 30.0),
    "apple": (0.32, 60.0),
    "card": (0.0, 8.0),
    "wood": (0.05, 20.0),
}
"""Strength and narrowness of the sheen of each material."""


def _noise(seed: int, spread: float) -> Floats:
    field = gaussian_filter(np.random.default_rng(seed).normal(size=(512, 512)), spread, mode="wrap")
    return np.asarray(field / field.std(), dtype=np.float32)


_COARSE: Final = _noise(5, 9.0)
_FINE: Final = _noise(6, 1.2)


def _look_up(field: Floats, a: Floats, b: Floats, scale: float) -> Floats:
    """Return a wrapped noise field at points, straight between its cells."""
    u, v = a * np.float32(scale), b * np.float32(scale)
    iu, iv = np.floor(u), np.floor(v)
    fu, fv = u - iu, v - iv
    i, j = iu.astype(np.int32) & 511, iv.astype(np.int32) & 511
    i1, j1 = (i + 1) & 511, (j + 1) & 511
    upper = field[i, j] * (1 - fv) + field[i, j1] * fv
    lower = field[i1, j] * (1 - fv) + field[i1, j1] * fv
    return np.asarray(upper * (1 - fu) + lower * fu)


def compute_reflectance(name: str, x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the reflectance at points of a material, one row a point and one column a band."""
    if name == "card":
        return _card_reflectance(x, y, z)
    level = _LEVELS[name](x, y, z)
    return np.asarray(level[:, None] * _HUES[name][None, :], dtype=np.float32)


def weave(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the cloth's twill as a height between -1 and 1."""
    z = z + y  # so that the weave keeps its count where the cloth hangs
    cross = np.sin(np.float32(128.0) * (x + np.float32(0.5) * z)) * np.sin(np.float32(96.0) * (z - np.float32(0.2) * x))
    return np.asarray(0.42 * cross + 0.45 * _look_up(_FINE, x, z, 78.0) + 0.12 * _look_up(_FINE, z, x, 31.0))


def _cloth_level(x: Floats, y: Floats, z: Floats) -> Floats:
    level = 0.150 * (1.0 + 0.22 * weave(x, y, z) + 0.05 * _look_up(_COARSE, x, z, 30.0))
    run = z + np.float32(0.02) * np.sin(2.0 * x)
    stripe = _within(run, -3.62, -3.22) + _within(run, -3.10, -3.02) + _within(run, -3.80, -3.74)
    back = _within(run, 2.05, 2.45) + _within(run, 2.57, 2.65)
    return np.asarray(level * (1.0 + 2.1 * np.clip(stripe + back, 0.0, 1.0)))


def _within(value: Floats, low: float, high: float) -> Floats:
    soft = np.float32(0.012)
    return np.asarray(np.clip((value - low) / soft, 0, 1) * np.clip((high - value) / soft, 0, 1))


def _wall_level(x: Floats, y: Floats, _z: Floats) -> Floats:
    cloud = _look_up(_COARSE, x + 40.0, y, 9.0) + 0.5 * _look_up(_COARSE, x, y + 9.0, 31.0)
    return np.asarray(0.20 * (1.0 + 0.07 * cloud + 0.025 * _look_up(_FINE, x, y, 40.0)))


def _plaster_level(x: Floats, y: Floats, z: Floats) -> Floats:
    stain = _look_up(_COARSE, x + z, y, 14.0)
    pores = np.clip(_look_up(_FINE, x - 0.5 * z, y, 95.0) - 2.0, 0.0, 1.0)
    return np.asarray(0.35 * (1.0 + 0.035 * stain) * (1.0 - 0.30 * pores) * (1.0 - 0.62 * (y < 0.35)))


def _stoneware_level(x: Floats, y: Floats, z: Floats) -> Floats:
    around = np.arctan2(z - 1.5, x - 0.75)
    line = 1.02 + 0.10 * np.sin(3.0 * around) + 0.05 * np.sin(7.0 * around + 1.0)
    glazed = np.clip((y - line) / 0.04 + 0.5, 0.0, 1.0)
    rings = 0.03 * np.sin(46.0 * y) + 0.05 * _look_up(_COARSE, around * 2.0, y, 20.0)
    clay = 0.36 * (1.0 + rings + 0.06 * _look_up(_FINE, around, y, 50.0))
    glaze = 0.085 * (1.0 + 2.5 * rings + 0.35 * np.exp(-((y - line - 0.08) ** 2) / 0.006))
    return np.asarray(clay + (glaze - clay) * glazed)


def _pear_level(x: Floats, y: Floats, z: Floats) -> Floats:
    dots = np.clip(_look_up(_FINE, x + 0.7 * z, y - 0.4 * z, 38.0) - 1.2, 0.0, 1.0)
    russet = np.clip(_look_up(_COARSE, x + z, y, 22.0), -1.0, 1.5)
    return np.asarray(0.40 * (1.0 - 0.35 * dots) * (1.0 - 0.13 * russet))


def _apple_level(x: Floats, y: Floats, z: Floats) -> Floats:
    around = np.arctan2(z + 2.2, x + 0.95)
    streaks = _look_up(_COARSE, around * 2.2, y * 0.6, 26.0) + 0.4 * _look_up(_FINE, around * 4.0, y * 0.4, 14.0)
    dots = np.clip(_look_up(_FINE, around, y, 42.0) - 1.6, 0.0, 1.0)
    return np.asarray(0.22 * (1.0 + 0.10 * streaks + 0.5 * dots))


def _wood_level(x: Floats, y: Floats, z: Floats) -> Floats:
    grain = _look_up(_FINE, 0.06 * x, y + 0.7 * z, 90.0) + 0.6 * _look_up(_COARSE, 0.12 * x, y + z, 60.0)
    return np.asarray(0.15 * (1.0 + 0.16 * grain))


_LEVELS: Final = {
    "cloth": _cloth_level,
    "wall": _wall_level,
    "plaster": _plaster_level,
    "stoneware": _stoneware_level,
    "pear": _pear_level,
    "apple": _apple_level,
    "wood": _wood_level,
}


def _card_reflectance(x: Floats, y: Floats, z: Floats) -> Floats:
    u, v, w = to_card(x, y, z)
    picture = card.render_neutral()
    rows, columns = picture.shape
    column = np.clip(u * card.PIXELS_PER_UNIT - 0.5, 0, columns - 1.001)
    row = np.clip((card.HEIGHT - v) * card.PIXELS_PER_UNIT - 0.5, 0, rows - 1.001)
    i, j = row.astype(np.int32), column.astype(np.int32)
    fi, fj = row - i, column - j
    upper = picture[i, j] * (1 - fj) + picture[i, j + 1] * fj
    lower = picture[i + 1, j] * (1 - fj) + picture[i + 1, j + 1] * fj
    level = upper * (1 - fi) + lower * fi
    level = np.where(w > 0.02, card.BOARD * 0.8, level)
    bands = np.repeat(level[:, None], BAND_COUNT, axis=1)
    patch = np.where(w > 0.02, -1, card.strip_at(u, v))
    colours = average_bands(card.strip_spectra()).astype(np.float32)
    return np.asarray(np.where(patch[:, None] >= 0, colours[np.maximum(patch, 0)], bands), dtype=np.float32)
