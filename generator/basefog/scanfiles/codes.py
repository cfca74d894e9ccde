"""A scan's picture as grey code values, at the depth it was scanned with, given piece by piece.

Nothing is scaled on the way: a grey pixel keeps its code value, and colours become one grey by the luminance weights
of Rec. ITU-R BT.709, taken on the code values as they stand. A black-and-white picture has equal channels, so that the
weights then change nothing. Alpha is left out: the codes beneath it are what the scanner saw.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from basefog.scanfiles.header import ScanHeader

GreyArray: TypeAlias = NDArray[np.uint8] | NDArray[np.uint16] | NDArray[np.float32]
"""A picture of one channel, rows from the top; floating point only where the scan itself is."""

Piece: TypeAlias = tuple[int, int, GreyArray]
"""A part of the picture as it lies in the file: top, left, grey codes. They come row by row of pieces."""

Wanted: TypeAlias = Callable[[int, int, int, int], bool]
"""Asked whether a part of the picture is wanted: top, left, height, width."""

LUMINANCE_WEIGHTS: Final = (0.2126, 0.7152, 0.0722)
"""Rec. ITU-R BT.709, part 1, item 3.2: red, green, blue."""

ROWS_AT_ONCE: Final = 512
ROWS_IN_CACHE: Final = 64
"""Rows that are reckoned with at once where that is quicker: what was just reckoned is still at hand."""

BAND_BYTES: Final = 4_000_000
"""How much of a picture is decoded at once, where the file allows to choose."""

ENDS_EARLY: Final = "scan is damaged: it ends before its picture does"


@contextmanager
def damage_told(*kinds: type[Exception]) -> Iterator[None]:
    """Tell exceptions of these kinds, which a decoder raises of damaged pixels, as ValueError."""
    try:
        yield
    except kinds as wrong:
        msg = f"scan is damaged: {wrong}"
        raise ValueError(msg) from wrong


@dataclass(frozen=True, kw_only=True, slots=True)
class ScanFile:
    """An opened scan file, of which nothing is decoded yet.

    `pieces` decodes what is wanted, from the top, and raises ValueError where that is damaged. `is_plain` says that
    the codes lie uncompressed, so that reading a part again decodes nothing again.
    """

    header: ScanHeader
    pieces: Callable[[Wanted], Iterator[Piece]]
    is_plain: bool = False


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


def rows_in_band(row_bytes: int) -> int:
    """Return how many rows of that length are decoded at once."""
    return max(1, BAND_BYTES // row_bytes)
