"""Which folder a publish may replace, and what is in it that it did not write."""

import os
import shutil
import stat
from collections.abc import Iterator, Sequence
from pathlib import Path

from basefog.site.marker import MARKER_NAME, Marker, read_marker
from basefog.site.stops import UnsafeTarget


def check_target(target: Path, series_folder: Path) -> Path:
    """Return the folder to publish to, links resolved; raises UnsafeTarget where it may not be replaced.

    It may be a folder that Basefog made, an empty one, or none; not the series, nor inside or around it.
    """
    try:
        resolved = target.resolve()
        series = series_folder.resolve()
    except (OSError, RuntimeError) as error:
        raise UnsafeTarget(f"{target}: can't be reached ({error}); name another folder with --to") from None
    if _is_or_holds(resolved, series) or _is_or_holds(series, resolved):
        raise UnsafeTarget(f"{target}: is the series, inside it or around it; name another folder with --to")
    if resolved == resolved.parent:
        raise UnsafeTarget(f"{target}: is a whole disk; name another folder with --to")
    if resolved.exists():
        _check_content(target, resolved)
    return resolved


def _check_content(target: Path, resolved: Path) -> None:
    if not resolved.is_dir():
        raise UnsafeTarget(f"{target}: is a file; name a folder with --to")
    try:
        empty = not any(resolved.iterdir())
    except OSError as error:
        raise UnsafeTarget(f"{target}: can't be read ({error.strerror}); name another folder with --to") from None
    if not empty and read_marker(resolved) is None:
        raise UnsafeTarget(
            f"{target}: holds files and was not made by basefog (no {MARKER_NAME}); name an empty or a new folder"
        )


def _is_or_holds(outer: Path, inner: Path) -> bool:
    """Return whether `inner` is `outer` or lies in it; by identity too, for systems that are blind to case."""
    if inner.is_relative_to(outer):
        return True
    if not outer.exists():
        return False
    return any(folder.exists() and outer.samefile(folder) for folder in (inner, *inner.parents))


def find_foreign(target: Path, marker: Marker | None) -> tuple[str, ...]:
    """Return what is in a published folder that the publish did not write, sorted; a folder ends in `/`.

    A folder with nothing of the publish's in it is told as one.
    """
    if not target.is_dir():
        return ()
    written = set(marker.files) if marker else set()
    folders = {"/".join(path.split("/")[:n]) for path in written for n in range(1, path.count("/") + 1)}
    return tuple(sorted(_walk_foreign(target, "", written | {MARKER_NAME}, folders)))


def _walk_foreign(folder: Path, prefix: str, written: set[str], folders: set[str]) -> Iterator[str]:
    with os.scandir(folder) as entries:
        for entry in entries:
            address = prefix + entry.name
            if entry.is_dir(follow_symlinks=False):
                if address in folders:
                    yield from _walk_foreign(folder / entry.name, address + "/", written, folders)
                else:
                    yield address + "/"
            elif address not in written or entry.is_symlink():
                yield address


def keep_foreign(target: Path, staged: Path, foreign: Sequence[str]) -> None:
    """Bring what the publish did not write into the new folder, leaving the old one as it is.

    Files are linked where the system can, so that keeping a large folder costs nothing. Raises UnsafeTarget where a
    kept file stands at an address of the new site.
    """
    for address in foreign:
        parts = address.rstrip("/").split("/")
        for n in range(1, len(parts)):
            _keep_folder(target.joinpath(*parts[:n]), staged.joinpath(*parts[:n]))
        _keep(target.joinpath(*parts), staged.joinpath(*parts))


def _keep(source: Path, place: Path) -> None:
    mode = source.lstat().st_mode
    if stat.S_ISDIR(mode):
        made = _keep_folder(source, place)
        for entry in sorted(source.iterdir()):
            _keep(entry, place / entry.name)
        if made:
            # Last, since a folder may be closed to writing.
            shutil.copymode(source, place)
    elif os.path.lexists(place):
        raise _clash(source)
    elif stat.S_ISLNK(mode):
        place.symlink_to(source.readlink())
    elif stat.S_ISREG(mode):
        _keep_file(source, place)
    else:
        raise UnsafeTarget(f"{source}: is no regular file; move it away")


def _keep_folder(source: Path, place: Path) -> bool:
    """Make a folder where there is none; return whether it was made."""
    if place.is_dir():
        return False
    if os.path.lexists(place):
        raise _clash(source)
    place.mkdir()
    return True


def _keep_file(source: Path, place: Path) -> None:
    try:
        place.hardlink_to(source)
    except OSError:
        shutil.copy2(source, place)


def _clash(source: Path) -> UnsafeTarget:
    return UnsafeTarget(f"{source}: was not written by basefog and stands where the site has a file; move it away")
