"""One publish at a time: a lock that the system lets go when its holder dies, so that it can't go stale."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from basefog.site.stops import TargetBusy

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

_PAUSE_S = 0.1


@contextmanager
def hold_lock(path: Path, *, wait_s: float, busy: str) -> Iterator[None]:
    """Hold the lock file at `path` inside the `with`; its folder is made where it is missing.

    Waits up to `wait_s` seconds for another holder, then raises TargetBusy with the line `busy`. The file is removed
    at the end, and its folder if nothing else is in it.
    """
    handle = _acquire(path, wait_s=wait_s, busy=busy)
    try:
        yield
    finally:
        # The name goes before the lock: who waits on the old file then sees that it has no name and asks again.
        if sys.platform == "win32":
            os.close(handle)
        with suppress(OSError):
            path.unlink()
        with suppress(OSError):
            path.parent.rmdir()
        if sys.platform != "win32":
            os.close(handle)


def _acquire(path: Path, *, wait_s: float, busy: str) -> int:
    deadline = time.monotonic() + wait_s
    while True:
        handle = _open(path)
        if handle is not None:
            had = False
            try:
                had = _try_lock(handle) and _still_named(handle, path)
                if had:
                    return handle
            finally:
                if not had:
                    os.close(handle)
        if time.monotonic() >= deadline:
            raise TargetBusy(busy)
        time.sleep(_PAUSE_S)


def _open(path: Path) -> int | None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        return os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0), 0o644)
    except FileNotFoundError:
        # Its last holder has just removed the folder.
        return None
    except FileExistsError:
        # The folder was there when it was to be made, and gone when it was looked at; a file there is another matter.
        if path.parent.exists() and not path.parent.is_dir():
            raise
        return None


def _try_lock(handle: int) -> bool:
    try:
        if sys.platform == "win32":
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        # Held by another; any other error is the system's and is told as such.
        return False
    return True


def _still_named(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), path.lstat())
    except FileNotFoundError:
        return False
