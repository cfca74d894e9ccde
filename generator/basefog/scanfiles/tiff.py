"""TIFF files by strips, tiles or bands of rows: grey or colour, planes together or apart, any usual compression."""

import logging
import math
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from basefog.scanfiles.codes import (
    ENDS_EARLY,
    GreyArray,
    Piece,
    ScanFile,
    Wanted,
    damage_told,
    grey_of,
    rows_in_band,
)
from basefog.scanfiles.header import (
    ORIENTATION_TAG,
    ScanFaultError,
    ScanHeader,
    cut_short,
    header_parsed,
    make_header,
    more_than_one,
)
from basefog.scanfiles.inflating import inflate_by, read_chunks
from basefog.scanfiles.whole import read_whole

_WHITE_IS_ZERO: Final = 0
_PALETTE: Final = 3
_COLOURS: Final = {_WHITE_IS_ZERO, 1, 2, _PALETTE, 6}  # black is zero, RGB, YCbCr
_FLOAT: Final = 3
_COMPRESSIONS: Final = {
    1,  # none
    5,  # LZW
    7,  # JPEG
    8,  # deflate
    32773,  # PackBits
    32946,  # deflate, the older number
    34712,  # JPEG 2000
    34887,  # LERC
    34925,  # LZMA
    50000,  # Zstandard
    50001,  # WebP
    50002,  # JPEG XL
}
_DEFLATE: Final = frozenset({8, 32946})
_BY_BYTES: Final = frozenset({1, 5, 32773, 50000, 34925, *_DEFLATE})
"""Compressions of plain bytes, which know nothing of pixels: none, LZW, PackBits, Zstandard, LZMA, deflate."""

LARGE_BYTES: Final = 32_000_000
"""A strip or tile beyond this is brought out by bands of rows, as far as its compression allows."""


class CodecGaveUpError(ValueError):
    """A codec could not make out a file that another reader may still be able to read."""


@contextmanager
def open_tiff(path: Path) -> Iterator[ScanFile]:
    """Open a TIFF. Raises ScanFaultError where it is damaged, cut short, or of a kind that is not used."""
    # Imported here: only series with TIFF scans pay for it.
    import tifffile

    # What the library would print of damaged headers and private tags is told as a problem, or says nothing.
    log = logging.getLogger("tifffile")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
    with ExitStack() as opened:
        with header_parsed():
            tiff = opened.enter_context(tifffile.TiffFile(path))
            page: Any = tiff.pages.first
            lying_px = (int(page.imagewidth), int(page.imagelength))
            kind = (int(page.photometric), int(page.bitspersample), int(page.sampleformat), int(page.compression))
            is_flat = page.imagedepth == 1 and page.samplesperpixel <= 4
            orientation = page.tags.valueof(ORIENTATION_TAG)
            ends = [at + count for at, count in zip(page.dataoffsets, page.databytecounts, strict=False)]
            has_second, is_plain = _has_second_picture(tiff), bool(page.is_memmappable)
        # The entries of a palette become grey values of 8 bits, however few bits number them.
        header = make_header(lying_px, bits=max(kind[1], 8), orientation=orientation, is_float=kind[2] == _FLOAT)
        _check_kind(*kind, is_flat=is_flat)
        if has_second:
            raise more_than_one()
        if not ends or max(ends) > path.stat().st_size:
            raise cut_short()
        pieces = partial(_read_plain if is_plain else _read_segments, page)
        yield ScanFile(header=header, pieces=pieces, is_plain=is_plain)


@contextmanager
def open_tiff_whole(path: Path, header: ScanHeader) -> Iterator[ScanFile]:
    """Open a TIFF by Pillow, which knows some compressions otherwise, and turns it upright as it decodes it."""
    from PIL import TiffImagePlugin

    with damage_told(OSError, SyntaxError):
        opened = TiffImagePlugin.TiffImageFile(path)
    with opened as picture:
        yield ScanFile(header=replace(header, orientation=1), pieces=partial(read_whole, picture))


