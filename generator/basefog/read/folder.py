"""The series folder as a set of safe, regular files: what is listed here lies inside the series and can be read.

Dot files, office lock files (`~$...`) and `Thumbs.db` are ignored. Links that leave the series, lead nowhere or lead
in circles, anything that is neither a folder nor a regular file, and names that are too long or not UTF-8 are problems.
"""

import errno
import hashlib
import os
import stat
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from basefog.read.problem_list import ProblemList, did_you_mean
from basefog.records.problem import Place

NAME_LIMIT: Final = 200
"""Longest name of a file, in characters (contract)."""

_LINK_FAULTS: Final = {errno.ELOOP: "the link leads in a circle", errno.ENOENT: "the link leads nowhere"}


DigestOf = Callable[[Path], str]
"""Returns the SHA-256 of what a file holds; raises OSError."""


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

    @property
    def place(self) -> Place:
        """Where faults of the file as a whole are told."""
        return Place(path=self.path)


@dataclass(frozen=True, kw_only=True, slots=True)
class FileBytes:
    """What a file holds, and the digest of it."""

    data: bytes
    sha256: str


class _RefusedEntryError(Exception):
    """An entry that may not be used: what is wrong with it, and how to mend it."""


def read_digest_of_file(path: Path) -> str:
    """Return the SHA-256 of what a file holds. Raises OSError where it can't be read."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


class SeriesFolder:
    """Lists and reads the files of one series; every folder is listed once, sorted by name."""

    def __init__(self, root: Path, problems: ProblemList, digest_of: DigestOf = read_digest_of_file) -> None:
        self._root = Path(os.path.realpath(root))
        self._problems = problems
        self._listed: dict[str, tuple[Entry, ...]] = {}
        self._refused: set[str] = set()
        self._digest_of = digest_of

    def list(self, folder: str = "") -> tuple[Entry, ...]:
        """Return the entries of a folder that may be used, sorted by name; nothing where there is no such folder."""
        if folder not in self._listed:
            self._listed[folder] = self._read_entries(folder)
        return self._listed[folder]

    def find(self, path: str) -> Entry | None:
        """Return the file of that path, or None where there is none that may be used."""
        return next((entry for entry in self._named(path) if not entry.is_folder), None)

    def find_named(self, path: str, namer: Place | None = None, siblings: "tuple[str, ...]" = ()) -> Entry | None:
        """Return a file that has to be there; a problem at the path that should be, and None, where it is not.

        Args:
            path: relative to the series folder.
            namer: where the file is named, if it is not always required.
            siblings: names of which one may have been meant.
        """
        entry = self.find(path)
        if entry is None:
            self.tell_missing(path, namer, siblings)
        return entry

    def tell_missing(self, path: str, namer: Place | None = None, siblings: "tuple[str, ...]" = ()) -> None:
        """Add the problem of a file that is not there, unless a fault of it or of a folder above it was told."""
        parts = path.split("/")
        if any("/".join(parts[:end]) in self._refused for end in range(1, len(parts) + 1)):
            return
        name = parts[-1]
        if self._named(path):
            self._problems.problem(Place(path=path), "found a folder, expected a file", "Put the file in its place.")
            return
        if namer is None:
            self._problems.problem(Place(path=path), "the file is missing", f"Write {name}, or restore it.")
            return
        kind = "file" if "." in name else "folder"
        hint = did_you_mean(name, siblings)
        self._problems.problem(
            Place(path=path),
            f"the {kind} is missing; {namer.path}:{namer.line} names it{hint}",
            f"Add the {kind}, or correct line {namer.line} of {namer.path}.",
        )

    def read_file(self, entry: Entry, limit: int, what: str) -> FileBytes | None:
        """Return a file's bytes; a problem and None where it is larger than `limit` bytes or can't be read."""
        if entry.size > limit:
            self._problems.problem(
                entry.place,
                f"found {entry.size} bytes, expected at most {limit // 1_000_000} MB in {what}",
                "Split the file, or take out what does not belong in it.",
            )
            return None
        try:
            data = self.absolute(entry).read_bytes()
        except OSError as fault:
            self._tell_unreadable(entry.path, fault)
            return None
        return FileBytes(data=data, sha256=hashlib.sha256(data).hexdigest())

    def read_digest(self, entry: Entry) -> str | None:
        """Return the SHA-256 of a file of any size; a problem and None where it can't be read."""
        try:
            return self._digest_of(self.absolute(entry))
        except OSError as fault:
            self._tell_unreadable(entry.path, fault)
            return None

    def absolute(self, entry: Entry) -> Path:
        """Return where an entry stands on this machine."""
        return self._root / entry.path

    def was_refused(self, path: str) -> bool:
        """Return whether an entry is there but may not be used; its problem was told."""
        return path in self._refused

    def _named(self, path: str) -> "tuple[Entry, ...]":
        parent = path.rpartition("/")[0]
        if parent and not any(entry.is_folder for entry in self._named(parent)):
            return ()
        return tuple(entry for entry in self.list(parent) if entry.path == path)

    def _tell_unreadable(self, path: str, fault: OSError) -> None:
        reason = os.strerror(fault.errno) if fault.errno else "unknown fault"
        self._refused.add(path)
        self._problems.problem(
            Place(path=path), f"can't be read: {reason}", "Make it readable, or take it out of the series."
        )

    def _read_entries(self, folder: str) -> "tuple[Entry, ...]":
        try:
            names = sorted(os.listdir(self._root / folder))  # noqa: PTH208 - raw names, before any is trusted
        except (FileNotFoundError, NotADirectoryError):
            return ()
        except OSError as fault:
            self._tell_unreadable(folder or "series.yaml", fault)
            return ()
        entries: list[Entry] = []
        for name in names:
            if name.startswith((".", "~$")) or name == "Thumbs.db":
                continue
            path = f"{folder}/{name}" if folder else name
            try:
                entries.append(self._check_entry(path, name))
            except _RefusedEntryError as fault:
                message, mend = fault.args
                self._refused.add(path)
                readable = os.fsencode(path).decode("utf-8", "backslashreplace")
                self._problems.problem(Place(path=readable), message, mend)
        return tuple(entries)

    def _check_entry(self, path: str, name: str) -> Entry:
        if not name.isprintable():
            # Bytes that are no UTF-8 come as lone surrogates, which are not printable either.
            raise _RefusedEntryError("the file's name is not plain text in UTF-8", "Rename it with plain letters.")
        if len(name) > NAME_LIMIT:
            raise _RefusedEntryError(
                f"found a name of {len(name)} characters, expected at most {NAME_LIMIT}", "Give it a shorter name."
            )
        try:
            real = Path(os.path.realpath(self._root / path, strict=True))
            status = real.stat()
        except OSError as fault:
            message = _LINK_FAULTS.get(fault.errno or 0, "can't be read")
            raise _RefusedEntryError(message, "Put the file itself in its place, or take it out.") from fault
        if not real.is_relative_to(self._root):
            raise _RefusedEntryError("the link leaves the series", "Put the file itself in its place.")
        if stat.S_ISREG(status.st_mode):
            return Entry(path=path, is_folder=False, size=status.st_size)
        if not stat.S_ISDIR(status.st_mode):
            raise _RefusedEntryError("is no regular file", "Put a plain file in its place, or take it out.")
        if Path(os.path.realpath((self._root / path).parent)).is_relative_to(real):
            raise _RefusedEntryError(_LINK_FAULTS[errno.ELOOP], "Take the link out.")
        return Entry(path=path, is_folder=True, size=0)
