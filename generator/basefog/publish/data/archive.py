"""All data and the readings they come from, in one archive that is the same for the same content."""

import io
import zipfile
import zlib
from collections.abc import Mapping
from typing import Final

from basefog.site import InputPath, read_input

RAW_FOLDER = "raw"
DEFLATE_LEVEL: Final = 9
_FIXED_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest that the format can hold


def read_raw(raw: Mapping[str, InputPath]) -> dict[str, bytes]:
    """Return the reading files byte for byte, by path below the archive's raw folder; `raw` is by path in the series.

    Raises ContentChanged where a file is no longer what the numbers were computed from.
    """
    return {f"{RAW_FOLDER}/{path}": read_input(path, file) for path, file in sorted(raw.items())}


def render_zip(files: Mapping[str, bytes]) -> bytes:
    """Return a ZIP archive of files by path: sorted, with one fixed date and no trace of the machine.

    Python's own compressor is the machine's, and builds of it differ in their bytes; the one used here comes with its
    library, so that the same content gives the same archive with the same library versions.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path, data in sorted(files.items()):
            entry = zipfile.ZipInfo(path, date_time=_FIXED_DATE)
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            _write_deflated(archive, out, entry, data)
    return out.getvalue()


def _write_deflated(archive: zipfile.ZipFile, out: io.BytesIO, entry: zipfile.ZipInfo, data: bytes) -> None:
    """Store what was deflated beforehand, then say in both of its heads what it is."""
    import imagecodecs

    entry.compress_type = zipfile.ZIP_STORED
    archive.writestr(entry, imagecodecs.deflate_encode(data, level=DEFLATE_LEVEL, raw=True))
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.CRC, entry.file_size = zlib.crc32(data), len(data)
    end = out.tell()
    out.seek(entry.header_offset)
    out.write(entry.FileHeader())
    out.seek(end)