def _has_second_picture(tiff: Any) -> bool:
    """Return whether a TIFF holds a further picture that is no smaller copy (a thumbnail) of the first."""
    # A damaged file may claim any number of pages; the first few are enough to tell.
    for index in range(1, 9):
        try:
            page = tiff.pages[index]
        except IndexError:
            return False
        if not page.is_reduced:
            return True
    return False


def _check_kind(colour: int, bits: int, sample_format: int, compression: int, *, is_flat: bool) -> None:
    if colour == 5:
        raise ScanFaultError("is CMYK")
    if bits == 1:
        raise ScanFaultError("has 1 bit a pixel")
    if colour not in _COLOURS or not is_flat:
        raise ScanFaultError("holds something else than grey or RGB, with or without alpha")
    allowed = {16, 32, 64} if sample_format == _FLOAT else {4, 8} if colour == _PALETTE else {8, 16}
    if bits not in allowed or sample_format not in {1, _FLOAT}:
        raise ScanFaultError(f"has {bits} bits a sample, expected 8 or 16")
    if compression not in _COMPRESSIONS:
        raise ScanFaultError("is compressed in a way that is not read", "Save it with LZW, deflate or no compression.")


@contextmanager
def _told_damage() -> Iterator[None]:
    import tifffile

    try:
        yield
    except (tifffile.TiffFileError, IndexError, KeyError, TypeError) as wrong:
        msg = f"scan is a damaged TIFF file: {wrong}"
        raise ValueError(msg) from wrong
    except RuntimeError as wrong:
        msg = f"scan is damaged: {wrong}"
        raise CodecGaveUpError(msg) from wrong


def _planes_of(page: Any) -> int:
    """Return how many planes are read: one where pixels lie together, and of grey with alpha only the grey."""
    if page.planarconfig == 1 or page.samplesperpixel < 3:
        return 1
    return 3


def _together(page: Any) -> int:
    """Return how many samples lie side by side."""
    return int(page.samplesperpixel) if page.planarconfig == 1 else 1


def _grey(planes: list[NDArray[Any]], page: Any) -> GreyArray:
    """Return the grey of a piece; each plane is (rows, columns, samples that lie together)."""
    codes = planes[0] if len(planes) == 1 else np.concatenate(planes, axis=2)
    if page.photometric == _PALETTE and page.colormap is not None:
        # Palettes hold 8-bit colours in the upper half of 16 bits.
        codes = np.moveaxis(page.colormap >> 8, 0, -1).astype(np.uint8)[codes[:, :, 0]]
    elif page.photometric == _WHITE_IS_ZERO:
        codes = np.invert(codes) if codes.dtype.kind == "u" else -codes
    return grey_of(codes if codes.dtype in (np.uint8, np.uint16) else codes.astype(np.float32))


def _read_plain(page: Any, wanted: Wanted) -> Iterator[Piece]:
    """Yield bands of rows of an uncompressed picture that lies in one piece."""
    dtype = np.dtype(page.parent.byteorder + page.dtype.char)
    samples, width, file = _together(page), page.imagewidth, page.parent.filehandle
    row_bytes = width * samples * dtype.itemsize
    high = rows_in_band(row_bytes)
    for top in range(0, page.imagelength, high):
        rows = min(high, page.imagelength - top)
        if not wanted(top, 0, rows, width):
            continue
        planes = []
        with _told_damage():
            for plane in range(_planes_of(page)):
                file.seek(page.dataoffsets[0] + (plane * page.imagelength + top) * row_bytes)
                codes = file.read_array(dtype, rows * width * samples).reshape(rows, width, samples)
                planes.append(codes.astype(dtype.newbyteorder("="), copy=False))
        yield top, 0, _grey(planes, page)


