"""Code values become densities: straight between the calibration's pairs, invalid outside them.

Grain is judged against what the calibration and the file can tell: codes that lie outside the calibrated range or at
an end of what the file can hold are counted as invalid, and the step from one code to the next is weighed against the
grain's own scatter.
"""

import math
from dataclasses import dataclass

import numpy as np

from basefog.records.content import FloatArray
from basefog.records.numbers import fixed
from basefog.scanfiles import GreyArray

CodeDensity = tuple[tuple[float, float], ...]

INVALID_SHARE = 0.001
"""Share of invalid pixels from which nothing is measured (project)."""

STEP_OVER_SCATTER = 0.5
"""Largest step of density against the pixels' standard deviation: rounding then adds 1 % to it (project)."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Densities:
    """A region in density. `invalid_share` of its pixels are none, and stand at the nearest calibrated density.

    `step` is the density from one code in use to the next, near the middle of those that occur.
    """

    density: FloatArray
    invalid_share: float
    step: float


def read_densities(codes: GreyArray, code_density: CodeDensity) -> Densities:
    """Return the densities of a region's codes.

    D(c) is straight between the pairs (c_i, D_i). A code outside them is invalid, and so is one at an end of what the
    file can hold: it stands for all light beyond. The step comes from the codes that occur, for a file of 16 bits
    may hold what was scanned in 8.

    Arguments: `codes` (rows, columns), integers or floating point; `code_density`, at least two pairs, ascending in
    code and monotone in density.

    Raises ValueError where the pairs are fewer, not ascending or not monotone.

    >>> codes = np.array([[0, 100, 120, 255]], dtype=np.uint8)
    >>> read_densities(codes, ((50, 2.0), (250, 0.0))).density.round(6).tolist()
    [[2.0, 1.5, 1.3, 0.0]]
    """
    values, densities = _check_pairs(code_density)
    present, counts = np.unique(codes, return_counts=True)
    of_present = np.interp(present.astype(np.float64), values, densities)
    invalid = (present < values[0]) | (present > values[-1])
    if codes.dtype == np.float32:
        density = np.interp(codes.astype(np.float64), values, densities)
    else:
        highest = 255 if codes.dtype == np.uint8 else 65535
        invalid |= (present == 0) | (present == highest)
        of_code = np.zeros(highest + 1)
        of_code[present] = of_present
        density = of_code[codes]
    share = float(counts[invalid].sum()) / codes.size
    return Densities(density=density, invalid_share=share, step=_find_step(of_present, density))


def why_unusable(densities: Densities) -> str | None:
    """Return why a region's densities can't be measured, in the tester's words, or None."""
    if densities.invalid_share > INVALID_SHARE:
        return (
            f"{fixed(100 * densities.invalid_share, 1)}% of the pixels are clipped or outside the calibrated codes, "
            f"at most {INVALID_SHARE:.1%} may be"
        )
    return None


def why_too_rough(step: float, scatter: float) -> str | None:
    """Return why codes are too coarse for a scatter of density, in the tester's words, or None.

    Rounding to steps q adds the variance q^2/12 (that of an even spread over one step): 2 % at half the scatter.
    """
    if not math.isfinite(step):
        return "every pixel has the same code: there is no grain to be seen"
    if step > STEP_OVER_SCATTER * scatter:
        return (
            f"one code is {fixed(step, 3)} of density there, and the pixels scatter by only {fixed(scatter, 3)}: "
            "the scan has too few levels for this grain; scan it with 16 bits"
        )
    return None


def _check_pairs(code_density: CodeDensity) -> tuple[FloatArray, FloatArray]:
    pairs = np.array(code_density, dtype=np.float64).reshape(-1, 2)
    values, densities = pairs[:, 0], pairs[:, 1]
    rises = np.diff(densities)
    if len(pairs) < 2 or not (np.diff(values) > 0).all():
        raise ValueError("code_density must be at least two pairs with rising codes")
    if not ((rises >= 0).all() or (rises <= 0).all()):
        raise ValueError("code_density must be monotone in density")
    return values, densities


def _find_step(of_present: FloatArray, density: FloatArray) -> float:
    """Return the median step between the densities that occur, in the middle half of all pixels."""
    low, high = np.quantile(density, (0.25, 0.75))
    levels = np.unique(of_present)
    middle = levels[(levels >= low) & (levels <= high)]
    if middle.size < 2:
        # One level fills the middle: the step is to its neighbours, or there is but this one.
        around = np.diff(levels)
        return float(around.min()) if around.size else float("inf")
    return float(np.median(np.diff(middle)))
