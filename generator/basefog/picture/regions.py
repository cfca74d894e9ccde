"""Regions of a scan, read in one pass: pixel for pixel, or as means of square blocks, and no more held than that.

A TIFF file is read strip by strip or tile by tile, an uncompressed one by bands of rows, and what nobody wants is not
read at all; so a scan of hundreds of megapixels needs the room of its views and no more. Other formats can only be
decoded whole. All regions are named on the upright picture; pieces come as they lie in the file, and what was gathered
from them is turned at the end.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from basefog.picture.blocks import sum_blocks
from basefog.picture.scans import GreyArray, decode_scan, is_tiff, open_tiff, plain_codes_of, upright

BAND_BYTES: Final = 4_000_000
"""How much of an uncompressed file is read at once."""

Piece: TypeAlias = tuple[int, int, GreyArray]
"""A part of the picture as it lies in the file: top, left, grey codes."""


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
    """The grey codes of each region: means are float32, pixels keep the scan's depth.

    `white` is the highest code, 255 or 65535, None where the scan itself is floating point.
    """

    codes: tuple[GreyArray, ...]
    white: float | None


def read_regions(path: str | PathLike[str], regions: Sequence[Region], *, width_px: int, height_px: int) -> RegionCodes:
    """Return the grey codes of each region.

    Args:
        path: the scan.
        regions: what is wanted of it.
        width_px: width that the upright scan is known to have.
        height_px: its height.

    Raises ValueError where the scan can't be decoded or is not of that size.
    """
    path = Path(path)
    if is_tiff(path):
        gathered = _read_tiff(path, regions, width_px, height_px)
        if gathered is not None:
            return gathered
    codes = decode_scan(path)
    _check_size(codes.shape[1], codes.shape[0], width_px, height_px)
    return _gather([(0, 0, codes)], regions, 1, (width_px, height_px))


def _read_tiff(path: Path, regions: Sequence[Region], width_px: int, height_px: int) -> RegionCodes | None:
    """Return the regions, or None where the file is laid out so that it is better decoded whole."""
    with open_tiff(path) as (page, orientation):
        if int(page.planarconfig) != 1 and page.samplesperpixel > 1:
            return None
        size = (page.imagewidth, page.imagelength)
        _check_size(*(size[::-1] if orientation in _TURNED else size), width_px, height_px)
        wanted = [_lying(region, orientation, size) for region in regions]
        pieces = _read_bands(page, wanted) if page.is_memmappable else _read_segments(page, wanted)
        try:
            return _gather(pieces, regions, orientation, size)
        except RuntimeError:
            # A codec gave up; decoding whole has a second reader to ask.
            return None


_TURNED: Final = frozenset({5, 6, 7, 8})


def _check_size(width: int, height: int, width_px: int, height_px: int) -> None:
    if (width, height) != (width_px, height_px):
        msg = f"scan is {width} x {height} pixels, planned with {width_px} x {height_px}"
        raise ValueError(msg)


def _read_bands(page: Any, wanted: Sequence["_Lying"]) -> Iterator[Piece]:
    """Yield bands of rows of an uncompressed picture that lies in one piece."""
    dtype = np.dtype(page.parent.byteorder + page.dtype.char)
    row_items = page.imagewidth * page.samplesperpixel
    rows = max(1, BAND_BYTES // (row_items * dtype.itemsize))
    shape = (-1, page.imagewidth) if page.samplesperpixel == 1 else (-1, page.imagewidth, page.samplesperpixel)
    file = page.parent.filehandle
    for top in range(0, page.imagelength, rows):
        band = (top, min(top + rows, page.imagelength))
        if not any(region.top < band[1] and band[0] < region.bottom for region in wanted):
            continue
        file.seek(page.dataoffsets[0] + top * row_items * dtype.itemsize)
        codes = file.read_array(dtype, (band[1] - band[0]) * row_items).reshape(shape)
        yield top, 0, plain_codes_of(codes.astype(dtype.newbyteorder("="), copy=False), page)


def _read_segments(page: Any, wanted: Sequence["_Lying"]) -> Iterator[Piece]:
    """Yield the strips or tiles that any region touches."""
    if page.is_tiled:
        high, wide = page.tilelength, page.tilewidth
    else:
        high, wide = min(page.rowsperstrip, page.imagelength), page.imagewidth
    across = -(-page.imagewidth // wide)
    places = [(index // across * high, index % across * wide) for index in range(len(page.dataoffsets))]
    touched = [
        index
        for index, (top, left) in enumerate(places)
        if any(region.meets(top, left, high, wide) for region in wanted)
    ]
    if not touched:
        return
    offsets = [page.dataoffsets[index] for index in touched]
    counts = [page.databytecounts[index] for index in touched]
    tables = {"jpegtables": page.jpegtables, "jpegheader": page.jpegheader} if page.compression == 7 else {}
    file = page.parent.filehandle
    for data, at in file.read_segments(offsets, counts, sort=True, buffersize=BAND_BYTES):
        top, left = places[touched[at]]
        segment = page.decode(data, touched[at], **tables)[0]
        rows, columns = min(high, page.imagelength - top), min(wide, page.imagewidth - left)
        if segment is None:  # a hole, which stands for zeros
            segment = np.zeros((1, rows, columns, page.samplesperpixel), page.dtype)
        codes = segment[0, :rows, :columns]
        yield top, left, plain_codes_of(codes[:, :, 0] if page.samplesperpixel == 1 else codes, page)


def _gather(
    pieces: Iterator[Piece] | Sequence[Piece],
    regions: Sequence[Region],
    orientation: int,
    size: tuple[int, int],
) -> RegionCodes:
    gatherers = [_Gatherer(_lying(region, orientation, size), region.block_px) for region in regions]
    white: float | None = None
    for top, left, codes in pieces:
        white = {"uint8": 255.0, "uint16": 65535.0}.get(codes.dtype.name)
        for gatherer in gatherers:
            gatherer.add(top, left, codes)
    return RegionCodes(codes=tuple(upright(gatherer.result(), orientation) for gatherer in gatherers), white=white)


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


def _lying(region: Region, orientation: int, size: tuple[int, int]) -> _Lying:
    """Undo `upright` for a region; `size` is of the picture as it lies in the file."""
    width, height = size[::-1] if orientation in _TURNED else size
    left, right = region.left_px, region.left_px + region.width_px
    top, bottom = region.top_px, region.top_px + region.height_px
    from_bottom, from_right = orientation in {3, 4, 7, 8}, orientation in {2, 3, 6, 7}
    if from_bottom:
        top, bottom = height - bottom, height - top
    if from_right:
        left, right = width - right, width - left
    if orientation in _TURNED:
        top, left, bottom, right = left, top, right, bottom
        from_bottom, from_right = from_right, from_bottom
    return _Lying(top=top, left=left, bottom=bottom, right=right, from_bottom=from_bottom, from_right=from_right)


class _Gatherer:
    """Takes from each piece what belongs to one region."""

    def __init__(self, lying: _Lying, block: int) -> None:
        self.lying, self.block = lying, block
        self.rows = _starts(lying.top, lying.bottom, block, from_end=lying.from_bottom)
        self.columns = _starts(lying.left, lying.right, block, from_end=lying.from_right)
        self.codes: GreyArray | None = None
        self.sums = np.zeros((self.rows.size, self.columns.size)) if block > 1 else None

    def add(self, top: int, left: int, codes: GreyArray) -> None:
        lying = self.lying
        first, last = max(top, lying.top), min(top + codes.shape[0], lying.bottom)
        west, east = max(left, lying.left), min(left + codes.shape[1], lying.right)
        if first >= last or west >= east:
            return
        part = codes[first - top : last - top, west - left : east - left]
        if self.sums is not None:
            self._add_to(self.sums, first, west, part)
            return
        if self.codes is None:
            self.codes = np.zeros((lying.bottom - lying.top, lying.right - lying.left), codes.dtype)
        self.codes[first - lying.top : last - lying.top, west - lying.left : east - lying.left] = part

    def _add_to(self, totals: NDArray[np.float64], first: int, west: int, part: GreyArray) -> None:
        at_row, rows_before = _block_of(self.rows, first, self.block)
        at_column, columns_before = _block_of(self.columns, west, self.block)
        sums = sum_blocks(part, self.block, rows_before=rows_before, columns_before=columns_before)
        totals[at_row : at_row + sums.shape[0], at_column : at_column + sums.shape[1]] += sums

    def result(self) -> GreyArray:
        if self.sums is None:
            if self.codes is None:
                msg = "scan is damaged: it ends before its picture does"
                raise ValueError(msg)
            return self.codes
        high = np.diff(np.append(self.rows, self.lying.bottom))
        wide = np.diff(np.append(self.columns, self.lying.right))
        self.sums /= high[:, np.newaxis]
        self.sums /= wide
        return self.sums.astype(np.float32)


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
