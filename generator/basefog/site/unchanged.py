"""Tells whether a site is what publishing would make again, so that a publish with nothing to do does nothing.

What a site was made from is one digest, of content, theme, program and libraries: never of file times. It is noted
beside the site and not in it, so that a copy of a site claims nothing of the machine that it was copied to. A note is
believed only while every file that the publish wrote is as it wrote it.
"""

import hashlib
import json
import os
import platform
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from basefog.site.digest import digest_of_file
from basefog.site.file_index import FileIndex
from basefog.site.marker import MARKER_NAME, Marker, read_marker

_NOTE_VERSION: Final = 2
_PACKAGE: Final = Path(__file__).resolve().parents[1]


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """A site that stands as it was made: its marker, and the lines that the tester was told when it was."""

    marker: Marker
    told: tuple[str, ...]


def compute_origin(folders: Sequence[Path], index: FileIndex) -> str | None:
    """Return the digest of all that a site depends on: what the folders hold, this program and its libraries.

    Nothing is read that the index knows already. None where a folder holds what is no plain file: what that leads to
    may change without a trace here.
    """
    parts = [f"note {_NOTE_VERSION}"]
    for number, folder in enumerate((*folders, _PACKAGE)):
        lines = _digests_of(str(folder), index)
        if lines is None:
            return None
        parts += [f"folder {number} {line}" for line in lines]
    parts += [f"library {library}" for library in _list_libraries()]
    parts.append(f"python {platform.python_version()} {platform.machine()} {platform.system()}")
    return hashlib.sha256("\n".join(parts).encode("utf-8", "surrogateescape")).hexdigest()


def write_origin(note: Path, target: Path, origin: str, told: Sequence[str] = ()) -> None:
    """Note what the site in `target`, just published, was made from, and what was told of it."""
    content = {
        "note": _NOTE_VERSION,
        "origin": origin,
        "marker_sha256": digest_of_file(target / MARKER_NAME),
        "told": list(told),
    }
    note.write_text(json.dumps(content) + "\n", encoding="utf-8")


def find_unchanged(note: Path, target: Path, origin: str, index: FileIndex) -> Standing | None:
    """Return what is known of the site in `target` if it was made from `origin` and stands as made, else None."""
    try:
        content = json.loads(note.read_bytes())
        if not isinstance(content, dict) or (content.get("note"), content.get("origin")) != (_NOTE_VERSION, origin):
            return None
        marker = read_marker(target)
        if marker is None or content.get("marker_sha256") != digest_of_file(target / MARKER_NAME):
            return None
        told = content.get("told")
        if not isinstance(told, list) or not all(isinstance(line, str) for line in told):
            return None
        folder = os.path.realpath(target)
        stands = all(index.digest(f"{folder}/{path}") == digest for path, digest in marker.files.items())
    except (OSError, ValueError):
        return None
    return Standing(marker=marker, told=tuple(told)) if stands else None


def _digests_of(folder: str, index: FileIndex) -> list[str] | None:
    """Return a line for each file and folder below a folder, sorted; None where one is neither.

    Left out is what begins with a dot, as reading leaves it out, and what Python keeps of modules.
    """
    lines: list[str] = []
    waiting = [(folder, "")]
    try:
        while waiting:
            place, prefix = waiting.pop()
            with os.scandir(place) as entries:
                for entry in entries:
                    if entry.name.startswith(".") or entry.name == "__pycache__":
                        continue
                    if entry.is_dir(follow_symlinks=False):
                        lines.append(f"{prefix}{entry.name}/")
                        waiting.append((entry.path, f"{prefix}{entry.name}/"))
                    elif entry.is_file(follow_symlinks=False):
                        lines.append(f"{prefix}{entry.name} {index.digest(entry.path)}")
                    else:
                        return None
    except OSError:
        return None
    return sorted(lines)


def _list_libraries() -> list[str]:
    """Return all that is installed beside this program, with versions: what its libraries lean on counts too.

    Installers name the folder in which they note a library by its name and version; to ask what each says of itself
    would take longer than all else.
    """
    found: set[str] = set()
    for folder in sys.path:
        with suppress(OSError), os.scandir(folder or ".") as entries:
            found.update(entry.name for entry in entries if entry.name.endswith((".dist-info", ".egg-info")))
    return sorted(found)
