"""Regions of a scan: pixel for pixel, or as means of square blocks, gathered in one pass over its pieces.

All regions are named on the upright picture; pieces come as they lie in the file, and what was gathered from them is
turned at the end.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from basefog.scanfiles.blocks import sum_blocks
from basefog.scanfiles.codes import ENDS_EARLY, ROWS_IN_CACHE, GreyArray, Piece, Wanted
from basefog.scanfiles.header import ScanHeader, upright


@dataclass(frozen=True, kw_only=True, slots=True)
class Region:
    """A part of an upright scan, wholly inside it; with `block_px` above 1, the means of blocks of that side."""

    left_px: int
    top_px: int
    width_px: int
    height_px: int
    block_px: int = 1


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RegionCodes:
    """The grey codes of a region: means are float32, pixels keep the scan's depth.

    `white` is the highest code, 255 or 65535, None where the scan itself is floating point.
    """

    codes: GreyArray
    white: float | None


def wanted_by(regions: Sequence[Region], header: ScanHeader) -> Wanted:
    """Return what tells whether any region touches a part of the picture as it lies in the file."""
    lying = [_lying(region, header) for region in regions]
    return lambda top, left, high, wide: any(region.meets(top, left, high, wide) for region in lying)


def gather_regions(pieces: Iterable[Piece], regions: Sequence[Region], header: ScanHeader) -> tuple[RegionCodes, ...]:
    """Return the regions of a picture of that header, which comes in pieces as they lie in the file.

    Raises ValueError where the pieces end before a region of pixels begins.
    """
    gatherers = [_Gatherer(_lying(region, header), region.block_px) for region in regions]
    white: float | None = None
    for top, left, codes in pieces:
        white = {"uint8": 255.0, "uint16": 65535.0}.get(codes.dtype.name)
        for gatherer in gatherers:
            gatherer.add(top, left, codes)
    turn = header.orientation
    return tuple(RegionCodes(codes=upright(gatherer.result(), turn), white=white) for gatherer in gatherers)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Lying:
    """A region as it lies in the file; `from_bottom` and `from_right` say where its whole blocks begin."""

    top: int
    left: int
    bottom: int
    right: int
    from_bottom: bool
    from_right: bool

    def meets(self, top: int, left: int, high: int, wide: int) -> bool:
        return self.top < top + high and top < self.bottom and self.left < left + wide and left < self.right


def _lying(region: Region, header: ScanHeader) -> _Lying:
    """Undo `upright` for a region."""
    width, height, orientation = header.width_px, header.height_px, header.orientation
    left, right = region.left_px, region.left_px + region.width_px
    top, bottom = region.top_px, region.top_px + region.height_px
    from_bottom, from_right = orientation in {3, 4, 7, 8}, orientation in {2, 3, 6, 7}
    if from_bottom:
        top, bottom = height - bottom, height - top
    if from_right:
        left, right = width - right, width - left
    if header.is_turned:
        top, left, bottom, right = left, top, right, bottom
        from_bottom, from_right = from_right, from_bottom
    return _Lying(top=top, left=left, bottom=bottom, right=right, from_bottom=from_bottom, from_right=from_right)


class _Gatherer:
    """Takes from each piece what belongs to one region."""

    def __init__(self, lying: _Lying, block: int) -> None:
        self.lying, self.block = lying, block
        self.rows = _starts(lying.top, lying.bottom, block, from_end=lying.from_bottom)
        self.columns = _starts(lying.left, lying.right, block, from_end=lying.from_right)
        self.codes: NDArray[Any] | None = None
        """Pixels, or the sums of blocks."""

    def add(self, top: int, left: int, codes: GreyArray) -> None:
        lying = self.lying
        first, last = max(top, lying.top), min(top + codes.shape[0], lying.bottom)
        west, east = max(left, lying.left), min(left + codes.shape[1], lying.right)
        if first >= last or west >= east:
            return
        part = codes[first - top : last - top, west - left : east - left]
        if self.block > 1:
            self._add_sums(first, west, part)
            return
        if self.codes is None:
            self.codes = np.zeros((lying.bottom - lying.top, lying.right - lying.left), codes.dtype)
        self.codes[first - lying.top : last - lying.top, west - lying.left : east - lying.left] = part

    def _add_sums(self, first: int, west: int, part: GreyArray) -> None:
        at_row, rows_before = _block_of(self.rows, first, self.block)
        at_column, columns_before = _block_of(self.columns, west, self.block)
        sums = sum_blocks(part, self.block, rows_before=rows_before, columns_before=columns_before)
        if self.codes is None:
            self.codes = np.zeros((self.rows.size, self.columns.size), sums.dtype)
        self.codes[at_row : at_row + sums.shape[0], at_column : at_column + sums.shape[1]] += sums

    def result(self) -> GreyArray:
        if self.codes is None:
            raise ValueError(ENDS_EARLY)
        if self.block == 1:
            return self.codes
        high = np.diff(np.append(self.rows, self.lying.bottom)).astype(np.float64)
        wide = np.diff(np.append(self.columns, self.lying.right)).astype(np.float64)
        means = np.empty(self.codes.shape, np.float32)
        for begin in range(0, self.rows.size, ROWS_IN_CACHE):
            rows = slice(begin, begin + ROWS_IN_CACHE)
            means[rows] = self.codes[rows] / high[rows, np.newaxis] / wide
        return means


def _starts(begin: int, end: int, block: int, *, from_end: bool) -> NDArray[np.int64]:
    """Return where blocks start; the partial one is the last, or the first where they are counted from the end."""
    if not from_end or (end - begin) % block == 0:
        return np.arange(begin, end, block, dtype=np.int64)
    whole = np.arange(begin + (end - begin) % block, end, block, dtype=np.int64)
    return np.concatenate([np.array([begin], dtype=np.int64), whole])


def _block_of(starts: NDArray[np.int64], begin: int, block: int) -> tuple[int, int]:
    """Return which block a piece begins in, and how much of a whole block would come before it."""
    at = int(np.searchsorted(starts, begin, side="right")) - 1
    if at == 0 and starts.size > 1:
        # A partial first block is the end of a whole one.
        return 0, block - int(starts[1] - begin)
    return at, int(begin - starts[at])
