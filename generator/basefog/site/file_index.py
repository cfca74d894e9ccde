"""Digests of files, asked of each file once: size, times and file number are the hint, the digest decides.

A file whose times are too near to the moment at which it was looked at may be changed again within the same tick of its
clock, with nothing to show for it. Such a look is not believed: the file is read again. Nor is one believed that lies
ahead of now, or times that lie ahead of the look: a clock was set back, and what it showed may come again.
"""

import hashlib
import json
import os
import secrets
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from basefog.site.digest import digest_of_file

_FORMAT: Final = 1
_TOO_NEAR_NS: Final = 2_000_000_000
_HEX: Final = frozenset("0123456789abcdef")
_DIGEST_LENGTH: Final = 64
_LOOKS: Final = 3


@dataclass(frozen=True, kw_only=True, slots=True)
class _Looks:
    """What the system says of a file without its being read; `inode` is 0 where a system has no file numbers."""

    size: int
    mtime_ns: int
    ctime_ns: int
    inode: int


@dataclass(frozen=True, kw_only=True, slots=True)
class _Seen:
    """How a file looked at a moment just before it was read, and the sha256 of what it held."""

    looks: _Looks
    looked_ns: int
    sha256: str

    def holds_for(self, looks: _Looks, now_ns: int) -> bool:
        """Tell whether a file that looks so now need not be read again."""
        changed_ns = max(looks.mtime_ns, looks.ctime_ns)
        return looks == self.looks and changed_ns + _TOO_NEAR_NS < self.looked_ns <= now_ns


class FileIndex:
    """Digests of files by their places on this machine, with how each file looked when it was read."""

    def __init__(self, path: Path, seen: dict[str, _Seen], clock_ns: Callable[[], int]) -> None:
        self._path = path
        self._seen = seen
        self._clock_ns = clock_ns
        self._asked: set[str] = set()
        self._is_changed = False

    @classmethod
    def load(cls, path: Path, *, afresh: bool = False, clock_ns: Callable[[], int] = time.time_ns) -> "FileIndex":
        """Return the index at `path`; an empty one where there is none or it is damaged.

        `afresh`: believe nothing of it, so that every file is read. `clock_ns` gives the time in nanoseconds, as files'
        times do.
        """
        return cls(path, {} if afresh else _read(path), clock_ns)

    def digest(self, file: Path | str) -> str:
        """Return the sha256, in hexadecimal, of what a file holds. Raises OSError where it can't be read."""
        key = os.path.abspath(file)  # noqa: PTH100 - resolving links would ask the disk for every folder
        self._asked.add(key)
        seen = self._seen.get(key)
        looks = _look(key)
        if seen is not None and seen.holds_for(looks, self._clock_ns()):
            return seen.sha256
        for _ in range(_LOOKS):
            looked_ns = self._clock_ns()
            sha256 = digest_of_file(Path(file))
            looks_after = _look(key)
            if looks_after == looks:
                self._seen[key] = _Seen(looks=looks, looked_ns=looked_ns, sha256=sha256)
                self._is_changed = True
                return sha256
            # It was changed while it was read.
            looks = looks_after
        self._seen.pop(key, None)
        return sha256

    def save(self) -> bool:
        """Write the index where it has changed, whole or not at all; return whether it stands on the disk.

        Files that are gone are left out. One that can't be written is no fault: all is read again the next time.
        """
        if not self._is_changed and self._path.is_file():
            return True
        self._seen = {key: seen for key, seen in self._seen.items() if key in self._asked or Path(key).is_file()}
        new = self._path.with_name(f"{self._path.name}.{os.getpid()}-{secrets.token_hex(6)}.new")
        try:
            new.parent.mkdir(parents=True, exist_ok=True)
            new.write_bytes(_packed(self._seen))
            new.replace(self._path)
        except OSError:
            with suppress(OSError):
                new.unlink()
            return False
        self._is_changed = False
        return True


def _look(file: str) -> _Looks:
    status = os.stat(file)  # noqa: PTH116 - a Path for each of many would be slow
    return _Looks(size=status.st_size, mtime_ns=status.st_mtime_ns, ctime_ns=status.st_ctime_ns, inode=status.st_ino)


def _packed(seen: dict[str, _Seen]) -> bytes:
    files = {
        key: [one.looks.size, one.looks.mtime_ns, one.looks.ctime_ns, one.looks.inode, one.looked_ns, one.sha256]
        for key, one in sorted(seen.items())
    }
    text = _text_of(files)
    return f'{{"format":{_FORMAT},"sha256":"{_digest_of_text(text)}","files":{text}}}\n'.encode()


def _text_of(files: object) -> str:
    return json.dumps(files, separators=(",", ":"))


def _digest_of_text(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _read(path: Path) -> dict[str, _Seen]:
    """Return what an index says; nothing where it is missing, damaged or of another format."""
    try:
        content = json.loads(path.read_bytes())
        if content["format"] != _FORMAT or content["sha256"] != _digest_of_text(_text_of(content["files"])):
            return {}
        return {key: _seen_from(row) for key, row in content["files"].items()}
    except (OSError, ValueError, TypeError, LookupError, AttributeError, RecursionError):
        return {}


def _seen_from(row: list[object]) -> _Seen:
    *numbers, sha256 = row
    size, mtime_ns, ctime_ns, inode, looked_ns = numbers
    whole = [number for number in (size, mtime_ns, ctime_ns, inode, looked_ns) if type(number) is int]
    if len(whole) != 5 or not isinstance(sha256, str) or len(sha256) != _DIGEST_LENGTH or not _HEX.issuperset(sha256):
        raise ValueError("a row of the index is not one")
    looks = _Looks(size=whole[0], mtime_ns=whole[1], ctime_ns=whole[2], inode=whole[3])
    return _Seen(looks=looks, looked_ns=whole[4], sha256=sha256)
