"""The series folder as a set of safe, regular files: what is listed here lies inside the series and can be read.

Dot files, office lock files (`~$...`) and `Thumbs.db` are ignored. Links that leave the series, lead nowhere or lead
in circles, anything that is neither a folder nor a regular file, and names that are too long or not UTF-8 are problems.
"""

import errno
import hashlib
import os
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from basefog.read.problem_list import ProblemList
from basefog.records.problem import Place

NAME_LIMIT: Final = 200
"""Longest name of a file, in characters (contract)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """A file or folder of the series; `path` is POSIX and relative to the series folder."""

    path: str
    is_folder: bool
    size: int

    @property
    def name(self) -> str:
        """The last part of the path."""
        return self.path.rpartition("/")[2]


@dataclass(frozen=True, kw_only=True, slots=True)
class FileBytes:
    """What a file holds, and the digest of it."""

    path: str
    data: bytes
    sha256: str


class SeriesFolder:
    """Lists and reads the files of one series; every folder is listed once, sorted by name."""

    def __init__(self, root: Path, problems: ProblemList) -> None:
        self._root = Path(os.path.realpath(root))
        self._problems = problems
        self._listed: dict[str, tuple[Entry, ...]] = {}

    def list(self, folder: str = "") -> tuple[Entry, ...]:
        """Return the entries of a folder that may be used, sorted by name; nothing where there is no such folder."""
        if folder not in self._listed:
            self._listed[folder] = self._read_entries(folder)
        return self._listed[folder]

    def find(self, path: str) -> Entry | None:
        """Return the entry of that path, or None where there is none that may be used."""
        parent = path.rpartition("/")[0]
        if parent and (self.find(parent) is None):
            return None
        return next((entry for entry in self.list(parent) if entry.path == path), None)

    def read_file(self, entry: Entry, limit: int, what: str) -> FileBytes | None:
        """Return a file's bytes; a problem and None where it is larger than `limit` bytes or can't be read."""
        place = Place(path=entry.path)
        if entry.size > limit:
            self._problems.problem(
                place,
                f"found {entry.size} bytes, expected at most {limit // 1_000_000} MB in {what}",
                "Split the file, or take out what does not belong in it.",
            )
            return None
        try:
            with self.absolute(entry).open("rb") as file:
                data = file.read(limit + 1)
        except OSError as fault:
            self._tell_unreadable(place, fault)
            return None
        return FileBytes(path=entry.path, data=data, sha256=hashlib.sha256(data).hexdigest())

    def read_digest(self, entry: Entry) -> str | None:
        """Return the SHA-256 of a file of any size; a problem and None where it can't be read."""
        try:
            with self.absolute(entry).open("rb") as file:
                return hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as fault:
            self._tell_unreadable(Place(path=entry.path), fault)
            return None

    def absolute(self, entry: Entry) -> Path:
        """Return where an entry stands on this machine."""
        return self._root / entry.path

    def _tell_unreadable(self, place: Place, fault: OSError) -> None:
        reason = os.strerror(fault.errno) if fault.errno else "unknown fault"
        self._problems.problem(place, f"can't be read: {reason}", "Make it readable, or take it out of the series.")

    def _read_entries(self, folder: str) -> tuple[Entry, ...]:
        try:
            names = sorted(os.listdir(self._root / folder))  # noqa: PTH208 - raw names, before any are trusted
        except FileNotFoundError:
            return ()
        except OSError as fault:
            self._tell_unreadable(Place(path=folder or "series.yaml"), fault)
            return ()
        prefix = f"{folder}/" if folder else ""
        found = (self._check_entry(prefix, name) for name in names if not _is_ignored(name))
        return tuple(entry for entry in found if entry is not None)

    def _check_entry(self, prefix: str, name: str) -> Entry | None:
        try:
            name.encode("utf-8")
        except UnicodeEncodeError:
            readable = os.fsencode(name).decode("utf-8", "backslashreplace")
            self._problems.problem(
                Place(path=prefix + readable), "the file's name is not UTF-8", "Rename it with plain letters."
            )
            return None
        place = Place(path=prefix + name)
        if len(name) > NAME_LIMIT:
            self._problems.problem(
                place,
                f"found a name of {len(name)} characters, expected at most {NAME_LIMIT}",
                "Give it a shorter name.",
            )
            return None
        path = self._root / prefix / name
        try:
            real = Path(os.path.realpath(path, strict=True))
            status = real.stat()
        except OSError as fault:
            self._tell_bad_link(place, fault)
            return None
        if not real.is_relative_to(self._root):
            self._problems.problem(place, "the link leaves the series", "Put the file itself in its place.")
            return None
        if stat.S_ISDIR(status.st_mode):
            if Path(os.path.realpath(self._root / prefix)).is_relative_to(real):
                self._problems.problem(place, "the link leads in a circle", "Take the link out.")
                return None
            return Entry(path=place.path, is_folder=True, size=0)
        if not stat.S_ISREG(status.st_mode):
            self._problems.problem(place, "is no regular file", "Put a plain file in its place, or take it out.")
            return None
        return Entry(path=place.path, is_folder=False, size=status.st_size)

    def _tell_bad_link(self, place: Place, fault: OSError) -> None:
        if fault.errno == errno.ELOOP:
            self._problems.problem(place, "the link leads in a circle", "Take the link out.")
        elif fault.errno == errno.ENOENT:
            self._problems.problem(place, "the link leads nowhere", "Put the file itself in its place.")
        else:
            self._tell_unreadable(place, fault)


def _is_ignored(name: str) -> bool:
    return name.startswith((".", "~$")) or name == "Thumbs.db"
