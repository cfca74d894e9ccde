"""Tells whether a site is what publishing would make again, so that a publish with nothing to do does nothing.

What a site was made from is one digest, of content, theme, program and libraries: never of file times. It is noted
beside the site and not in it, so that a copy of a site claims nothing of the machine that it was copied to. A note is
believed only while every file that the publish wrote is as it wrote it.
"""

import hashlib
import json
import platform
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import distributions
from pathlib import Path
from typing import Final

from basefog.site.digest import digest_of_file
from basefog.site.marker import MARKER_NAME, Marker, read_marker

_NOTE_VERSION: Final = 1
_PACKAGE: Final = Path(__file__).resolve().parents[1]


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """A site that stands as it was made: its marker, and the lines that the tester was told when it was."""

    marker: Marker
    told: tuple[str, ...]


def compute_origin(content_digest: str, theme_folder: Path) -> str:
    """Return the digest of all that a site depends on: what was read, the theme, this program and its libraries."""
    parts = [
        f"note {_NOTE_VERSION}",
        f"content {content_digest}",
        *(f"theme {line}" for line in _digests_of(theme_folder, "*")),
        *(f"program {line}" for line in _digests_of(_PACKAGE, "*.py")),
        *(f"program {line}" for line in _digests_of(_PACKAGE, "*.json")),
        *(f"library {library}" for library in _list_libraries()),
        f"python {platform.python_version()} {platform.machine()} {platform.system()}",
    ]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def write_origin(note: Path, target: Path, origin: str, told: Sequence[str] = ()) -> None:
    """Note what the site in `target`, just published, was made from, and what was told of it."""
    content = {
        "note": _NOTE_VERSION,
        "origin": origin,
        "marker_sha256": digest_of_file(target / MARKER_NAME),
        "told": list(told),
    }
    note.write_text(json.dumps(content) + "\n", encoding="utf-8")


def find_unchanged(note: Path, target: Path, origin: str) -> Standing | None:
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
        stands = all(digest_of_file(target / path) == digest for path, digest in marker.files.items())
    except (OSError, ValueError):
        return None
    return Standing(marker=marker, told=tuple(told)) if stands else None


def _digests_of(folder: Path, pattern: str) -> list[str]:
    """Return a line for each file below a folder, sorted by its path."""
    files = sorted(path for path in folder.rglob(pattern) if path.is_file())
    return [f"{path.relative_to(folder).as_posix()} {digest_of_file(path)}" for path in files]


def _list_libraries() -> list[str]:
    """Return all that is installed beside this program, with versions: what its libraries lean on counts too."""
    return sorted({f"{library.name} {library.version}" for library in distributions()})
