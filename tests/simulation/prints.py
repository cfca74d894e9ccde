"""The print: the chosen frame through the enlarger onto the paper, and the paper on a flatbed scanner."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates
from scipy.optimize import brentq

from simulation.negative import REFERENCE, compute_remount, develop, expose, place_on_film, sample_light
from simulation.papers import PAPERS
from simulation.subject import FRAME_MM, WHOLE_PX, Subject
from simulation.truths import TestTruth

MAGNIFICATION: Final = 8.0
SCAN_PIXELS_PER_MM: Final = 5.0
"""On the print."""
SCAN_PX: Final = (1380, 920)
ENLARGER_SIGMA_UM: Final = 9.0
"""Spread of the enlarging lens, on the film."""

_DENSITIES: Final = np.array(
    [
        0.04,
        0.06,
        0.09,
        0.13,
        0.18,
        0.24,
        0.31,
        0.40,
        0.50,
        0.62,
        0.75,
        0.90,
        1.05,
        1.20,
        1.35,
        1.50,
        1.65,
        1.80,
        1.95,
        2.10,
    ]
)
CODE_DENSITY: Final[tuple[tuple[int, float], ...]] = tuple(
    (round(255.0 * 10.0 ** (-(float(density) - 0.04) / 2.2)), float(density)) for density in _DENSITIES[::-1]
)
"""The flatbed's codes for a stepped reflection card, darkest first, as found in its calibration."""


def compute_black_log_exposure() -> float:
    """Return the paper log exposure that prints to nine tenths of its maximum density."""
    paper = PAPERS["matt-grade-1"]
    return float(brentq(lambda x: float(paper.density(np.array([x]))[0]) - 0.9 * paper.maximum, 0.0, 2.4))


def scan_print(subject: Subject, test: TestTruth) -> NDArray[np.uint8]:
    """Return the 8-bit scan of a test's print, exposed so that its base plus fog prints to the reference's black."""
    pitch_mm = FRAME_MM[0] / WHOLE_PX[0]
    down, right = np.meshgrid(
        (np.arange(WHOLE_PX[1]) + 0.5) * pitch_mm, (np.arange(WHOLE_PX[0]) + 0.5) * pitch_mm, indexing="ij"
    )
    x, y = place_on_film(right, down, compute_remount(test))
    light = sample_light(subject.whole, y / pitch_mm - 0.5, x / pitch_mm - 0.5)
    density = develop(expose(light, test), test, pitch_um=pitch_mm * 1000.0, purpose="print grain")
    through = gaussian_filter(10.0 ** -density.astype(np.float64), ENLARGER_SIGMA_UM / (pitch_mm * 1000.0))
    exposure = compute_black_log_exposure() + test.curve().base_plus_fog + np.log10(through)
    reflection = PAPERS["matt-grade-1"].density(exposure)
    return _scan(reflection, test, pitch_mm)


def _scan(reflection: NDArray[np.float64], test: TestTruth, pitch_mm: float) -> NDArray[np.uint8]:
    random = test.random("flatbed")
    degrees = 0.0 if test.key == REFERENCE else float(random.uniform(-0.4, 0.4))
    shift = (
        (0.0, 0.0) if test.key == REFERENCE else (float(random.uniform(-0.1, 0.1)), float(random.uniform(-0.1, 0.1)))
    )
    on_film = 1.0 / (SCAN_PIXELS_PER_MM * MAGNIFICATION)
    down, right = np.meshgrid(
        (np.arange(SCAN_PX[1]) + 0.5 - SCAN_PX[1] / 2) * on_film,
        (np.arange(SCAN_PX[0]) + 0.5 - SCAN_PX[0] / 2) * on_film,
        indexing="ij",
    )
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    x = c * right + s * down + FRAME_MM[0] / 2 + shift[0]
    y = c * down - s * right + FRAME_MM[1] / 2 + shift[1]
    soft = gaussian_filter(10.0**-reflection, 0.45)
    light = map_coordinates(soft, [y / pitch_mm - 0.5, x / pitch_mm - 0.5], order=1, mode="nearest")
    codes, densities = np.array(CODE_DENSITY).T
    code = np.interp(-np.log10(light), densities[::-1], codes[::-1])
    return np.asarray(np.round(code), dtype=np.uint8)
