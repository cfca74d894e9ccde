"""Compares two published sites; run as `python -m publish.compare_sites ONE OTHER`, status 1 where they differ.

Every file must be the same byte for byte. Pictures alone may differ by one code in 255 in a pixel: what OpenCV
resamples is only promised to be the same on one kind of processor. The digest of such a picture in the site's marker
then differs too, and nothing else there may.
"""

import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from basefog.site.marker import MARKER_NAME, read_marker

PICTURES = (".jpg", ".png", ".webp")
MOST_CODES = 1


def compare_sites(one: Path, other: Path) -> tuple[str, ...]:
    """Return every difference that matters between two folders, in words; files that only one has count."""
    ours, theirs = (dict(_read(folder)) for folder in (one, other))
    faults = [f"{name}: only in {one}" for name in sorted(ours.keys() - theirs.keys())]
    faults += [f"{name}: only in {other}" for name in sorted(theirs.keys() - ours.keys())]
    alike: set[str] = set()
    for name in sorted(ours.keys() & theirs.keys() - {MARKER_NAME}):
        if ours[name] == theirs[name]:
            continue
        why = _why_other_picture(ours[name], theirs[name]) if name.endswith(PICTURES) else "other bytes"
        if why:
            faults.append(f"{name}: {why}")
        else:
            alike.add(name)
    if ours.get(MARKER_NAME) != theirs.get(MARKER_NAME):
        faults += _compare_markers(one, other, alike)
    return tuple(faults)


def _compare_markers(one: Path, other: Path, alike: set[str]) -> Iterator[str]:
    """Yield what two markers that differ tell differently, but for the digests of pictures that are alike."""
    ours, theirs = ((marker.files if (marker := read_marker(folder)) else {}) for folder in (one, other))
    told = {name for name in ours.keys() | theirs.keys() if ours.get(name) != theirs.get(name)}
    if not told:
        yield f"{MARKER_NAME}: other bytes"
    for name in sorted(told - alike):
        yield f"{MARKER_NAME}: another digest of {name}"


def _read(folder: Path) -> Iterator[tuple[str, bytes]]:
    for path in folder.rglob("*"):
        if path.is_file():
            yield path.relative_to(folder).as_posix(), path.read_bytes()


def _why_other_picture(one: bytes, other: bytes) -> str:
    """Return why two pictures are not the same to a code; empty where they are."""
    ours, theirs = _pixels(one), _pixels(other)
    if ours.shape != theirs.shape:
        return "a picture of another size or kind"
    apart = int(np.abs(ours - theirs).max(initial=0))
    return f"pixels differ by up to {apart} codes" if apart > MOST_CODES else ""


def _pixels(data: bytes) -> NDArray[np.int16]:
    from PIL import Image

    with Image.open(BytesIO(data)) as opened:
        return np.asarray(opened).astype(np.int16)


def main(one: Path, other: Path) -> int:
    """Print every difference; return 1 where there is one."""
    faults = compare_sites(one, other)
    sys.stdout.writelines(f"{fault}\n" for fault in faults)
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
