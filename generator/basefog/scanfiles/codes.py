"""A scan's picture as grey code values, at the depth it was scanned with, given piece by piece.

Nothing is scaled on the way: a grey pixel keeps its code value, and colours become one grey by the luminance weights
of Rec. ITU-R BT.709, taken on the code values as they stand. A black-and-white picture has equal channels, so that the
weights then change nothing. Alpha is left out: the codes beneath it are what the scanner saw.

How they come out of a file is the matter of `tiff`, `png` and `whole`; `open_scan_file` chooses.
"""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

GreyArray: TypeAlias = NDArray[np.uint8] | NDArray[np.uint16] | NDArray[np.float32]
"""A picture of one channel, rows from the top; floating point only where the scan itself is."""

Piece: TypeAlias = tuple[int, int, GreyArray]
"""A part of the picture as it lies in the file: top, left, grey codes. They come row by row of pieces."""

Wanted: TypeAlias = Callable[[int, int, int, int], bool]
"""Asked whether a part of the picture is wanted: top, left, height, width."""

LUMINANCE_WEIGHTS: Final = (0.2126, 0.7152, 0.0722)
"""Rec. ITU-R BT.709, part 1, item 3.2: red, green, blue."""

MAX_MEGAPIXELS: Final = 400
ROWS_AT_ONCE: Final = 512
ROWS_IN_CACHE: Final = 64
"""Rows that are reckoned with at once where that is quicker: what was just reckoned is still at hand."""

BAND_BYTES: Final = 4_000_000
"""How much of a picture is decoded at once, where the file allows to choose."""
ORIENTATION_TAG: Final = 274
TURNED: Final = frozenset({5, 6, 7, 8})
"""Orientations that exchange rows and columns."""


class CodecGaveUpError(ValueError):
    """A codec could not make out a file that another reader may still be able to read."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ScanFile:
    """An opened scan file. Width and height are of the picture as it lies there, before `orientation` is applied.

    `pieces` decodes what is wanted, from the top, and raises ValueError where that is damaged. `is_plain` says that
    the codes lie uncompressed, so that reading a part again decodes nothing again.
    """

    width_px: int
    height_px: int
    orientation: int
    pieces: Callable[[Wanted], Iterator[Piece]]
    is_plain: bool = False


def open_scan_file(path: Path) -> AbstractContextManager[ScanFile]:
    """Open a scan; it raises ValueError where it is no picture that can be read, or larger than the limit."""
    from basefog.scanfiles.png import open_png_file, read_png_header
    from basefog.scanfiles.tiff import is_tiff, open_tiff_file
    from basefog.scanfiles.whole import open_other_file

    if is_tiff(path):
        return open_tiff_file(path)
    header = read_png_header(path)
    return open_other_file(path) if header is None else open_png_file(path, header)


def upright(codes: GreyArray, orientation: int) -> GreyArray:
    """Turn a picture as its orientation tag asks (1 to 8, as TIFF 6.0 and Exif number them).

    >>> upright(np.array([[1, 2], [3, 4]]), 6).tolist()
    [[3, 1], [4, 2]]
    """
    if orientation in TURNED:
        codes = codes.swapaxes(0, 1)
    if orientation in {2, 3, 6, 7}:
        codes = codes[:, ::-1]
    if orientation in {3, 4, 7, 8}:
        codes = codes[::-1]
    return codes


def grey_of(codes: NDArray[Any]) -> GreyArray:
    """Return one grey channel of a picture with one, two (grey, alpha), three or four channels (colour, alpha).

    Equal channels give exactly their value; others are rounded once to the depth they had.
    """
    if codes.ndim == 2:
        return codes
    if codes.shape[2] < 3:
        return codes[:, :, 0]
    grey = np.empty(codes.shape[:2], dtype=codes.dtype)
    # By bands, so that a large scan is never held in floating point whole; term by term, for a matrix product may
    # round otherwise on another processor.
    for top in range(0, codes.shape[0], ROWS_AT_ONCE):
        rows = slice(top, top + ROWS_AT_ONCE)
        band = sum(
            weight * codes[rows, :, channel].astype(np.float64) for channel, weight in enumerate(LUMINANCE_WEIGHTS)
        )
        grey[rows] = band if codes.dtype.kind == "f" else np.rint(band)
    return grey


def refuse_too_large(width_px: int, height_px: int) -> None:
    """Raise ValueError where a scan has more pixels than are read."""
    if height_px * width_px > MAX_MEGAPIXELS * 1_000_000:
        msg = f"scan has {height_px * width_px / 1e6:.0f} megapixels, at most {MAX_MEGAPIXELS} are read"
        raise ValueError(msg)


def rows_in_band(row_bytes: int) -> int:
    """Return how many rows of that length are decoded at once."""
    return max(1, BAND_BYTES // row_bytes)
