"""Scans judged by their headers: size, bits, pages; no pixel is decoded here."""

import logging
import struct
import warnings
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from basefog.scanfiles.webp import read_webp_header

PIXEL_LIMIT: Final = 400_000_000
"""Most pixels of a scan (contract)."""

SUFFIXES: Final = (".tif", ".tiff", ".png", ".jpg", ".jpeg", ".webp")

_SAVE_PLAIN: Final = "Save it again as a single 8 or 16 bit picture, grey or RGB."
_COPY_AGAIN: Final = "Copy or export it again."
_ORIENTATION_TAG: Final = 0x0112
_EXIF_LIMIT: Final = 65_536
_TURNED: Final = {5, 6, 7, 8}
_TIFF_STARTS: Final = {b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"}
_TIFF_COLOURS: Final = {0, 1, 2, 3, 6}  # white is zero, black is zero, RGB, palette, YCbCr
_TIFF_COMPRESSIONS: Final = {
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


class ScanFaultError(Exception):
    """A scan that can't be used, and how to mend it."""

    def __init__(self, message: str, mend: str) -> None:
        super().__init__(message)
        self.message, self.mend = message, mend


@dataclass(frozen=True, kw_only=True, slots=True)
class ScanHeader:
    """What a scan's header says: size of the upright picture, bits a sample, whether samples are floating point."""

    width_px: int
    height_px: int
    bits: int
    is_float: bool = False


def read_scan_header(path: Path) -> ScanHeader:
    """Return what the header of a TIFF, PNG, JPEG or WebP says, the orientation tag applied.

    Raises ScanFaultError where the file is damaged, cut short, or of a kind that no measure or view can use.
    """
    try:
        with path.open("rb") as file:
            start = file.read(32)
    except OSError as fault:
        raise ScanFaultError("can't be read", "Make it readable.") from fault
    read = _read_tiff if start[:4] in _TIFF_STARTS else _read_other
    header, orientation = read(path, start)
    return replace(header, width_px=header.height_px, height_px=header.width_px) if orientation in _TURNED else header


def _check_size(width: int, height: int) -> None:
    if width * height > PIXEL_LIMIT:
        limit = PIXEL_LIMIT // 1_000_000
        raise ScanFaultError(
            f"has {width} x {height} pixels, expected at most {limit} megapixels", "Scan it coarser, or crop it."
        )


def _read_tiff(path: Path, _: bytes) -> tuple[ScanHeader, object]:
    # Imported here: only series with TIFF scans pay for it.
    import tifffile

    # What the library would print of a damaged header is told as a problem instead.
    logger = logging.getLogger("tifffile")
    if not logger.handlers:
        logger.addHandler(logging.NullHandler())
    try:
        with tifffile.TiffFile(path) as tiff:
            page: Any = tiff.pages[0]
            kind = (int(page.photometric), int(page.bitspersample), int(page.sampleformat), int(page.compression))
            width, height = int(page.imagewidth), int(page.imagelength)
            is_flat = page.imagedepth == 1 and page.samplesperpixel <= 4
            orientation = page.tags.valueof(274, 1)
            extents = list(zip(page.dataoffsets, page.databytecounts, strict=False))
            has_second = _has_second_picture(tiff)
    except Exception as fault:
        # tifffile parses whatever bytes it meets with plain arithmetic, and promises no set of exceptions.
        raise ScanFaultError("has a damaged header", _COPY_AGAIN) from fault
    if width < 1 or height < 1:
        raise ScanFaultError("has no pixels", _COPY_AGAIN)
    _check_size(width, height)
    _check_tiff_kind(*kind, is_flat=is_flat)
    if has_second:
        raise ScanFaultError("holds more than one picture", "Save the one picture alone.")
    size = path.stat().st_size
    if not extents or any(at + count > size for at, count in extents):
        raise ScanFaultError("is cut short: it ends before its picture does", _COPY_AGAIN)
    # The entries of a palette become grey values of 8 bits, however few bits number them.
    return ScanHeader(width_px=width, height_px=height, bits=max(kind[1], 8), is_float=kind[2] == 3), orientation


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


def _check_tiff_kind(colour: int, bits: int, sample_format: int, compression: int, *, is_flat: bool) -> None:
    if colour == 5:
        raise ScanFaultError("is CMYK", _SAVE_PLAIN)
    if bits == 1:
        raise ScanFaultError("has 1 bit a pixel", _SAVE_PLAIN)
    if colour not in _TIFF_COLOURS or not is_flat:
        raise ScanFaultError("holds something else than grey or RGB, with or without alpha", _SAVE_PLAIN)
    is_palette, is_float = colour == 3, sample_format == 3
    allowed = {16, 32, 64} if is_float else {4, 8} if is_palette else {8, 16}
    if bits not in allowed or sample_format not in {1, 3}:
        raise ScanFaultError(f"has {bits} bits a sample, expected 8 or 16", _SAVE_PLAIN)
    if compression not in _TIFF_COMPRESSIONS:
        raise ScanFaultError("is compressed in a way that is not read", "Save it with LZW, deflate or no compression.")


def _read_other(path: Path, start: bytes) -> tuple[ScanHeader, object]:
    bits = 8
    if start.startswith(b"\x89PNG\r\n\x1a\n"):
        bits = _png_bits(start)
    elif not start.startswith(b"\xff\xd8\xff") and not (start[:4] == b"RIFF" and start[8:12] == b"WEBP"):
        raise ScanFaultError("is no TIFF, PNG, JPEG or WebP", "Export it as one of these.")
    try:
        width, height, is_cmyk, has_second, orientation = (
            _open_webp(path) if start.startswith(b"RIFF") else _open_plain(path, start)
        )
    except (OSError, ValueError, SyntaxError, ArithmeticError, LookupError, TypeError, struct.error) as fault:
        raise ScanFaultError("has a damaged header", _COPY_AGAIN) from fault
    if width < 1 or height < 1:
        raise ScanFaultError("has no pixels", _COPY_AGAIN)
    _check_size(width, height)
    if is_cmyk:
        raise ScanFaultError("is CMYK", _SAVE_PLAIN)
    if has_second:
        raise ScanFaultError("holds more than one picture", "Save the one picture alone.")
    _check_end(path, start)
    return ScanHeader(width_px=width, height_px=height, bits=bits), orientation


def _open_webp(path: Path) -> tuple[int, int, bool, bool, object]:
    from PIL import Image

    header = read_webp_header(path)
    tags = Image.Exif()
    if header.exif:
        tags.load(header.exif)
    return header.width_px, header.height_px, False, header.is_animated, tags.get(_ORIENTATION_TAG, 1)


def _open_plain(path: Path, start: bytes) -> tuple[int, int, bool, bool, object]:
    """Return size, whether it is CMYK, whether there is a second picture, and the orientation of a PNG or JPEG."""
    # The plugins are called by themselves: Pillow's general door would judge large scans by a global setting.
    from PIL import Image, JpegImagePlugin, PngImagePlugin

    is_png = start.startswith(b"\x89PNG")
    with path.open("rb") as file, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        picture = PngImagePlugin.PngImageFile(file) if is_png else JpegImagePlugin.JpegImageFile(file)
        if is_png and "exif" not in picture.info:
            picture.info["exif"] = _late_exif(path)
        # The general method: that of PNG would decode the picture first, to find a late tag.
        orientation = Image.Image.getexif(picture).get(_ORIENTATION_TAG, 1)
        # A JPEG that carries a list of further pictures (Multi-Picture Format) keeps it in the block "mp".
        has_second = getattr(picture, "n_frames", 1) > 1 or "mp" in picture.info
        return *picture.size, picture.mode == "CMYK", has_second, orientation


def _png_bits(start: bytes) -> int:
    """Return bits a sample from the first chunk, since Pillow does not tell the depth of 16 bit RGB."""
    if len(start) < 26:
        raise ScanFaultError("is cut short: it ends before its picture does", _COPY_AGAIN)
    bits, is_palette = start[24], start[25] == 3
    if bits == 1:
        raise ScanFaultError("has 1 bit a pixel", _SAVE_PLAIN)
    if bits not in {8, 16} and not (is_palette and bits in {2, 4}):
        raise ScanFaultError(f"has {bits} bits a sample, expected 8 or 16", _SAVE_PLAIN)
    return max(bits, 8)


def _late_exif(path: Path) -> bytes:
    """Return the tags of a PNG that stand behind its pixels, or nothing: the chunks are stepped over, not read."""
    with path.open("rb") as file:
        file.seek(8)
        while len(head := file.read(8)) == 8:
            length, kind = struct.unpack(">I4s", head)
            if kind == b"eXIf":
                return file.read(min(length, _EXIF_LIMIT))
            file.seek(length + 4, 1)
    return b""


def _check_end(path: Path, start: bytes) -> None:
    """Refuse a file that was cut short in copying: the mark that ends it is not there."""
    size = path.stat().st_size
    with path.open("rb") as file:
        # Some programs add data of their own behind the end.
        file.seek(max(0, size - 65_536))
        tail = file.read()
    if start.startswith(b"RIFF"):
        is_whole = int.from_bytes(start[4:8], "little") + 8 <= size
    else:
        is_whole = (b"IEND" if start.startswith(b"\x89PNG") else b"\xff\xd9") in tail
    if not is_whole:
        raise ScanFaultError("is cut short: it ends before its picture does", _COPY_AGAIN)
