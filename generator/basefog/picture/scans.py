"""A scan file becomes an array of grey code values, upright, at the depth it was scanned with.

Nothing is scaled on the way: a grey pixel keeps its code value, and colours become one grey by the luminance weights
of Rec. ITU-R BT.709, taken on the code values as they stand. A black-and-white picture has equal channels, so that the
weights then change nothing. Alpha is left out: the codes beneath it are what the scanner saw.
"""

from os import PathLike
from pathlib import Path
from typing import Any, Final, Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

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

    Raises ValueError where the file is no picture of a kind that can be read, or is larger than the limit.
    """
    path = Path(scan if isinstance(scan, str | PathLike) else scan.path)
    with path.open("rb") as file:
        magic = file.read(4)
    if magic in {b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"}:
        return _decode_tiff(path)
    return _decode_other(path)


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
    weights = np.array(LUMINANCE_WEIGHTS)
    # By bands, so that a large scan is never held in floating point whole.
    for top in range(0, codes.shape[0], ROWS_AT_ONCE):
        band = codes[top : top + ROWS_AT_ONCE, :, :3].astype(np.float64) @ weights
        grey[top : top + ROWS_AT_ONCE] = band if codes.dtype.kind == "f" else np.rint(band)
    return grey


def _decode_tiff(path: Path) -> GreyArray:
    import tifffile

    with tifffile.TiffFile(path) as tiff:
        page = tiff.pages.first
        _refuse_too_large(page.imagelength, page.imagewidth)
        codes = page.asarray()
        if page.axes.startswith("S") and codes.ndim == 3:  # channels stored one after another
            codes = np.moveaxis(codes, 0, -1)
        photometric = tifffile.PHOTOMETRIC(page.photometric)
        palette = page.colormap
        if photometric == tifffile.PHOTOMETRIC.PALETTE and palette is not None:
            codes = _through_palette(codes, palette)
        elif page.bitspersample not in {8, 16, 32, 64}:
            msg = f"scan has {page.bitspersample} bits a sample, 8 or 16 are read"
            raise ValueError(msg)
        elif photometric == tifffile.PHOTOMETRIC.MINISWHITE:
            codes = np.invert(codes) if codes.dtype.kind == "u" else -codes
        elif photometric not in {
            tifffile.PHOTOMETRIC.MINISBLACK,
            tifffile.PHOTOMETRIC.RGB,
            tifffile.PHOTOMETRIC.YCBCR,
        }:
            msg = f"scan is neither grey nor colour of three channels but {photometric.name.lower()}"
            raise ValueError(msg)
        tag = page.tags.get(ORIENTATION_TAG)
        orientation = int(tag.value) if tag is not None else 1
    if codes.dtype not in (np.uint8, np.uint16):
        codes = codes.astype(np.float32)
    return upright(grey_of(codes), orientation)


def _through_palette(codes: NDArray[Any], colormap: NDArray[np.uint16]) -> NDArray[Any]:
    """Look up a palette; TIFF keeps 16-bit colours there, often of 8-bit ones, which then come back exactly."""
    colours: NDArray[Any] = np.moveaxis(colormap, 0, -1)
    if np.array_equal(colours, (colours >> 8) * 257) or not (colours & 0xFF).any():
        colours = (colours >> 8).astype(np.uint8)
    looked_up: NDArray[Any] = colours[codes]
    return looked_up


def _decode_other(path: Path) -> GreyArray:
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(path) as opened:
            _refuse_too_large(opened.height, opened.width)
            turned = ImageOps.exif_transpose(opened)
            if turned.mode in {"P", "PA"}:
                turned = turned.convert("RGB")
            elif turned.mode == "I":  # how older versions of the library name 16-bit grey
                turned = turned.convert("I;16")
            if turned.mode not in {"L", "LA", "RGB", "RGBA", "I;16", "I;16B", "YCbCr"}:
                msg = f"scan is neither grey nor colour of three channels but {turned.mode}"
                raise ValueError(msg)
            codes = np.asarray(turned.convert("RGB") if turned.mode == "YCbCr" else turned)
    except UnidentifiedImageError:
        msg = "scan is not a TIFF, PNG, JPEG or WebP file"
        raise ValueError(msg) from None
    return grey_of(codes)


def _refuse_too_large(height_px: int, width_px: int) -> None:
    if height_px * width_px > MAX_MEGAPIXELS * 1_000_000:
        msg = f"scan has {height_px * width_px / 1e6:.0f} megapixels, at most {MAX_MEGAPIXELS} are read"
        raise ValueError(msg)
