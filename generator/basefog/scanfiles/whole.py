"""JPEG and WebP files, and whatever else Pillow reads: decoded whole, and given by bands of rows.

A colour JPEG holds a luminance and two differences of colour (ITU-T T.871); its luminance is taken as it stands, which
by Rec. ITU-R BT.601 weighs red 0.299, green 0.587, blue 0.114. Of a black-and-white picture it is the grey; a toned
print's differs from that of Rec. 709 by less than its paper does, and a colour picture would take four times the room.
"""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from basefog.scanfiles.codes import (
    MAX_MEGAPIXELS,
    ORIENTATION_TAG,
    ROWS_AT_ONCE,
    Piece,
    ScanFile,
    Wanted,
    grey_of,
    refuse_too_large,
    rows_in_band,
)

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

_READABLE: Final = frozenset({"L", "LA", "La", "RGB", "RGBA", "I;16", "I;16B"})
_CONVERTED: Final = frozenset({"P", "PA", "YCbCr"})


@contextmanager
def open_other_file(path: Path) -> Iterator[ScanFile]:
    """Open and decode a scan of any kind that Pillow reads. Raises ValueError where that can't be done."""
    with _open(path) as picture:
        _check_kind(picture)
        if picture.format == "WEBP":
            # Pillow makes ready for animations, in six times the room.
            pieces = partial(_slice_bands, _decode_webp(path))
        else:
            _load(picture)
            pieces = partial(_read_bands, picture)
        # Asked now, for a TIFF is turned upright as it is loaded.
        width, height = picture.size
        orientation = int(picture.getexif().get(ORIENTATION_TAG, 1))
        yield ScanFile(width_px=width, height_px=height, orientation=orientation, pieces=pieces)


def _open(path: Path) -> "ImageFile":
    """Read a picture's header."""
    from PIL import Image, UnidentifiedImageError

    # The library warns of large pictures below the limit that this project sets.
    Image.MAX_IMAGE_PIXELS = MAX_MEGAPIXELS * 1_000_000
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of damaged tags: damaged pixels raise
            return Image.open(path)
    except (UnidentifiedImageError, Image.DecompressionBombError) as wrong:
        msg = f"scan is not a TIFF, PNG, JPEG or WebP file of at most {MAX_MEGAPIXELS} megapixels"
        raise ValueError(msg) from wrong
    except (OSError, SyntaxError) as wrong:
        msg = f"scan is damaged: {wrong}"
        raise ValueError(msg) from wrong


def _check_kind(picture: "ImageFile") -> None:
    refuse_too_large(picture.width, picture.height)
    if picture.mode not in _READABLE | _CONVERTED:
        msg = f"scan is neither grey nor colour of three channels but {picture.mode}"
        raise ValueError(msg)


def _load(picture: "ImageFile") -> None:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # as above
            picture.draft("L", None)
            picture.load()
    except (OSError, SyntaxError) as wrong:
        msg = f"scan is damaged: {wrong}"
        raise ValueError(msg) from wrong


def _decode_webp(path: Path) -> NDArray[np.uint8]:
    import imagecodecs

    try:
        return np.asarray(imagecodecs.webp_decode(path.read_bytes()))
    except RuntimeError as wrong:
        msg = f"scan is damaged: {wrong}"
        raise ValueError(msg) from wrong


def _slice_bands(codes: NDArray[np.uint8], wanted: Wanted) -> Iterator[Piece]:
    for top in range(0, codes.shape[0], ROWS_AT_ONCE):
        band = codes[top : top + ROWS_AT_ONCE]
        if wanted(top, 0, band.shape[0], band.shape[1]):
            yield top, 0, grey_of(band)


def _read_bands(picture: "ImageFile", wanted: Wanted) -> Iterator[Piece]:
    width, height = picture.size
    high = rows_in_band(4 * width)
    for top in range(0, height, high):
        rows = min(high, height - top)
        if not wanted(top, 0, rows, width):
            continue
        band = picture.crop((0, top, width, top + rows))
        if band.mode in _CONVERTED:
            band = band.convert("RGB")
        codes = np.asarray(band)
        yield top, 0, grey_of(codes.astype(codes.dtype.newbyteorder("="), copy=False))
