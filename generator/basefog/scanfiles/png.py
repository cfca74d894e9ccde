"""PNG files by bands of rows, at full depth.

The libraries at hand decode a PNG whole, or cut its 16-bit colours to 8 bits. Here the one stream of its pixels is
inflated band by band, and the filters of each band are undone by the library all the same: it is given the band as a
small PNG of its own, headed by the row above, which is what filters look at (ISO/IEC 15948, section 9).
"""

import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import BinaryIO, Final

import numpy as np

from basefog.scanfiles.codes import ORIENTATION_TAG, Piece, ScanFile, Wanted, grey_of, refuse_too_large, rows_in_band
from basefog.scanfiles.inflating import inflate_by, read_chunks

_SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"
_CHANNELS: Final = {0: 1, 2: 3, 4: 2, 6: 4}
"""By colour type: grey, colour, grey and alpha, colour and alpha."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PngHeader:
    """What the first chunk of a PNG says; `colour` is its colour type."""

    width_px: int
    height_px: int
    bits: int
    colour: int


def read_png_header(path: Path) -> PngHeader | None:
    """Return the header of a PNG that can be read by bands; None of one with palette or interlacing, and of others."""
    with path.open("rb") as file:
        head = file.read(33)
    if len(head) < 33 or not head.startswith(_SIGNATURE) or head[12:16] != b"IHDR":
        return None
    width, height, bits, colour, _, _, interlaced = struct.unpack(">IIBBBBB", head[16:29])
    if bits not in {8, 16} or colour not in _CHANNELS or interlaced or not width or not height:
        return None
    return PngHeader(width_px=width, height_px=height, bits=bits, colour=colour)


@contextmanager
def open_png_file(path: Path, header: PngHeader) -> Iterator[ScanFile]:
    """Open a PNG of that header. Raises ValueError where it is larger than the limit."""
    refuse_too_large(header.width_px, header.height_px)
    with path.open("rb") as file:
        extents, tags = _find_chunks(file)
        yield ScanFile(
            width_px=header.width_px,
            height_px=header.height_px,
            orientation=_orientation_of(path, tags),
            pieces=partial(_read_bands, file, header, extents),
        )


def _find_chunks(file: BinaryIO) -> tuple[list[tuple[int, int]], bytes]:
    """Return where the pixels' stream lies, (offset, length) of each piece, and the tags; chunks are stepped over."""
    extents, tags = [], b""
    file.seek(len(_SIGNATURE))
    while len(head := file.read(8)) == 8:
        length, kind = struct.unpack(">I4s", head)
        if kind == b"IDAT":
            extents.append((file.tell(), length))
        elif kind == b"eXIf":
            tags = file.read(length)
            file.seek(-len(tags), 1)
        elif kind == b"IEND":
            break
        file.seek(length + 4, 1)
    return extents, tags


def _orientation_of(path: Path, tags: bytes) -> int:
    """Return the orientation by the chunk of tags, else by the text that older programs hid them in."""
    from PIL import Image, PngImagePlugin

    if not tags:
        with path.open("rb") as file:
            try:
                # The general method: that of PNG would decode the picture first, to find a late tag.
                return int(Image.Image.getexif(PngImagePlugin.PngImageFile(file)).get(ORIENTATION_TAG, 1))
            except (OSError, SyntaxError, ValueError) as wrong:
                msg = f"scan is damaged: {wrong}"
                raise ValueError(msg) from wrong
    exif = Image.Exif()
    exif.load(tags)
    return int(exif.get(ORIENTATION_TAG, 1))


def _read_bands(file: BinaryIO, header: PngHeader, extents: list[tuple[int, int]], wanted: Wanted) -> Iterator[Piece]:
    row_bytes = 1 + header.width_px * _CHANNELS[header.colour] * header.bits // 8
    at_once = rows_in_band(row_bytes)
    tops = range(0, header.height_px, at_once)
    sizes = (row_bytes * min(at_once, header.height_px - top) for top in tops)
    above = b""
    for top, filtered in zip(tops, inflate_by(read_chunks(file, extents), sizes), strict=False):
        rows = len(filtered) // row_bytes
        codes = _decode_band(header, above + filtered, rows + bool(above))[-rows:]
        # Row by row as the file holds it: no filter, the high byte first.
        above = b"\0" + codes[-1].astype(codes.dtype.newbyteorder(">")).tobytes()
        if wanted(top, 0, rows, header.width_px):
            yield top, 0, grey_of(codes)


def _decode_band(header: PngHeader, filtered: bytes, rows: int) -> "np.ndarray[tuple[int, ...], np.dtype[np.uint16]]":
    import imagecodecs

    first = struct.pack(">IIBBBBB", header.width_px, rows, header.bits, header.colour, 0, 0, 0)
    parts = ((b"IHDR", first), (b"IDAT", zlib.compress(filtered, 0)), (b"IEND", b""))
    small = _SIGNATURE + b"".join(_chunk(kind, data) for kind, data in parts)
    try:
        codes = np.asarray(imagecodecs.png_decode(small))
    except RuntimeError as wrong:
        msg = f"scan is damaged: {wrong}"
        raise ValueError(msg) from wrong
    channels = _CHANNELS[header.colour]
    return codes.reshape((rows, header.width_px) if channels == 1 else (rows, header.width_px, channels))


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
