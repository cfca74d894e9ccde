"""Scans judged by their headers: size, bits, pages; no pixel is decoded here."""

import struct
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Final

PIXEL_LIMIT: Final = 400_000_000
"""Most pixels of a scan (contract)."""

SUFFIXES: Final = (".tif", ".tiff", ".png", ".jpg", ".jpeg", ".webp")

_ORIENTATION_TAG: Final = 0x0112
_TURNED: Final = {5, 6, 7, 8}
# None, LZW, JPEG, deflate (two numbers), PackBits, LZMA, Zstandard, WebP, JPEG 2000, JPEG XL, LERC, deflate by PNG rules.
_TIFF_COMPRESSIONS: Final = {1, 5, 7, 8, 32773, 32946, 34925, 50000, 50001, 34712, 33003, 33005, 50002, 52546, 34887}
_TIFF_COLOURS: Final = {0, 1, 2, 3, 6}  # white is zero, black is zero, RGB, palette, YCbCr


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
    is_float: bool


_RESCAN = "Save it again as a single 8 or 16 bit grey or RGB picture."


def read_scan_header(path: Path) -> ScanHeader:
    """Return what the header of a TIFF, PNG, JPEG or WebP says.

    Raises ScanFaultError where the file is damaged, cut short, or of a kind that no measure or view can use.
    """
    try:
        with path.open("rb") as file:
            start = file.read(16)
    except OSError as fault:
        raise ScanFaultError("can't be read", "Make it readable.") from fault
    if start[:4] in {b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"}:
        header, orientation = _read_tiff(path)
    else:
        header, orientation = _read_other(path, start)
    if header.width_px < 1 or header.height_px < 1:
        raise ScanFaultError("has no pixels", _RESCAN)
    if header.width_px * header.height_px > PIXEL_LIMIT:
        raise ScanFaultError(
            f"found {header.width_px} x {header.height_px} pixels, expected at most {PIXEL_LIMIT // 1_000_000} megapixels",
            "Scan at a lower resolution, or crop the scan.",
        )
    if orientation in _TURNED:
        return ScanHeader(
            width_px=header.height_px, height_px=header.width_px, bits=header.bits, is_float=header.is_float
        )
    return header


def _read_tiff(path: Path) -> tuple[ScanHeader, int]:
    # Imported here: only series with TIFF scans pay for it.
    import tifffile

    try:
        with tifffile.TiffFile(path) as tiff:
            first = tiff.pages[0]
            if not isinstance(first, tifffile.TiffPage):
                raise ScanFaultError("the header is damaged", _RESCAN)
            _check_tiff_page(first, path.stat().st_size)
            if _has_second_picture(tiff):
                raise ScanFaultError("holds more than one picture", "Save the one picture alone.")
            orientation = first.tags.valueof(274, 1)
            header = ScanHeader(
                width_px=int(first.imagewidth),
                height_px=int(first.imagelength),
                bits=int(first.bitspersample),
                is_float=int(first.sampleformat) == 3,
            )
    except ScanFaultError:
        raise
    except Exception as fault:  # noqa: BLE001
        # tifffile parses hostile bytes with plain arithmetic, and promises no set of exceptions.
        raise ScanFaultError("the header is damaged", "Scan or export it again.") from fault
    return header, orientation if isinstance(orientation, int) else 1


def _has_second_picture(tiff: "object") -> bool:
    """Return whether a TIFF holds a further picture that is no smaller copy (a thumbnail) of the first."""
    pages = tiff.pages  # type: ignore[attr-defined]
    # A damaged file may claim any number of pages; the first few are enough to tell.
    for index in range(1, 9):
        try:
            page = pages[index]
        except IndexError:
            return False
        if not page.is_reduced:
            return True
    return False


def _check_tiff_page(page: "object", size: int) -> None:
    bits = page.bitspersample  # type: ignore[attr-defined]
    colour = int(page.photometric)  # type: ignore[attr-defined]
    sample_format = int(page.sampleformat)  # type: ignore[attr-defined]
    if colour == 5:
        raise ScanFaultError("is CMYK", _RESCAN)
    if bits == 1:
        raise ScanFaultError("has 1 bit a pixel", _RESCAN)
    if colour not in _TIFF_COLOURS:
        raise ScanFaultError("holds colours of a kind that is not read", _RESCAN)
    allowed = {16, 32, 64} if sample_format == 3 else {4, 8} if colour == 3 else {8, 16}
    if bits not in allowed or sample_format not in {1, 3}:
        raise ScanFaultError(f"found {bits} bits a sample, expected 8 or 16", _RESCAN)
    if int(page.compression) not in _TIFF_COMPRESSIONS:  # type: ignore[attr-defined]
        raise ScanFaultError("is compressed in a way that is not read", "Save it with LZW, deflate or no compression.")
    if page.imagedepth != 1 or page.samplesperpixel > 4:  # type: ignore[attr-defined]
        raise ScanFaultError("holds more than grey or RGB with alpha", _RESCAN)
    if page.imagewidth * page.imagelength > PIXEL_LIMIT:  # type: ignore[attr-defined]
        return
    offsets, counts = page.dataoffsets, page.databytecounts  # type: ignore[attr-defined]
    if not offsets or any(at + count > size for at, count in zip(offsets, counts, strict=False)):
        raise ScanFaultError("is cut short: it ends before its picture does", "Copy or export it again.")


def _read_other(path: Path, start: bytes) -> tuple[ScanHeader, int]:
    # The plugins are called by themselves: Pillow's general door would refuse large scans by a global setting.
    from PIL import JpegImagePlugin, PngImagePlugin, WebPImagePlugin

    bits = 8
    try:
        with path.open("rb") as file, warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if start.startswith(b"\x89PNG\r\n\x1a\n"):
                bits, colour_type = _png_kind(path)
                picture: object = PngImagePlugin.PngImageFile(file)
                palette = colour_type == 3
                if bits == 1:
                    raise ScanFaultError("has 1 bit a pixel", _RESCAN)
                if bits not in {8, 16} and not palette:
                    raise ScanFaultError(f"found {bits} bits a sample, expected 8 or 16", _RESCAN)
                bits = max(bits, 8)
            elif start.startswith(b"\xff\xd8\xff"):
                picture = JpegImagePlugin.JpegImageFile(file)
            elif start[:4] == b"RIFF" and start[8:12] == b"WEBP":
                picture = WebPImagePlugin.WebPImageFile(file)
            else:
                raise ScanFaultError("is no TIFF, PNG, JPEG or WebP", "Export it as one of these.")
            return _judge(picture, bits, path)
    except ScanFaultError:
        raise
    except (OSError, ValueError, SyntaxError, EOFError, OverflowError, LookupError, TypeError, struct.error) as fault:
        raise ScanFaultError("the header is damaged", "Scan or export it again.") from fault


def _judge(picture: "object", bits: int, path: Path) -> tuple[ScanHeader, int]:
    if picture.mode in {"CMYK", "YCCK"}:  # type: ignore[attr-defined]
        raise ScanFaultError("is CMYK", _RESCAN)
    if getattr(picture, "n_frames", 1) > 1:
        raise ScanFaultError("holds more than one picture", "Save the one picture alone.")
    width, height = picture.size  # type: ignore[attr-defined]
    orientation = picture.getexif().get(_ORIENTATION_TAG, 1)  # type: ignore[attr-defined]
    _check_whole(path, picture.format)  # type: ignore[attr-defined]
    header = ScanHeader(width_px=width, height_px=height, bits=bits, is_float=False)
    return header, orientation if isinstance(orientation, int) else 1


def _png_kind(path: Path) -> tuple[int, int]:
    """Return bit depth and colour type from the first chunk: Pillow tells no depth of 16 bit RGB."""
    with path.open("rb") as file:
        start = file.read(26)
    if len(start) < 26:
        raise ScanFaultError("is cut short: it ends before its picture does", "Copy or export it again.")
    return start[24], start[25]


def _check_whole(path: Path, kind: str | None) -> None:
    """Refuse a file that was cut short in copying: its end mark is not there."""
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(12)
        file.seek(max(0, size - 65_536))
        tail = file.read()
    whole = {
        "PNG": b"IEND" in tail,
        "JPEG": b"\xff\xd9" in tail,
        "WEBP": int.from_bytes(head[4:8], "little") + 8 <= size,
    }
    if not whole.get(kind or "", True):
        raise ScanFaultError("is cut short: it ends before its picture does", "Copy or export it again.")
