"""A scan, decoded once and read as often as is wanted.

What is made of a scan hangs on one another: its sketch says where it lies, that says which views there are. So its
codes are kept while it is open. Few are kept in memory; many are put in a file without a name, by bands, and come back
by bands; what lies uncompressed in its own file is left there. A scan of hundreds of megapixels so needs the room of
what is made from it, and no more. Where all that is wanted is known beforehand nothing is kept, and what nobody wants
is not decoded (`is_kept` false).

What cannot come piece by piece is held whole while it is decoded: JPEG and WebP, and one strip or tile of more than 32
megabytes compressed otherwise than by deflate. A publish of scans of 150 megapixels in 16 bits (300 MB) stays below
480 MB, and below 530 MB in colour; one strip in LZW takes 950 MB. An 8-bit JPEG of as many pixels takes 475 MB, of 400
megapixels 610 MB; a progressive one of 150 megapixels 660 MB, a WebP 830 MB (`tests/picture/bench_memory.py`).
"""

import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from functools import partial
from os import PathLike
from pathlib import Path
from typing import IO, Any, Final

import numpy as np
from numpy.typing import NDArray

from basefog.scanfiles.codes import ENDS_EARLY, ROWS_IN_CACHE, GreyArray, Piece, ScanFile, Wanted, rows_in_band
from basefog.scanfiles.formats import open_scan_file
from basefog.scanfiles.header import ScanHeader
from basefog.scanfiles.regions import Region, RegionCodes, gather_regions, wanted_by
from basefog.scanfiles.tiff import CodecGaveUpError, open_tiff_whole

MEMORY_BYTES: Final = 64_000_000
"""Codes beyond this are kept in a file: a scan of 24 megapixels in 16 bits has fewer."""


class NoScratchError(Exception):
    """The codes of a scan can't be kept: the system's temporary folder is full, or can't be written."""


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenedScan:
    """A scan whose regions can be read."""

    header: ScanHeader
    read: Callable[[Sequence[Region]], Iterator[RegionCodes]]
    """Yield the grey codes of regions, one after another. Raises ValueError where they can't be decoded."""


@contextmanager
def open_scan(
    path: str | PathLike[str], *, width_px: int, height_px: int, is_kept: bool = True
) -> Iterator[OpenedScan]:
    """Open a scan to read regions of it.

    Args:
        path: the scan.
        width_px: width that the upright scan is known to have.
        height_px: its height.
        is_kept: whether it is read more than once; it is then decoded whole, at once.

    Raises ValueError where the scan can't be decoded or is not of that size, OSError where it can't be read,
    NoScratchError where its codes can't be kept.
    """
    with ExitStack() as until_closed, ExitStack() as while_decoding:
        file = while_decoding.enter_context(open_scan_file(Path(path)))
        header = file.header
        if (header.width_px, header.height_px) != (width_px, height_px):
            msg = f"scan is {header.width_px} x {header.height_px} pixels, planned with {width_px} x {height_px}"
            raise ValueError(msg)
        if not is_kept:
            yield OpenedScan(header=header, read=partial(_read_once, Path(path), file))
            return
        if not file.is_plain:
            try:
                file = _keep(file, until_closed)
            except CodecGaveUpError:
                other = while_decoding.enter_context(open_tiff_whole(Path(path), header))
                file = _keep(other, until_closed)
            while_decoding.close()
        yield OpenedScan(header=header, read=partial(_read_each, file))


def _read_each(file: ScanFile, regions: Sequence[Region]) -> Iterator[RegionCodes]:
    """Yield one region after another, so that they need not be held all at once."""
    for region in regions:
        yield from _read(file, [region])


def _read_once(path: Path, file: ScanFile, regions: Sequence[Region]) -> Iterator[RegionCodes]:
    try:
        yield from _read(file, regions)
    except CodecGaveUpError:
        with open_tiff_whole(path, file.header) as other:
            yield from _read(other, regions)


def _read(file: ScanFile, regions: Sequence[Region]) -> tuple[RegionCodes, ...]:
    return gather_regions(file.pieces(wanted_by(regions, file.header)), regions, file.header)


def _keep(file: ScanFile, until_closed: ExitStack) -> ScanFile:
    """Decode a file whole and keep its codes."""
    kept: _InMemory | _InFile | None = None
    for top, left, codes in file.pieces(_everything):
        if kept is None:
            shape = file.header.lying_px[::-1]
            fits = shape[0] * shape[1] * codes.itemsize <= MEMORY_BYTES
            kept = _InMemory(shape, codes.dtype) if fits else _InFile(shape, codes.dtype, until_closed)
        kept.put(top, left, codes)
    if kept is None:
        raise ValueError(ENDS_EARLY)
    return replace(file, pieces=kept.finish())


def _everything(_top: int, _left: int, _high: int, _wide: int) -> bool:
    return True


class _InMemory:
    """Codes in one array."""

    def __init__(self, shape: tuple[int, int], dtype: np.dtype[Any]) -> None:
        self.codes: NDArray[Any] = np.zeros(shape, dtype)

    def put(self, top: int, left: int, codes: GreyArray) -> None:
        self.codes[top : top + codes.shape[0], left : left + codes.shape[1]] = codes

    def finish(self) -> Callable[[Wanted], Iterator[Piece]]:
        return self._read_bands

    def _read_bands(self, wanted: Wanted) -> Iterator[Piece]:
        for top in range(0, self.codes.shape[0], ROWS_IN_CACHE):
            band = self.codes[top : top + ROWS_IN_CACHE]
            if wanted(top, 0, *band.shape):
                yield top, 0, band


class _InFile:
    """Codes in a file without a name, row by row, which ends with the scan's use.

    Reads and writes are plain ones: pages of a mapped file would count as this program's memory.
    """

    def __init__(self, shape: tuple[int, int], dtype: np.dtype[Any], until_closed: ExitStack) -> None:
        self.shape, self.dtype = shape, dtype
        with _told_scratch():
            self.file: IO[bytes] = until_closed.enter_context(tempfile.TemporaryFile())  # noqa: SIM115 - it is one
        self.top = 0
        self.band: NDArray[Any] = np.zeros((0, shape[1]), dtype)

    def put(self, top: int, left: int, codes: GreyArray) -> None:
        """Take a piece; pieces beside one another are brought together first, so that whole rows are written."""
        if top != self.top or codes.shape[0] > self.band.shape[0]:
            self._write()
            self.top = top
            self.band = np.zeros((codes.shape[0], self.shape[1]), self.dtype)
        self.band[: codes.shape[0], left : left + codes.shape[1]] = codes

    def _write(self) -> None:
        with _told_scratch():
            self.file.seek(self.top * self.shape[1] * self.dtype.itemsize)
            self.file.write(self.band.data)

    def finish(self) -> Callable[[Wanted], Iterator[Piece]]:
        self._write()
        self.band = self.band[:0].copy()
        return self._read_bands

    def _read_bands(self, wanted: Wanted) -> Iterator[Piece]:
        height, width = self.shape
        high = rows_in_band(width * self.dtype.itemsize)
        for top in range(0, height, high):
            rows = min(high, height - top)
            if wanted(top, 0, rows, width):
                self.file.seek(top * width * self.dtype.itemsize)
                data = self.file.read(rows * width * self.dtype.itemsize)
                yield top, 0, np.frombuffer(data, self.dtype).reshape(rows, width)


@contextmanager
def _told_scratch() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        msg = f"the temporary folder {tempfile.gettempdir()} can't be written: {error.strerror}"
        raise NoScratchError(msg) from error
