"""Invented scenes and what a scanner, a film and a tester do to them, with the true map between the two scans."""

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from basefog.picture.sketches import Sketch, choose_block
from basefog.scanfiles import average_blocks

Floats = NDArray[np.float64]


def draw_scene(seed: int, size: tuple[int, int] = (900, 600)) -> Floats:
    """Return an invented still life, 0 to 1: shading, round and square things, a page of strokes, a flat part."""
    random = np.random.default_rng(seed)
    width, height = size
    picture = cv2.resize(random.uniform(0.2, 0.6, (4, 6)), size, interpolation=cv2.INTER_CUBIC)
    for _ in range(14):
        grey = float(random.uniform(0.05, 0.95))
        x, y = int(random.integers(0, width)), int(random.integers(0, height))
        a, b = (int(side) for side in random.integers(20, 110, 2))
        if random.random() < 0.5:
            cv2.ellipse(picture, (x, y), (a, b), float(random.uniform(0, 180)), 0, 360, grey, -1, cv2.LINE_AA)
        else:
            cv2.rectangle(picture, (x, y), (x + a, y + b), grey, -1, cv2.LINE_AA)
    left, top = int(random.integers(0, width - 200)), int(random.integers(0, height - 150))
    rows = int(random.integers(6, 14))
    cv2.rectangle(picture, (left, top), (left + int(random.integers(120, 200)), top + 10 + 10 * rows), 0.9, -1)
    for row in range(rows):
        for column in range(int(random.integers(5, 12))):
            x, y = left + 10 + 14 * column, top + 10 + 10 * row
            cv2.line(picture, (x, y), (x + int(random.integers(2, 11)), y + int(random.integers(0, 5))), 0.15, 1)
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 0.8), dtype=np.float64)


@dataclass(frozen=True, kw_only=True, slots=True)
class Lie:
    """How a scan lies: the subject's shift in the scan's pixels, its turn clockwise, its size, its side."""

    right_px: float = 0.0
    down_px: float = 0.0
    degrees: float = 0.0
    scale: float = 1.0
    mirrored: bool = False


def true_map(lie: Lie, size: tuple[int, int], to_size: tuple[int, int] | None = None) -> Floats:
    """Return the 3 x 3 map from the scene's pixels to the scan's, about both their middles, corners counting."""
    to_size = to_size or size
    c, s = lie.scale * math.cos(math.radians(lie.degrees)), lie.scale * math.sin(math.radians(lie.degrees))
    back = np.array([[1.0, 0.0, -size[0] / 2], [0.0, 1.0, -size[1] / 2], [0.0, 0.0, 1.0]])
    turn = np.array([[c, -s, lie.right_px], [s, c, lie.down_px], [0.0, 0.0, 1.0]])
    side = np.diag([-1.0 if lie.mirrored else 1.0, 1.0, 1.0])
    forth = np.array([[1.0, 0.0, to_size[0] / 2], [0.0, 1.0, to_size[1] / 2], [0.0, 0.0, 1.0]])
    return np.asarray(forth @ side @ turn @ back)


def lay(scene: Floats, lie: Lie, to_size: tuple[int, int] | None = None) -> Floats:
    """Return the scene as it lies on a scan of that size; what the scene does not hold is paper white."""
    size = (scene.shape[1], scene.shape[0])
    half = np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]])
    middles = np.linalg.inv(half) @ true_map(lie, size, to_size) @ half
    laid = cv2.warpAffine(scene, middles[:2], to_size or size, flags=cv2.INTER_CUBIC, borderValue=0.97)
    return np.clip(np.asarray(laid, dtype=np.float64), 0.0, 1.0)


def make_worse(scene: Floats, *, seed: int, contrast: float = 1.0, blur_px: float = 0.0, grain: float = 0.0) -> Floats:
    """Return a scene on another film: another contrast (a power of its light), unsharp, grainy."""
    soft = np.asarray(cv2.GaussianBlur(scene, (0, 0), blur_px) if blur_px else scene, dtype=np.float64)
    noise = np.random.default_rng(seed).normal(0.0, 1.0, scene.shape)
    noise = np.asarray(cv2.GaussianBlur(noise, (0, 0), 0.8), dtype=np.float64)
    worse: Floats = np.clip(soft**contrast + grain * noise / noise.std(), 0.0, 1.0)
    return worse


def sketch_of(scene: Floats) -> Sketch:
    """Return the sketch of a 16-bit scan of a scene."""
    codes: Any = np.round(scene * 65535).astype(np.uint16)
    block = choose_block(scene.shape[1], scene.shape[0])
    return Sketch(codes=average_blocks(codes, block), block_px=block, width_px=scene.shape[1], height_px=scene.shape[0])


def errors_px(found: tuple[float, ...], true: Floats, size: tuple[int, int]) -> Floats:
    """Return how far a found map is off over a picture, in the scan's pixels."""
    x, y = np.meshgrid(np.linspace(0.02, 0.98, 9) * size[0], np.linspace(0.02, 0.98, 9) * size[1])
    points = np.stack([x.ravel(), y.ravel(), np.ones(x.size)])
    return np.asarray(np.linalg.norm((np.array(found).reshape(2, 3) - true[:2]) @ points, axis=0))
