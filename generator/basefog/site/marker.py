"""The marker: a file in a published folder that says who made it and lists what it wrote there."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

MARKER_NAME: Final = ".basefog-site.json"
_MARKER_VERSION: Final = 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Marker:
    """What a publish wrote: the SHA-256 of every file by its address."""

    files: Mapping[str, str]


def render_marker(marker: Marker) -> bytes:
    """Return the marker's file: the same for the same site, whatever day and machine."""
    content = {"made_by": "basefog", "marker": _MARKER_VERSION, "files": dict(sorted(marker.files.items()))}
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()


def read_marker(folder: Path) -> Marker | None:
    """Return the marker of a folder, or None where there is none that Basefog could have written."""
    path = folder / MARKER_NAME
    try:
        if path.is_symlink():
            return None
        content = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return None
    if not isinstance(content, dict) or content.get("made_by") != "basefog" or content.get("marker") != _MARKER_VERSION:
        return None
    files = content.get("files")
    if not isinstance(files, dict) or not all(isinstance(digest, str) for digest in files.values()):
        return None
    return Marker(files=files)
