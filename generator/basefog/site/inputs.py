"""Files that jobs read: the same as when the series was read, or the publish stops."""

import hashlib
from pathlib import Path

from basefog.site.digest import digest_of_file
from basefog.site.job import InputPath
from basefog.site.stops import ContentChanged


def read_input(name: str, file: InputPath) -> bytes:
    """Return a file byte for byte; `name` is its path in the series. Raises ContentChanged."""
    try:
        data = Path(file.path).read_bytes()
    except OSError as error:
        raise _gone(name, error) from None
    _compare(name, hashlib.sha256(data).hexdigest(), file)
    return data


def check_input(name: str, file: InputPath) -> None:
    """Raise ContentChanged where a file is not what was read; for files too large to be held."""
    try:
        digest = digest_of_file(Path(file.path))
    except OSError as error:
        raise _gone(name, error) from None
    _compare(name, digest, file)


def _compare(name: str, digest: str, file: InputPath) -> None:
    if digest != file.sha256:
        raise ContentChanged(f"{name}: was changed while it was being published; publish again")


def _gone(name: str, error: OSError) -> ContentChanged:
    return ContentChanged(f"{name}: can't be read any more ({error.strerror}); publish again")
