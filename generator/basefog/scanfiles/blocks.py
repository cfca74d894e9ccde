"""Means of square blocks of pixels: how a large picture is first made smaller."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from basefog.scanfiles.codes import GreyArray


def average_blocks(region: GreyArray, block: int) -> NDArray[np.float32]:
    """Return the means of square blocks of pixels; a last, partial block is averaged over what it has.

    >>> average_blocks(np.array([[1, 3, 8], [1, 3, 8]], dtype=np.uint8), 2).tolist()
    [[2.0, 8.0]]
    """
    if block == 1:
        return np.ascontiguousarray(region, dtype=np.float32)
    rows, columns = region.shape
    means = sum_blocks(region, block).astype(np.float64)
    means /= np.diff(np.append(np.arange(0, rows, block), rows))[:, np.newaxis]
    means /= np.diff(np.append(np.arange(0, columns, block), columns))
    return means.astype(np.float32)


def dtype_of_sums(dtype: np.dtype[Any], block: int) -> type[np.generic]:
    """Return what holds the sums of blocks of that side exactly, for whole codes, and in double precision for others.

    >>> dtype_of_sums(np.dtype(np.uint16), 256).__name__, dtype_of_sums(np.dtype(np.uint16), 257).__name__
    ('uint32', 'uint64')
    """
    if dtype.kind != "u":
        return np.float64
    return np.uint32 if block * block * np.iinfo(dtype).max < 2**32 else np.uint64


def sum_blocks(part: GreyArray, block: int, *, rows_before: int = 0, columns_before: int = 0) -> NDArray[Any]:
    """Return the sums of square blocks of a part of a picture: exact for whole codes, else in double precision.

    `rows_before` and `columns_before` say how much of its first blocks lies outside the part, above and to the left.

    >>> sum_blocks(np.array([[1, 3, 8]], dtype=np.uint8), 2, columns_before=1).tolist()
    [[1, 11]]
    """
    exact = dtype_of_sums(part.dtype, block)
    rows, columns = part.shape
    high, wide = -(-(rows_before + rows) // block), -(-(columns_before + columns) // block)
    if (rows, columns) != (high * block, wide * block):
        padded = np.zeros((high * block, wide * block), part.dtype)
        padded[rows_before : rows_before + rows, columns_before : columns_before + columns] = part
        part = padded
    # Row upon row, then column upon column: each is one pass that a processor does many pixels at a time.
    bands: NDArray[Any] = part[::block].astype(exact)
    for offset in range(1, block):
        np.add(bands, part[offset::block], out=bands)
    sums = bands[:, ::block].copy()
    for offset in range(1, block):
        np.add(sums, bands[:, offset::block], out=sums)
    return sums
