"""Files that jobs read: the same as when the series was read, or the publish stops."""

import hashlib
from contextlib import suppress
from pathlib import Path

from basefog.site.digest import digest_of_file
from basefog.site.job import InputPath
from basefog.site.stops import ContentChanged, KeptLost


def read_input(name: str, file: InputPath) -> bytes:
    """Return a file byte for byte; `name` is its path in the series. Raises ContentChanged."""
    try:
        data = Path(file.path).read_bytes()
    except OSError as error:
        raise _gone(name, error) from None
    _compare(name, hashlib.sha256(data).hexdigest(), file)
    return data


def read_made(name: str, file: InputPath) -> bytes:
    """Return a file that another job has made and that is kept; `name` is its address.

    Raises KeptLost where it isn't there any more or is damaged, and then removes it, so that it is made again.
    """
    path = Path(file.path)
    with suppress(OSError):
        data = path.read_bytes()
        if hashlib.sha256(data).hexdigest() == file.sha256:
            return data
        path.unlink()
    raise KeptLost(f"{name}: what was kept of it was lost meanwhile; publish again")


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
