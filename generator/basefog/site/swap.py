"""Puts a finished folder in the place of another: whole or not at all.

Where the system can exchange two folders in one act, there is no moment without a site. Elsewhere two renames do it;
a run that is cut off between them leaves both folders, and `repair_swap` puts the old one back.
"""

import ctypes
import os
import shutil
import sys
from contextlib import suppress
from pathlib import Path

_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
_RENAME_SWAP = 2  # Apple's name for the same; from memory, not tried on such a machine.


def swap_folders(staged: Path, target: Path, old: Path) -> None:
    """Put `staged` where `target` is (or will be, if there is none yet); what stood there is left at `old` or `staged`.

    All three are on one file system and `old` does not exist. Raises OSError, with the old site in its place, where
    the system refuses.
    """
    if not target.exists():
        staged.rename(target)
        return
    if exchange_folders(staged, target):
        return
    target.rename(old)
    try:
        staged.rename(target)
    except OSError:
        old.rename(target)
        raise


def repair_swap(target: Path, *, old: Path, staged: Path) -> bool:
    """Undo what an interrupted run left; return whether the old site had to be put back.

    Without a target the old folder is the site; with one, whatever lies in `old` and `staged` is waste.
    """
    put_back = old.is_dir() and not target.exists()
    if put_back:
        old.rename(target)
    remove_folder(old)
    remove_folder(staged)
    return put_back


def exchange_folders(one: Path, other: Path) -> bool:
    """Exchange two folders in one act; return False where the system can't, with nothing changed."""
    try:
        library = ctypes.CDLL(None, use_errno=True)
        if sys.platform == "linux":
            outcome = library.renameat2(
                _AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), ctypes.c_uint(_RENAME_EXCHANGE)
            )
        elif sys.platform == "darwin":
            outcome = library.renamex_np(os.fsencode(one), os.fsencode(other), ctypes.c_uint(_RENAME_SWAP))
        else:
            return False
    except (OSError, AttributeError, TypeError):
        return False
    return int(outcome) == 0


def remove_folder(folder: Path) -> None:
    """Remove a folder with all that is in it, as far as the system allows; what stays is removed by the next run."""
    shutil.rmtree(folder, ignore_errors=True)
    if not folder.is_dir():
        return
    for path, _, _ in os.walk(folder):
        # A folder that is closed to writing can't be emptied. Its files are left alone: they may be kept ones.
        with suppress(OSError):
            Path(path).chmod(0o700)
    shutil.rmtree(folder, ignore_errors=True)