def _read_segments(page: Any, wanted: Wanted) -> Iterator[Piece]:
    """Yield the strips or tiles that are wanted, the large ones by bands."""
    if page.is_tiled:
        high, wide = page.tilelength, page.tilewidth
    else:
        high, wide = min(page.rowsperstrip, page.imagelength), page.imagewidth
    across = -(-page.imagewidth // wide)
    apart = across * -(-page.imagelength // high)
    if len(page.dataoffsets) < apart * _planes_of(page):
        msg = "scan is a damaged TIFF file: it has fewer pieces than its picture"
        raise ValueError(msg)
    for index in range(apart):
        top, left = index // across * high, index % across * wide
        rows, columns = min(high, page.imagelength - top), min(wide, page.imagewidth - left)
        if not wanted(top, left, rows, columns):
            continue
        shape = (high if page.is_tiled else rows, wide, _together(page))
        segments = (index + plane * apart for plane in range(_planes_of(page)))
        # Bands of tiles side by side would not come row by row.
        bands = [_read_segment(page, segment, shape, by_bands=across == 1) for segment in segments]
        done = 0
        with _told_damage():
            for planes in zip(*bands, strict=True):
                codes = [plane[: rows - done, :columns] for plane in planes]
                if codes[0].size:
                    yield top + done, left, _grey(codes, page)
                done += planes[0].shape[0]


def _read_segment(page: Any, index: int, shape: tuple[int, int, int], *, by_bands: bool) -> Iterator[NDArray[Any]]:
    """Yield a strip or tile from its top; `shape` is rows, columns and samples that lie together."""
    offset, count = page.dataoffsets[index], page.databytecounts[index]
    if count == 0:  # a hole, which stands for zeros
        yield np.zeros(shape, page.dtype)
        return
    is_large = by_bands and math.prod(shape) * page.dtype.itemsize > LARGE_BYTES
    if is_large and page.compression in _BY_BYTES and page.fillorder == 1 and page.bitspersample >= 8:
        yield from _read_large(page, offset, count, shape)
        return
    tables = {"jpegtables": page.jpegtables, "jpegheader": page.jpegheader} if page.compression == 7 else {}
    file = page.parent.filehandle
    file.seek(offset)
    yield page.decode(file.read(count), index, **tables)[0][0]


def _read_large(page: Any, offset: int, count: int, shape: tuple[int, int, int]) -> Iterator[NDArray[Any]]:
    from tifffile import TIFF

    high, wide, samples = shape
    file = page.parent.filehandle
    # The predictor of floating point (3) is undone on bytes that have an order of their own.
    dtype = np.dtype(page.dtype.char) if page.predictor == 3 else np.dtype(page.parent.byteorder + page.dtype.char)
    row_bytes = wide * samples * dtype.itemsize
    at_once = rows_in_band(row_bytes)
    bands = [min(at_once, high - top) for top in range(0, high, at_once)]
    if page.compression in _DEFLATE:
        blocks: Iterator[Any] = inflate_by(read_chunks(file, [(offset, count)]), (rows * row_bytes for rows in bands))
    else:
        blocks = _slice_whole(page, offset, count, [rows * row_bytes for rows in bands])
    for rows, block in zip(bands, blocks, strict=True):
        codes = np.frombuffer(block, dtype).reshape(rows, wide, samples)
        if page.predictor != 1:
            codes = TIFF.UNPREDICTORS[page.predictor](codes, axis=-2)
        yield codes.astype(dtype.newbyteorder("="), copy=False)


def _slice_whole(page: Any, offset: int, count: int, sizes: list[int]) -> Iterator[memoryview]:
    """Decompress a segment whole and yield it in pieces of these sizes."""
    from tifffile import TIFF

    file = page.parent.filehandle
    file.seek(offset)
    if page.compression == 1:
        whole = memoryview(file.read(count))
    else:
        whole = memoryview(TIFF.DECOMPRESSORS[page.compression](file.read(count), out=sum(sizes)))
    if len(whole) < sum(sizes):
        raise ValueError(ENDS_EARLY)
    at = 0
    for size in sizes:
        yield whole[at : at + size]
        at += size
