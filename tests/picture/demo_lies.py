"""Where the demo's scans truly lie against the reference's: what the simulation did, turned round."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from simulation import prints
from simulation.negative import REFERENCE, SCAN_MM, Remount, compute_remount
from simulation.negative import SCAN_PIXELS_PER_MM as NEGATIVE_PIXELS_PER_MM
from simulation.subject import FRAME_MM
from simulation.truths import TESTS, TestTruth

Matrix = NDArray[np.float64]

_MIDDLE: Final = (FRAME_MM[0] / 2, FRAME_MM[1] / 2)


def true_map_of(key: str, of: str, size: tuple[int, int]) -> Matrix:
    """Return the 3 x 3 map from the reference's scan to a test's, in pixels from the corner; both have that size."""
    test = next(candidate for candidate in TESTS if candidate.key == key)
    if of == "negative":
        scale = np.diag([NEGATIVE_PIXELS_PER_MM, NEGATIVE_PIXELS_PER_MM, 1.0])
        to_reference = _camera(compute_remount(test), (SCAN_MM[2] / 2, SCAN_MM[3] / 2))
        return np.asarray(scale @ np.linalg.inv(to_reference) @ np.linalg.inv(scale))
    reference = next(candidate for candidate in TESTS if candidate.key == REFERENCE)
    to_reference = _camera(compute_remount(test), _MIDDLE) @ _flatbed(test, size)
    return np.asarray(np.linalg.inv(to_reference) @ _flatbed(reference, size))


def _camera(remount: Remount, middle: tuple[float, float]) -> Matrix:
    """Return where the reference's camera puts what this one put at a place of the film, as `place_on_film` does."""
    c, s = math.cos(math.radians(remount.degrees)), math.sin(math.radians(remount.degrees))
    away = np.array(
        [[1.0, 0.0, -middle[0] - remount.right_mm], [0.0, 1.0, -middle[1] - remount.down_mm], [0.0, 0.0, 1.0]]
    )
    back = np.array(
        [
            [c / remount.scale, s / remount.scale, middle[0]],
            [-s / remount.scale, c / remount.scale, middle[1]],
            [0, 0, 1],
        ]
    )
    return np.asarray(back @ away)


def _flatbed(test: TestTruth, size: tuple[int, int]) -> Matrix:
    """Return the place on the film, in mm, of a pixel of a print's scan."""
    # The same draws, in the same order, as the simulation's flatbed takes them.
    random = test.random("flatbed")
    degrees = right = down = 0.0
    if test.key != REFERENCE:
        degrees, right, down = random.uniform(-0.4, 0.4), random.uniform(-0.1, 0.1), random.uniform(-0.1, 0.1)
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    per_mm = prints.SCAN_PIXELS_PER_MM * prints.MAGNIFICATION
    centred = np.array([[1 / per_mm, 0.0, -size[0] / 2 / per_mm], [0.0, 1 / per_mm, -size[1] / 2 / per_mm], [0, 0, 1]])
    turn = np.array([[c, s, _MIDDLE[0] + right], [-s, c, _MIDDLE[1] + down], [0.0, 0.0, 1.0]])
    return np.asarray(turn @ centred)
