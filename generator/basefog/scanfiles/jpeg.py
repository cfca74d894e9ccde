"""JPEG files, decoded whole.

A colour JPEG holds a luminance and two differences of colour (ITU-T T.871); its luminance is taken as it stands, which
by Rec. ITU-R BT.601 weighs red 0.299, green 0.587, blue 0.114. Of a black-and-white picture it is the grey; a toned
print's differs from that of Rec. 709 by less than its paper does, and a colour picture would take four times the room.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Final

from basefog.scanfiles.codes import ScanFile
from basefog.scanfiles.header import (
    ORIENTATION_TAG,
    ScanFaultError,
    cut_short,
    header_parsed,
    make_header,
    more_than_one,
)
from basefog.scanfiles.whole import read_whole

_TAIL_BYTES: Final = 65_536


@contextmanager
def open_jpeg(path: Path) -> Iterator[ScanFile]:
    """Open a JPEG. Raises ScanFaultError where it is damaged, cut short, or of a kind that is not used."""
    from PIL import JpegImagePlugin

    with header_parsed():
        opened = JpegImagePlugin.JpegImageFile(path)
    with opened as picture:
        with header_parsed():
            orientation = picture.getexif().get(ORIENTATION_TAG)
        header = make_header(picture.size, bits=8, orientation=orientation)
        if picture.mode == "CMYK":
            raise ScanFaultError("is CMYK")
        # A list of further pictures (Multi-Picture Format).
        if "mp" in picture.info:
            raise more_than_one()
        with path.open("rb") as file:
            # Some programs add data of their own behind the end.
            file.seek(max(0, path.stat().st_size - _TAIL_BYTES))
            if b"\xff\xd9" not in file.read():
                raise cut_short()
        yield ScanFile(header=header, pieces=partial(read_whole, picture))
