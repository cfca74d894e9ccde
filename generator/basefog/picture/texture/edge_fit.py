"""Where an edge lies: a blurred step fitted to all the pixels near it, to a small part of a pixel.

A step is first looked for in every direction, by the difference of the means of two strips side by side; then
(1 + erf((d - d0) / s sqrt 2)) / 2 between two levels is fitted by least squares, d the distance square to the edge.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from basefog.records.content import FloatArray

_STRIP_PX = 6
_LEAST_SIDE_PX = 24
_FIT_PX = 16.0
_COARSE_STEP_DEGREES = 1.5
_SIGMAS_OF_AN_EDGE = 8.0
_LEAST_PIXELS = 200
_SEARCHED_PX = 15_000
_LEAST_SPREAD_PX = 0.2
_FIRST_SPREAD_PX = 3.0


@dataclass(frozen=True, kw_only=True, slots=True)
class EdgeFit:
    """A straight edge: x cos t + y sin t = offset, x to the right and y down from the region's middle, in pixels.

    `normal_degrees` is t; `degrees` the slant to the nearer row or column, 0 to 45; `spread_px` the standard deviation
    of the blur; `length_px` how much of the edge lies in the region; `reach_px` how far the region extends to both
    sides of it.
    """

    normal_degrees: float
    offset_px: float
    spread_px: float
    density_difference: float
    length_px: float
    reach_px: float

    @property
    def degrees(self) -> float:
        """Slant to the nearer row or column."""
        turned = self.normal_degrees % 90.0
        return min(turned, 90.0 - turned)

    def distances(self, shape: tuple[int, ...]) -> tuple[FloatArray, FloatArray]:
        """Return every pixel's distance across and along the edge."""
        return _turn(shape, self.normal_degrees, self.offset_px)


def fit_edge(transmittance: FloatArray) -> EdgeFit | None:
    """Return the edge of a region, None where no step stands out of the noise.

    Arguments: `transmittance` (rows, columns), at least 24 pixels each way.

    >>> y, x = np.mgrid[:80, :80] - 39.5
    >>> edge = fit_edge(0.3 + 0.1 * (x + 0.1 * y > 2.0))
    >>> round(edge.degrees, 1), round(edge.offset_px, 1)
    (5.7, 2.0)
    """
    if min(transmittance.shape) < _LEAST_SIDE_PX:
        return None
    first = _search(transmittance)
    if first is None:
        return None
    fitted = _refine(transmittance, *first)
    if fitted is None:
        return None
    degrees, offset, spread, levels = fitted
    across, along = _turn(transmittance.shape, degrees, offset)
    on_edge = np.abs(across) < 1.0
    if not on_edge.any() or min(levels) <= 0:
        return None
    # Reach is what most of the edge's length has on both sides, so that a slanted edge may leave by a corner.
    length = float(np.ptp(along[on_edge]))
    return EdgeFit(
        normal_degrees=degrees,
        offset_px=offset,
        spread_px=spread,
        density_difference=abs(math.log10(levels[0] / levels[1])),
        length_px=length,
        reach_px=_reach(across, along, on_edge),
    )


def _turn(shape: tuple[int, ...], degrees: float, offset: float) -> tuple[FloatArray, FloatArray]:
    rows, columns = shape
    y = (np.arange(rows) - (rows - 1) / 2)[:, None]
    x = (np.arange(columns) - (columns - 1) / 2)[None, :]
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.asarray(c * x + s * y - offset), np.asarray(c * y - s * x)


