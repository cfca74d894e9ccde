"""WebP files (RFC 9649): their chunks stepped over, their picture decoded whole."""

import struct
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import BinaryIO, Final

import numpy as np

from basefog.scanfiles.codes import ROWS_AT_ONCE, Piece, ScanFile, Wanted, damage_told, grey_of
from basefog.scanfiles.header import ORIENTATION_TAG, cut_short, header_parsed, make_header, more_than_one

_ANIMATED: Final = 0x02
_TAG_LIMIT: Final = 65_536


@contextmanager
def open_webp(path: Path) -> Iterator[ScanFile]:
    """Open a WebP. Raises ScanFaultError where it is damaged, cut short, or animated."""
    from PIL import Image

    tags = Image.Exif()
    with path.open("rb") as file, header_parsed():
        _, length, _, kind, _ = struct.unpack("<4sI4s4sI", file.read(20))
        width, height, flags = _size(kind, file.read(10))
        tags.load(_find_tags(file))
    header = make_header((width, height), bits=8, orientation=tags.get(ORIENTATION_TAG))
    if flags & _ANIMATED:
        raise more_than_one()
    if length + 8 > path.stat().st_size:
        raise cut_short()
    yield ScanFile(header=header, pieces=partial(_read_bands, path))


def _size(kind: bytes, body: bytes) -> tuple[int, int, int]:
    """Return width, height and flags from the first chunk."""
    if kind == b"VP8X":
        flags, wide, high = struct.unpack("<I3s3s", body)
        return int.from_bytes(wide, "little") + 1, int.from_bytes(high, "little") + 1, flags
    if kind == b"VP8L" and body[:1] == b"\x2f":
        (packed,) = struct.unpack("<I", body[1:5])
        return (packed & 0x3FFF) + 1, (packed >> 14 & 0x3FFF) + 1, 0
    if kind == b"VP8 " and body[3:6] == b"\x9d\x01\x2a":
        width, height = struct.unpack("<HH", body[6:10])
        return width & 0x3FFF, height & 0x3FFF, 0
    raise ValueError("no chunk of a picture stands first")


def _find_tags(file: BinaryIO) -> bytes:
    file.seek(12)
    while len(head := file.read(8)) == 8:
        name, length = struct.unpack("<4sI", head)
        if name == b"EXIF":
            return file.read(min(length, _TAG_LIMIT))
        file.seek(length + length % 2, 1)
    return b""


def _read_bands(path: Path, wanted: Wanted) -> Iterator[Piece]:
    # Not by Pillow, which makes ready for animations, in six times the room.
    import imagecodecs

    with damage_told(RuntimeError):
        codes = np.asarray(imagecodecs.webp_decode(path.read_bytes()))
    for top in range(0, codes.shape[0], ROWS_AT_ONCE):
        band = codes[top : top + ROWS_AT_ONCE]
        if wanted(top, 0, band.shape[0], band.shape[1]):
            yield top, 0, grey_of(band)
