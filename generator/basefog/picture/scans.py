"""A scan file becomes an array of grey code values, upright, at the depth it was scanned with.

Nothing is scaled on the way: a grey pixel keeps its code value, and colours become one grey by the luminance weights
of Rec. ITU-R BT.709, taken on the code values as they stand. A black-and-white picture has equal channels, so that the
weights then change nothing. Alpha is left out: the codes beneath it are what the scanner saw.
"""

import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from PIL.Image import Image
    from tifffile import TiffPage

GreyArray: TypeAlias = NDArray[np.uint8] | NDArray[np.uint16] | NDArray[np.float32]
"""A picture of one channel, rows from the top; floating point only where the scan itself is."""

LUMINANCE_WEIGHTS: Final = (0.2126, 0.7152, 0.0722)
"""Rec. ITU-R BT.709, part 1, item 3.2: red, green, blue."""

MAX_MEGAPIXELS: Final = 400
ROWS_AT_ONCE: Final = 512
ORIENTATION_TAG: Final = 274


class NamedFile(Protocol):
    """Anything that names a file by `path`."""

    @property
    def path(self) -> str:
        """Where the file is now."""


def decode_scan(scan: str | PathLike[str] | NamedFile) -> GreyArray:
    """Return a scan's grey code values, upright: 8- and 16-bit depths stay what they are.

    Raises ValueError where the file is no picture of a kind that can be read, is damaged, or larger than the limit.
    """
    path = Path(scan if isinstance(scan, str | PathLike) else scan.path)
    if is_tiff(path):
        return _decode_tiff(path)
    with path.open("rb") as file:
        head = file.read(26)
    return _decode_other(path, deep_png=head[:8] == b"\x89PNG\r\n\x1a\n" and head[24] == 16)


def upright(codes: GreyArray, orientation: int) -> GreyArray:
    """Turn a picture as its orientation tag asks (1 to 8, as TIFF 6.0 and Exif number them).

    >>> upright(np.array([[1, 2], [3, 4]]), 6).tolist()
    [[3, 1], [4, 2]]
    """
    if orientation in {5, 6, 7, 8}:
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


@contextmanager
def open_tiff(path: Path) -> Iterator[tuple["TiffPage", int]]:
    """Give the one picture of a TIFF file and its orientation. Raises ValueError where the file is damaged."""
    import tifffile

    # The library tells of private tags that it can't make out; they say nothing about the picture.
    log = logging.getLogger("tifffile")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
    try:
        with tifffile.TiffFile(path) as tiff:
            page = tiff.pages.first
            _refuse_too_large(page.imagelength, page.imagewidth)
            _check_kind(page)
            tag = page.tags.get(ORIENTATION_TAG)
            yield page, int(tag.value) if tag is not None else 1
    except (tifffile.TiffFileError, IndexError, KeyError, TypeError) as wrong:
        msg = f"scan is a damaged TIFF file: {wrong}"
        raise ValueError(msg) from wrong


def is_tiff(path: Path) -> bool:
    """Tell whether a file begins as a TIFF file does."""
    with path.open("rb") as file:
        return file.read(4) in {b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"}


def plain_codes_of(codes: NDArray[Any], page: "TiffPage") -> GreyArray:
    """Return the grey of a piece of a TIFF picture: channels last, as decoded; colours looked up and white high."""
    from tifffile import PHOTOMETRIC

    if page.photometric == PHOTOMETRIC.PALETTE and page.colormap is not None:
        # Palettes hold 8-bit colours in the upper half of 16 bits.
        codes = np.moveaxis(page.colormap >> 8, 0, -1).astype(np.uint8)[codes]
    elif page.photometric == PHOTOMETRIC.MINISWHITE:
        codes = np.invert(codes) if codes.dtype.kind == "u" else -codes
    return grey_of(codes if codes.dtype in (np.uint8, np.uint16) else codes.astype(np.float32))


def _decode_tiff(path: Path) -> GreyArray:
    try:
        with open_tiff(path) as (page, orientation):
            codes: NDArray[Any] = page.asarray()
            if page.axes.startswith("S") and codes.ndim == 3:  # channels stored one after another
                codes = np.moveaxis(codes, 0, -1)
            return upright(plain_codes_of(codes, page), orientation)
    except RuntimeError:
        # A second reader forgives what the first does not, such as bytes behind the end of a compressed strip.
        return _decode_other(path, deep_png=False)


def _check_kind(page: "TiffPage") -> None:
    from tifffile import PHOTOMETRIC

    photometric, bits = page.photometric, page.bitspersample
    if bits not in ({4, 8} if photometric == PHOTOMETRIC.PALETTE else {8, 16, 32, 64}):
        msg = f"scan has {bits} bits a sample, 8 or 16 are read"
        raise ValueError(msg)
    readable = (PHOTOMETRIC.MINISWHITE, PHOTOMETRIC.MINISBLACK, PHOTOMETRIC.RGB, PHOTOMETRIC.PALETTE, PHOTOMETRIC.YCBCR)
    if photometric not in readable:
        msg = f"scan is neither grey nor colour of three channels but {PHOTOMETRIC(photometric).name.lower()}"
        raise ValueError(msg)


def _decode_other(path: Path, *, deep_png: bool) -> GreyArray:
    from PIL import Image, ImageOps, UnidentifiedImageError

    # The library warns of large pictures below the limit that this project sets.
    Image.MAX_IMAGE_PIXELS = MAX_MEGAPIXELS * 1_000_000
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of damaged tags: damaged pixels raise
            with Image.open(path) as opened:
                _refuse_too_large(opened.height, opened.width)
                if deep_png:
                    # The library would cut 16-bit colours to 8 bits.
                    return upright(_decode_deep_png(path), opened.getexif().get(ORIENTATION_TAG, 1))
                codes = _flat_codes(ImageOps.exif_transpose(opened))
    except (UnidentifiedImageError, Image.DecompressionBombError) as wrong:
        msg = f"scan is not a TIFF, PNG, JPEG or WebP file of at most {MAX_MEGAPIXELS} megapixels"
        raise ValueError(msg) from wrong
    except (OSError, SyntaxError) as wrong:
        msg = f"scan is damaged: {wrong}"
        raise ValueError(msg) from wrong
    return grey_of(codes)


def _flat_codes(turned: "Image") -> NDArray[Any]:
    """Return an upright picture's code values, a palette looked up."""
    if turned.mode in {"P", "PA", "YCbCr"}:
        turned = turned.convert("RGB")
    if turned.mode not in {"L", "LA", "La", "RGB", "RGBA", "I;16", "I;16B"}:
        msg = f"scan is neither grey nor colour of three channels but {turned.mode}"
        raise ValueError(msg)
    return np.asarray(turned)


def _decode_deep_png(path: Path) -> GreyArray:
    import imagecodecs

    return grey_of(imagecodecs.png_decode(path.read_bytes()))


def _refuse_too_large(height_px: int, width_px: int) -> None:
    if height_px * width_px > MAX_MEGAPIXELS * 1_000_000:
        msg = f"scan has {height_px * width_px / 1e6:.0f} megapixels, at most {MAX_MEGAPIXELS} are read"
        raise ValueError(msg)
