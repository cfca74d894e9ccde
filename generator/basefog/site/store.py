"""Results kept by key in a folder, each entry a file: a cache that may be deleted, damaged or shared at will.

An entry is written beside its place and moved there in one act, so that a reader sees all of it or none. It carries its
own sha256 and its key: one that was damaged, cut short or put in another's place is noticed, told of, removed, and
missing. Nothing is locked: two processes that make the same entry make the same bytes. Times of files decide only what
goes first when the store is full.
"""

import hashlib
import json
import os
import secrets
import struct
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISREG
from typing import Final

DEFAULT_LIMIT_BYTES: Final = 2_000_000_000

_MAGIC: Final = b"basefog store 1\n"
_HEAD: Final = struct.Struct("<16s32s")
_INDEX_BYTES: Final = struct.Struct("<Q")
_ENDING: Final = ".kept"
_NEW_ENDING: Final = ".new"
_HEX: Final = frozenset("0123456789abcdef")
_KEY_LENGTH: Final = 64
_TOUCH_S: Final = 60.0
_NEW_LASTS_S: Final = 86_400.0
_LOOK_SHARE: Final = 16
_TRIM_TO: Final = 0.9

Report = Callable[[str], None]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Entry:
    used_ns: int
    path: str
    size: int


class Store:
    """A folder of results by key; a key is a sha256 in hexadecimal, see `digest_of`.

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
        """Use a folder, which is made at the first entry that is put.

        `limit_bytes` is what the entries may take together; each process may go beyond it by a sixteenth until it
        looks. `report` is told in a line of each entry that was damaged and each that could not be kept. `clock` gives
        the time in seconds, as files' times do.
        """
        self._folder = folder
        self._limit_bytes = limit_bytes
        self._report = report
        self._clock = clock
        self._put_bytes = 0

    def get(self, key: str) -> dict[str, bytes] | None:
        """Return the files of an entry by name, or None where there is none, or none that is sound."""
        path = self._path(key)
        try:
            with path.open("rb") as file:
                used_s = os.fstat(file.fileno()).st_mtime
                data = file.read()
        except FileNotFoundError:
            return None
        except OSError as error:
            self._report(f"{path.name}: an entry of the cache can't be read: {error.strerror}")
            return None
        try:
            files = _unpack(key, data)
        except ValueError as fault:
            self._report(f"{path.name}: an entry of the cache is damaged ({fault}) and is made again")
            with suppress(OSError):
                path.unlink()
            return None
        now = self._clock()
        if abs(now - used_s) > _TOUCH_S:
            with suppress(OSError):
                os.utime(path, (now, now))
        return files

    def get_blob(self, key: str) -> bytes | None:
        """Return the one blob of an entry, or None where there is none, or none that is sound."""
        files = self.get(key)
        return None if files is None else files.get("")

    def put(self, key: str, files: Mapping[str, bytes]) -> bool:
        """Keep files by name under a key, in the place of what was there; return whether they are kept.

        An entry that alone is larger than all may be is not kept.
        """
        data = _pack(key, files)
        if len(data) > self._limit_bytes:
            return False
        path = self._path(key)
        new = path.with_name(f"{path.stem}.{os.getpid()}-{secrets.token_hex(6)}{_NEW_ENDING}")
        try:
            _write_new(new, data)
            new.replace(path)
        except OSError as error:
            with suppress(OSError):
                new.unlink()
            if isinstance(error, PermissionError) and path.is_file():
                # Some systems don't replace a file that another process is reading: it is there, then.
                return True
            self._report(f"{path.name}: an entry of the cache can't be kept: {error.strerror}")
            return False
        self._put_bytes += len(data)
        if self._put_bytes > self._limit_bytes // _LOOK_SHARE:
            self.trim()
        return True

    def put_blob(self, key: str, blob: bytes) -> bool:
        """Keep one blob under a key, as `put` does."""
        return self.put(key, {"": blob})

    def trim(self) -> int:
        """Remove the entries that were not used for longest, until nine tenths of the limit are kept, if it is passed.

        Returns how many bytes are kept. What dead writers left is removed too, once it is a day old. To be called at
        the end of a run; `put` calls it where a run writes much.
        """
        self._put_bytes = 0
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

    def _path(self, key: str) -> Path:
        if len(key) != _KEY_LENGTH or not _HEX.issuperset(key):
            raise ValueError(f"{key!r} is not a sha256 in hexadecimal")
        return self._folder / key[:2] / f"{key[2:]}{_ENDING}"

    def _entries(self) -> Iterator[_Entry]:
        """Yield what is kept. Files of others are left alone: the folder may be one that was named by mistake."""
        now = self._clock()
        for shelf in _list(self._folder):
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
                if ending == _ENDING:
                    yield _Entry(used_ns=status.st_mtime_ns, path=file.path, size=status.st_size)
                elif abs(now - status.st_mtime) > _NEW_LASTS_S:
                    with suppress(OSError):
                        Path(file.path).unlink()


def _is_ours(stem: str, ending: str) -> bool:
    digits, _, writer = stem.partition(".")
    is_named = len(digits) == _KEY_LENGTH - 2 and _HEX.issuperset(digits)
    return is_named and ending == (_NEW_ENDING if writer else _ENDING)


def _list(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as entries:
            return list(entries)
    except OSError:
        return []


def _write_new(path: Path, data: bytes) -> None:
    try:
        file = path.open("xb")
    except FileNotFoundError:
        path.parent.mkdir(parents=True, exist_ok=True)
        file = path.open("xb")
    with file:
        file.write(data)


def _pack(key: str, files: Mapping[str, bytes]) -> bytes:
    index = json.dumps([key, [[name, len(data)] for name, data in files.items()]]).encode()
    body = (_INDEX_BYTES.pack(len(index)), index, *files.values())
    digest = hashlib.sha256()
    for part in body:
        digest.update(part)
    return b"".join((_HEAD.pack(_MAGIC, digest.digest()), *body))


def _unpack(key: str, data: bytes) -> dict[str, bytes]:
    """Return the files of an entry. Raises ValueError, saying what is wrong, where it is not sound."""
    if len(data) < _HEAD.size + _INDEX_BYTES.size:
        raise ValueError("it is cut short")
    magic, digest = _HEAD.unpack_from(data)
    if magic != _MAGIC:
        raise ValueError("it is something else")
    body = memoryview(data)[_HEAD.size :]
    if hashlib.sha256(body).digest() != digest:
        raise ValueError("its digest is another")
    (index_bytes,) = _INDEX_BYTES.unpack_from(body)
    place = _INDEX_BYTES.size + index_bytes
    found_key, index = json.loads(bytes(body[_INDEX_BYTES.size : place]))
    if found_key != key:
        raise ValueError("it is another entry's")
    files: dict[str, bytes] = {}
    for name, size in index:
        files[name] = bytes(body[place : place + size])
        place += size
    return files
