"""All data and the readings they come from, in one archive that is the same for the same content."""

import io
import zipfile
from collections.abc import Mapping

from basefog.publish.inputs import read_input
from basefog.publish.job import InputPath

RAW_FOLDER = "raw"
_FIXED_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest that the format can hold


def read_raw(raw: Mapping[str, InputPath]) -> dict[str, bytes]:
    """Return the reading files byte for byte, by path below the archive's raw folder; `raw` is by path in the series.

    Raises ContentChanged where a file is no longer what the numbers were computed from.
    """
    return {f"{RAW_FOLDER}/{path}": read_input(path, file) for path, file in sorted(raw.items())}


def render_zip(files: Mapping[str, bytes]) -> bytes:
    """Return a ZIP archive of files by path: sorted, with one fixed date and no trace of the machine.

    Stored, not deflated: builds of the compressor differ in their bytes, and the same content must give the same
    archive on any machine.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path, data in sorted(files.items()):
            entry = zipfile.ZipInfo(path, date_time=_FIXED_DATE)
            entry.compress_type = zipfile.ZIP_STORED
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return out.getvalue()
