"""Slow shading about an edge: a plane fitted to both its sides, so that an uneven lamp is not taken for the edge.

A lamp that falls off across the edge tilts both sides, and the foot of the response takes that tilt for blur that
never ends: 0.02 of density across a view moves the frequency of half response by up to 2 %. Both sides share one tilt
and keep their own levels. It is fitted in density, where shading adds, so that it is divided out of transmittance.
"""

import math

import numpy as np

from basefog.picture.texture.edge_fit import EdgeFit
from basefog.records.content import FloatArray

_BLOCKS_ACROSS = 40
_LEAST_BLOCKS = 12
"""Blocks that each side must have: fewer would tilt with their grain."""

_L1_ROUNDS, _BIWEIGHT_ROUNDS = 12, 8
_BIWEIGHT_REACH = 4.685
"""Standard deviations beyond which a block does not count (95 % efficient for normal errors)."""


def remove_edge_shading(transmittance: FloatArray, edge: EdgeFit, clear_px: float) -> FloatArray:
    """Return a region with a plane of density taken out, whose tilt both sides of an edge have in common.

    D = D_side + a x + b y is fitted to the means of small blocks farther than `clear_px` from the edge, first by
    least absolute deviations, then by Tukey's biweight, so that what lies in a corner of the view and is no part of
    the two sides does not tilt them. The plane is zero at the region's middle. A side with too few blocks leaves the
    region as it is.

    Source: project; the weights: J. W. Tukey's, after A. E. Beaton and J. W. Tukey, Technometrics 16 (1974) 147 (from
    memory).
    """
    rows, columns = transmittance.shape
    size = max(1, min(rows, columns) // _BLOCKS_ACROSS)
    high, wide = rows // size, columns // size
    means = transmittance[: high * size, : wide * size].reshape(high, size, wide, size).mean(axis=(1, 3)).ravel()
    y, x = (grid.ravel() for grid in np.meshgrid(_places(rows, size), _places(columns, size), indexing="ij"))
    turned = math.radians(edge.normal_degrees)
    across = math.cos(turned) * x + math.sin(turned) * y - edge.offset_px
    # Half a block's diagonal, so that no part of a block lies nearer.
    far = (np.abs(across) > clear_px + size / math.sqrt(2)) & (means > 0)
    if min(np.count_nonzero(far & (across < 0)), np.count_nonzero(far & (across > 0))) < _LEAST_BLOCKS:
        return transmittance
    sides = np.stack([across < 0, across > 0, x, y], axis=1).astype(np.float64)[far]
    *_, of_x, of_y = _fit_robustly(sides, -np.log10(means[far]))
    along_y, along_x = ((np.arange(count) - (count - 1) / 2) for count in (rows, columns))
    return np.asarray(transmittance * 10.0 ** (of_y * along_y)[:, None] * 10.0 ** (of_x * along_x)[None, :])


def _places(count: int, size: int) -> FloatArray:
    """Return where the middles of blocks lie from the middle of so many pixels."""
    return np.asarray((np.arange(count // size) + 0.5) * size - count / 2)


def _fit_robustly(terms: FloatArray, values: FloatArray) -> FloatArray:
    """Return the coefficients of terms that most of the values agree on."""
    weights = np.ones(values.size)
    for turn in range(1 + _L1_ROUNDS + _BIWEIGHT_ROUNDS):
        root = np.sqrt(weights)
        solved = np.linalg.lstsq(terms * root[:, None], values * root, rcond=None)[0]
        off = np.abs(values - terms @ solved)
        scale = float(np.median(off)) / 0.6745
        if scale < 1e-12:
            break
        if turn < _L1_ROUNDS:
            weights = 1 / np.maximum(off / scale, 0.01)
        else:
            weights = np.maximum(1 - (off / scale / _BIWEIGHT_REACH) ** 2, 0.0) ** 2
    return np.asarray(solved)
