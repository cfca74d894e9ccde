"""The header of a WebP file: size, animation, orientation tags (RFC 9649)."""

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Final

_ANIMATED: Final = 0x02
_TAG_LIMIT: Final = 65_536


@dataclass(frozen=True, kw_only=True, slots=True)
class WebpHeader:
    """What a WebP file says of itself; `exif` are its tags, empty where it has none."""

    width_px: int
    height_px: int
    is_animated: bool
    exif: bytes


def read_webp_header(path: Path) -> WebpHeader:
    """Return the header of a WebP file; its chunks are stepped over, not read.

    Raises ValueError or struct.error where the header is damaged.
    """
    with path.open("rb") as file:
        file.seek(12)
        kind, _ = struct.unpack("<4sI", file.read(8))
        width, height, flags = _size(kind, file.read(10))
        exif = b""
        file.seek(12)
        while not exif and len(head := file.read(8)) == 8:
            name, length = struct.unpack("<4sI", head)
            if name == b"EXIF":
                exif = file.read(min(length, _TAG_LIMIT))
            file.seek(length + length % 2, 1)
    return WebpHeader(width_px=width, height_px=height, is_animated=bool(flags & _ANIMATED), exif=exif)


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
