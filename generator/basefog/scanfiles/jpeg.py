"""JPEG files, decoded whole.

A colour JPEG holds a luminance and two differences of colour (ITU-T T.871); its luminance is taken as it stands, which
by Rec. ITU-R BT.601 weighs red 0.299, green 0.587, blue 0.114. Of a black-and-white picture it is the grey; a toned
print's differs from that of Rec. 709 by less than its paper does, and a colour picture would take four times the room.
"""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from pathlib import Path

from basefog.scanfiles.codes import ScanFile
from basefog.scanfiles.header import (
    ORIENTATION_TAG,
    ScanFaultError,
    check_end,
    header_parsed,
    make_header,
    more_than_one,
)
from basefog.scanfiles.whole import read_whole


@contextmanager
def open_jpeg(path: Path) -> Iterator[ScanFile]:
    """Open a JPEG. Raises ScanFaultError where it is damaged, cut short, or of a kind that is not used."""
    from PIL import JpegImagePlugin

    with ExitStack() as opened:
        with header_parsed():
            picture = opened.enter_context(JpegImagePlugin.JpegImageFile(path))
            orientation = picture.getexif().get(ORIENTATION_TAG)
        header = make_header(picture.size, bits=8, orientation=orientation)
        if picture.mode == "CMYK":
            raise ScanFaultError("is CMYK")
        # A list of further pictures (Multi-Picture Format).
        if "mp" in picture.info:
            raise more_than_one()
        check_end(path, b"\xff\xd9")
        yield ScanFile(header=header, pieces=partial(read_whole, picture))
