"""Means of square blocks of pixels: how a large picture is first made smaller."""

import numpy as np
from numpy.typing import NDArray

from basefog.picture.scans import GreyArray


def average_blocks(region: GreyArray, block: int) -> NDArray[np.float32]:
    """Return the means of square blocks of pixels; a last, partial block is averaged over what it has.

    >>> average_blocks(np.array([[1, 3, 8], [1, 3, 8]], dtype=np.uint8), 2).tolist()
    [[2.0, 8.0]]
    """
    if block == 1:
        return np.ascontiguousarray(region, dtype=np.float32)
    rows, columns = region.shape
    row_starts, column_starts = np.arange(0, rows, block), np.arange(0, columns, block)
    widths = np.diff(np.append(column_starts, columns))
    averaged = np.empty((row_starts.size, column_starts.size), dtype=np.float32)
    for index, top in enumerate(row_starts):
        band = region[top : top + block].sum(axis=0, dtype=np.float64)
        sums = np.add.reduceat(band, column_starts)
        averaged[index] = sums / (widths * min(block, rows - top))
    return averaged
