"""What was made, kept in a folder: a cache that may be deleted, damaged or shared at will.

Two kinds of things are kept: results, by the digest of what they were made from, and files that belong in the site, by
the sha256 of what they hold. Each is written beside its place and moved there in one act, so that a reader sees all of
it or none. A result carries a digest of itself and its key: what was damaged, cut short or put in another's place is
noticed, told of, removed, and missing. Nothing is locked: two processes that make the same thing make the same bytes.
Times of files decide only what goes first when the store is full.
"""

import hashlib
import os
import secrets
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISREG
from typing import Final

DEFAULT_LIMIT_BYTES: Final = 2_000_000_000

_MAGIC: Final = b"basefog store 2\n"
_DIGEST_BYTES: Final = 32
_RESULT: Final = ".kept"
_FILE: Final = ".file"
_NEW: Final = ".new"
_HEX: Final = frozenset("0123456789abcdef")
_KEY_LENGTH: Final = 64
_TOUCH_S: Final = 60.0
_NEW_LASTS_S: Final = 86_400.0
_TRIM_TO: Final = 0.9
_TRIAL_BYTES: Final = 4096

_PASSING: Final = (PermissionError, FileNotFoundError)
"""What may be over in a moment: a virus scanner looks at each new file, and a writer's folder may be deleted."""

_TRIES: Final = 3
_PAUSE_S: Final = 0.02

Report = Callable[[str], None]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Entry:
    used_ns: int
    path: str
    size: int


