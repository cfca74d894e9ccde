"""The door to scan files: which format a file has, and the file opened."""

from contextlib import AbstractContextManager
from pathlib import Path
from typing import Final

from basefog.scanfiles.codes import ScanFile
from basefog.scanfiles.header import ScanFaultError, ScanHeader
from basefog.scanfiles.jpeg import open_jpeg
from basefog.scanfiles.png import open_png
from basefog.scanfiles.tiff import open_tiff
from basefog.scanfiles.webp import open_webp

SUFFIXES: Final = (".tif", ".tiff", ".png", ".jpg", ".jpeg", ".webp")


def read_scan_header(path: Path) -> ScanHeader:
    """Return what the header of a scan says, the orientation tag applied; no pixel is decoded.

    Raises ScanFaultError where the file is damaged, cut short, or of a kind that no measure or view can use.
    """
    with open_scan_file(path) as file:
        return file.header


def open_scan_file(path: Path) -> AbstractContextManager[ScanFile]:
    """Open a TIFF, PNG, JPEG or WebP, its header read and nothing decoded. Raises ScanFaultError as above."""
    try:
        with path.open("rb") as file:
            start = file.read(12)
    except OSError as fault:
        raise ScanFaultError("can't be read", "Make it readable.") from fault
    if start[:4] in {b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"}:
        return open_tiff(path)
    if start.startswith(b"\x89PNG\r\n\x1a\n"):
        return open_png(path)
    if start.startswith(b"\xff\xd8\xff"):
        return open_jpeg(path)
    if start[:4] == b"RIFF" and start[8:] == b"WEBP":
        return open_webp(path)
    raise ScanFaultError("is no TIFF, PNG, JPEG or WebP", "Export it as one of these.")