def _search(transmittance: FloatArray) -> tuple[float, float] | None:
    """Return the direction and offset at which two strips side by side differ most for their noise.

    Large regions are searched at a coarser pitch, which is all that the fit needs to begin with.
    """
    block = math.ceil(math.sqrt(transmittance.size / _SEARCHED_PX))
    seen = transmittance if block == 1 else _average_blocks(transmittance, block)
    best, found = 0.0, None
    for degrees in np.arange(-45.0, 135.0, _COARSE_STEP_DEGREES):
        across, _ = _turn(seen.shape, float(degrees), 0.0)
        index = np.floor(across - across.min()).astype(np.int64).ravel()
        counts = np.bincount(index).astype(np.float64)
        sums = np.bincount(index, weights=seen.ravel())
        n, total = (np.convolve(values, np.ones(_STRIP_PX), mode="valid") for values in (counts, sums))
        before_n, after_n = (np.maximum(part, 1) for part in (n[:-_STRIP_PX], n[_STRIP_PX:]))
        # Corners hold few pixels: a difference counts by what its noise would be.
        difference = total[_STRIP_PX:] / after_n - total[:-_STRIP_PX] / before_n
        score = np.abs(difference) / np.sqrt(1 / before_n + 1 / after_n)
        at = int(np.argmax(score))
        if score[at] > best:
            best, found = float(score[at]), (float(degrees), block * (float(across.min()) + at + _STRIP_PX))
    return found if best > _SIGMAS_OF_AN_EDGE * _noise_of(seen) else None


def _average_blocks(values: FloatArray, size: int) -> FloatArray:
    rows, columns = (count // size for count in values.shape)
    return np.asarray(
        values[: rows * size, : columns * size].reshape(rows, size, columns, size).mean(axis=(1, 3), dtype=np.float64)
    )


def _noise_of(transmittance: FloatArray) -> float:
    """Return the standard deviation of small blocks' means as of one pixel, the edge itself left out by the median."""
    size = _STRIP_PX
    blocks = _average_blocks(transmittance, size)
    steps = np.abs(np.concatenate([np.diff(blocks, axis=0).ravel(), np.diff(blocks, axis=1).ravel()]))
    return float(np.median(steps)) / 0.6745 / math.sqrt(2) * size


def _refine(
    transmittance: FloatArray, degrees: float, offset: float
) -> tuple[float, float, float, tuple[float, float]] | None:
    """Return direction, offset, spread and the two levels of the best blurred step, in two rounds."""
    spread, levels = _FIRST_SPREAD_PX, (0.0, 0.0)
    half_length = max(transmittance.shape) / 2
    for _ in range(2):
        across, along = _turn(transmittance.shape, degrees, offset)
        near = np.abs(across) < _FIT_PX
        if near.sum() < _LEAST_PIXELS:
            return None
        shift, lean, spread, levels = _fit_step(across[near], along[near] / half_length, transmittance[near], spread)
        # across - shift - lean along / half_length = 0 is the same edge, turned by an arc tangent.
        turn = math.atan(lean / half_length)
        degrees, offset = degrees - math.degrees(turn), (offset + shift) * math.cos(turn)
        spread *= math.cos(turn)
    return degrees, offset, spread, levels


def _fit_step(
    across: FloatArray, along: FloatArray, seen: FloatArray, spread: float
) -> tuple[float, float, float, tuple[float, float]]:
    """Return shift, lean, spread and levels of the blurred step that comes nearest to some pixels."""
    from scipy.optimize import least_squares
    from scipy.special import erf

    scale = max(float(np.std(seen)), 1e-9)

    def misfit(p: FloatArray) -> FloatArray:
        step = 0.5 * (1 + erf((across - p[0] - p[1] * along) / (math.sqrt(2) * p[2])))
        return np.asarray((p[3] + (p[4] - p[3]) * step - seen) / scale)

    start = np.array([0.0, 0.0, spread, seen[across < 0].mean(), seen[across > 0].mean()])
    most = np.array([_FIT_PX, _FIT_PX, _FIT_PX, np.inf, np.inf])
    least = np.array([-_FIT_PX, -_FIT_PX, _LEAST_SPREAD_PX, -np.inf, -np.inf])
    solved = least_squares(
        misfit,
        np.clip(start, least + 1e-6, most - 1e-6),
        bounds=(least, most),
        x_scale=[1.0, 1.0, 1.0, scale, scale],
        max_nfev=60,
    )
    shift, lean, spread, low, high = (float(value) for value in solved.x)
    return shift, lean, spread, (low, high)


def _reach(across: FloatArray, along: FloatArray, on_edge: NDArray[np.bool_]) -> float:
    """Return how far the region extends to both sides over the middle half of the edge's length."""
    first, last = float(along[on_edge].min()), float(along[on_edge].max())
    quarter = (last - first) / 4
    middle = (along > first + quarter) & (along < last - quarter)
    return min(float(-across[middle].min()), float(across[middle].max())) if middle.any() else 0.0