class Store:
    """A folder of results by key and of files by digest; both are a sha256 in hexadecimal.

    Threads and processes may use one folder at once, each through a store of its own or, threads, a shared one. No
    method raises OSError: what can't be read is missing, what can't be written is not kept, and `report` is told of
    both in a line.
    """

    def __init__(
        self,
        folder: Path,
        *,
        limit_bytes: int = DEFAULT_LIMIT_BYTES,
        report: Report = lambda _: None,
        clock: Callable[[], float] = time.time,
    ) -> None:
        """Use a folder, which is made at the first thing that is put.

        `limit_bytes` is what `trim` leaves at most. `report` is told in a line of each thing that was damaged and each
        that could not be kept. `clock` gives the time in seconds, as files' times do.
        """
        self.folder = folder
        self._limit_bytes = limit_bytes
        self.report = report
        self._clock = clock

    def get(self, key: str) -> bytes | None:
        """Return a result, or None where there is none, or none that is sound."""
        path = self._path(key, _RESULT)
        data = self._read(path)
        if data is None:
            return None
        start = len(_MAGIC) + _DIGEST_BYTES
        if data[:start] != _head(key, memoryview(data)[start:]):
            self._remove_damaged(path)
            return None
        return data[start:]

    def put(self, key: str, data: bytes) -> bool:
        """Keep a result under a key, in the place of what was there; return whether it is kept."""
        return self._write(self._path(key, _RESULT), _head(key, data), data)

    def path_of_file(self, sha256: str) -> Path:
        """Return where a file is kept, if it is: byte for byte, for whoever checks its digest."""
        return self._path(sha256, _FILE)

    def has_file(self, sha256: str) -> bool:
        """Return whether a file is kept; whether it is sound is seen when it is read. It counts as used."""
        path = self.path_of_file(sha256)
        try:
            status = path.stat()
        except OSError:
            return False
        if not S_ISREG(status.st_mode):
            return False
        self._touch(path, status.st_mtime)
        return True

    def get_file(self, sha256: str) -> bytes | None:
        """Return a file by its sha256, or None where it isn't kept, or is not sound any more."""
        path = self.path_of_file(sha256)
        data = self._read(path)
        if data is not None and hashlib.sha256(data).hexdigest() != sha256:
            self._remove_damaged(path)
            return None
        return data

    def put_file(self, data: bytes) -> str | None:
        """Keep a file and return its sha256; None where it can't be kept. One that is there stays as it is."""
        sha256 = hashlib.sha256(data).hexdigest()
        is_kept = self.get_file(sha256) is not None or self._write(self.path_of_file(sha256), data)
        return sha256 if is_kept else None

    def check_files(self) -> None:
        """Read every file that is kept, and remove those that are not sound any more."""
        for entry in self._entries():
            path = Path(entry.path)
            if path.suffix == _FILE:
                self.get_file(path.parent.name + path.stem)

    def trim(self) -> int:
        """Remove what was not used for longest, until nine tenths of the limit are kept, if it is passed.

        Returns how many bytes are kept. What dead writers left is removed too, once it is a day old. To be called at
        the end of a run: what a run makes it may need before that.
        """
        entries = sorted(self._entries(), key=lambda entry: (entry.used_ns, entry.path))
        kept = sum(entry.size for entry in entries)
        if kept <= self._limit_bytes:
            return kept
        for entry in entries:
            if kept <= self._limit_bytes * _TRIM_TO:
                break
            # Where a reader holds it open, it stays whole for that reader, or the system keeps it until another time.
            with suppress(OSError):
                Path(entry.path).unlink(missing_ok=True)
                kept -= entry.size
        return kept

    def _read(self, path: Path) -> bytes | None:
        try:
            with path.open("rb") as file:
                used_s = os.fstat(file.fileno()).st_mtime
                data = file.read()
        except FileNotFoundError:
            return None
        except OSError as error:
            self.report(f"{path.name}: an entry of the cache can't be read: {error.strerror}")
            return None
        self._touch(path, used_s)
        return data

    def _write(self, path: Path, *parts: bytes) -> bool:
        error = _try_to_write(path, *parts)
        tries = 1
        # Windows replaces no file that is being read; another process may have kept the same meanwhile.
        while error is not None and not _holds(path, *parts):
            if tries == _TRIES or not isinstance(error, _PASSING):
                self.report(f"{path.name}: an entry of the cache can't be kept: {error.strerror}")
                return False
            time.sleep(_PAUSE_S)
            error = _try_to_write(path, *parts)
            tries += 1
        return True

    def why_not_writable(self) -> str | None:
        """Return why nothing can be kept here, in the system's words, or None where it can: it is tried."""
        trial = _new_beside(self._path("0" * _KEY_LENGTH, _RESULT))
        try:
            _write_new(trial, bytes(_TRIAL_BYTES))
            trial.unlink()
        except OSError as error:
            with suppress(OSError):
                trial.unlink()
            return error.strerror
        return None

    def _remove_damaged(self, path: Path) -> None:
        self.report(f"{path.name}: an entry of the cache is damaged and is made again")
        with suppress(OSError):
            path.unlink()

    def _touch(self, path: Path, used_s: float) -> None:
        now = self._clock()
        if abs(now - used_s) > _TOUCH_S:
            with suppress(OSError):
                os.utime(path, (now, now))

    def _path(self, key: str, ending: str) -> Path:
        if len(key) != _KEY_LENGTH or not _HEX.issuperset(key):
            raise ValueError(f"{key!r} is not a sha256 in hexadecimal")
        return self.folder / key[:2] / f"{key[2:]}{ending}"

    def _entries(self) -> Iterator[_Entry]:
        """Yield what is kept. Files of others are left alone: the folder may be one that was named by mistake."""
        now = self._clock()
        for shelf in _list(self.folder):
            if len(shelf.name) != 2 or not _HEX.issuperset(shelf.name):
                continue
            for file in _list(Path(shelf.path)):
                stem, ending = os.path.splitext(file.name)  # noqa: PTH122 - a Path for each of many would be slow
                if not _is_ours(stem, ending):
                    continue
                try:
                    status = file.stat(follow_symlinks=False)
                except OSError:
                    continue
                if not S_ISREG(status.st_mode):
                    continue
                if ending != _NEW:
                    yield _Entry(used_ns=status.st_mtime_ns, path=file.path, size=status.st_size)
                elif abs(now - status.st_mtime) > _NEW_LASTS_S:
                    with suppress(OSError):
                        Path(file.path).unlink()


def _head(key: str, data: bytes | memoryview) -> bytes:
    """Return what stands before a result: that it is one, and the digest of its key and of itself."""
    digest = hashlib.sha256(key.encode())
    digest.update(data)
    return _MAGIC + digest.digest()


def _is_ours(stem: str, ending: str) -> bool:
    digits, _, writer = stem.partition(".")
    is_named = len(digits) == _KEY_LENGTH - 2 and _HEX.issuperset(digits)
    return is_named and ending in ((_NEW,) if writer else (_RESULT, _FILE))


def _list(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as entries:
            return list(entries)
    except OSError:
        return []


def _new_beside(path: Path) -> Path:
    return path.with_name(f"{path.stem}.{os.getpid()}-{secrets.token_hex(6)}{_NEW}")


def _try_to_write(path: Path, *parts: bytes) -> OSError | None:
    new = _new_beside(path)
    try:
        _write_new(new, *parts)
        new.replace(path)
    except OSError as error:
        with suppress(OSError):
            new.unlink()
        return error
    return None


def _holds(path: Path, *parts: bytes) -> bool:
    try:
        return path.read_bytes() == b"".join(parts)
    except OSError:
        return False


def _write_new(path: Path, *parts: bytes) -> None:
    try:
        file = path.open("xb")
    except FileNotFoundError:
        path.parent.mkdir(parents=True, exist_ok=True)
        file = path.open("xb")
    with file:
        for part in parts:
            file.write(part)
