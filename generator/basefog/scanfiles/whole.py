"""What Pillow decodes whole, given by bands of rows: JPEG, PNG with palette or interlacing, some odd TIFF.

Pictures are opened by the plugin of their format: Pillow's general door would judge large ones by a global setting.
"""

import warnings
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import numpy as np

from basefog.scanfiles.codes import Piece, Wanted, damage_told, grey_of, rows_in_band

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

_READABLE: Final = frozenset({"L", "LA", "La", "RGB", "RGBA", "I;16", "I;16B"})
_CONVERTED: Final = frozenset({"P", "PA", "YCbCr"})


def read_whole(picture: "ImageFile", wanted: Wanted) -> Iterator[Piece]:
    """Decode a picture and yield the bands that are wanted; of a colour JPEG the luminance alone is decoded."""
    if picture.mode not in _READABLE | _CONVERTED:
        msg = f"scan is neither grey nor colour of three channels but {picture.mode}"
        raise ValueError(msg)
    with damage_told(OSError, SyntaxError), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of damaged tags: damaged pixels raise
        picture.draft("L", None)
        picture.load()
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
