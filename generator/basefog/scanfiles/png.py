"""PNG files by bands of rows, at full depth.

The libraries at hand decode a PNG whole, or cut its 16-bit colours to 8 bits. Here the one stream of its pixels is
inflated band by band, and the filters of each band are undone by the library all the same: it is given the band as a
small PNG of its own, headed by the row above, which is what filters look at (ISO/IEC 15948, section 9).
"""

import struct
import zlib
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO, Final

import numpy as np
from numpy.typing import NDArray

from basefog.scanfiles.codes import Piece, ScanFile, Wanted, damage_told, grey_of, rows_in_band
from basefog.scanfiles.header import (
    ORIENTATION_TAG,
    ScanFaultError,
    ScanHeader,
    check_end,
    cut_short,
    header_parsed,
    make_header,
    more_than_one,
)
from basefog.scanfiles.inflating import inflate_by, read_chunks
from basefog.scanfiles.whole import read_whole

_SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"
_CHANNELS: Final = {0: 1, 2: 3, 4: 2, 6: 4}
"""By colour type: grey, colour, grey and alpha, colour and alpha."""
_PALETTE: Final = 3
_TAG_LIMIT: Final = 65_536


@contextmanager
def open_png(path: Path) -> Iterator[ScanFile]:
    """Open a PNG. Raises ScanFaultError where it is damaged, cut short, or of a kind that is not used."""
    from PIL import Image, PngImagePlugin

    with path.open("rb") as file, ExitStack() as opened:
        bits, colour, interlaced = _read_kind(file.read(29))
        with header_parsed():
            picture = opened.enter_context(PngImagePlugin.PngImageFile(path))
            extents, tags = _find_chunks(file)
            if tags:
                picture.info["exif"] = tags
            # The general method: that of PNG would decode the picture first, to find a late tag.
            orientation = Image.Image.getexif(picture).get(ORIENTATION_TAG)
        header = make_header(picture.size, bits=max(bits, 8), orientation=orientation)
        if getattr(picture, "n_frames", 1) > 1:
            raise more_than_one()
        check_end(path, b"IEND")
        if colour in _CHANNELS and not interlaced:
            yield ScanFile(header=header, pieces=partial(_read_bands, file, header, colour, extents))
        else:
            yield ScanFile(header=header, pieces=partial(read_whole, picture))


def _read_kind(start: bytes) -> tuple[int, int, bool]:
    """Return bits a sample, colour type and whether it is interlaced: of 16 bit RGB Pillow does not tell the depth."""
    if len(start) < 26:
        raise cut_short()
    bits, colour = start[24], start[25]
    if bits == 1:
        raise ScanFaultError("has 1 bit a pixel")
    if bits not in {8, 16} and not (colour == _PALETTE and bits in {2, 4}):
        raise ScanFaultError(f"has {bits} bits a sample, expected 8 or 16")
    return bits, colour, start[28:] != b"\0"


def _find_chunks(file: BinaryIO) -> tuple[list[tuple[int, int]], bytes]:
    """Return where the pixels' stream lies, (offset, length) of each piece, and the tags; chunks are stepped over."""
    extents, tags = [], b""
    file.seek(len(_SIGNATURE))
    while len(head := file.read(8)) == 8:
        length, kind = struct.unpack(">I4s", head)
        if kind == b"IDAT":
            extents.append((file.tell(), length))
        elif kind == b"eXIf":
            tags = file.read(min(length, _TAG_LIMIT))
            file.seek(-len(tags), 1)
        elif kind == b"IEND":
            break
        file.seek(length + 4, 1)
    return extents, tags


def _read_bands(
    file: BinaryIO, header: ScanHeader, colour: int, extents: list[tuple[int, int]], wanted: Wanted
) -> Iterator[Piece]:
    width, height = header.lying_px
    row_bytes = 1 + width * _CHANNELS[colour] * header.bits // 8
    at_once = rows_in_band(row_bytes)
    tops = range(0, height, at_once)
    sizes = (row_bytes * min(at_once, height - top) for top in tops)
    above = b""
    for top, filtered in zip(tops, inflate_by(read_chunks(file, extents), sizes), strict=False):
        rows = len(filtered) // row_bytes
        codes = _decode_band((width, rows + bool(above)), header.bits, colour, above + filtered)[-rows:]
        # Row by row as the file holds it: no filter, the high byte first.
        above = b"\0" + codes[-1].astype(codes.dtype.newbyteorder(">")).tobytes()
        if wanted(top, 0, rows, width):
            yield top, 0, grey_of(codes)


def _decode_band(size: tuple[int, int], bits: int, colour: int, filtered: bytes) -> NDArray[Any]:
    import imagecodecs

    first = struct.pack(">IIBBBBB", *size, bits, colour, 0, 0, 0)
    parts = ((b"IHDR", first), (b"IDAT", zlib.compress(filtered, 0)), (b"IEND", b""))
    small = _SIGNATURE + b"".join(_chunk(kind, data) for kind, data in parts)
    with damage_told(RuntimeError):
        codes = np.asarray(imagecodecs.png_decode(small))
    channels = _CHANNELS[colour]
    return codes.reshape(size[::-1] if channels == 1 else (*size[::-1], channels))


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
