"""Files that the contract does not name: a typing slip is a problem, anything else a remark."""

from collections.abc import Sequence
from typing import Final

from basefog.read.folder import Entry
from basefog.read.problem_list import ProblemList, nearest
from basefog.read.tables import SUFFIXES, suffix_of

_NEARLY_TABLES: Final = (*SUFFIXES, ".xls", ".xlsm", ".xlsb", ".numbers", ".cvs", ".txt", ".cgats")


def tell_unknown(entry: Entry, known: Sequence[str], problems: ProblemList) -> None:
    """Add what is to be said of a file or folder that nothing reads.

    Args:
        entry: the file or folder.
        known: names that it might have been meant for.
        problems: where the entry goes.
    """
    kind = "folder" if entry.is_folder else "file"
    match = nearest(entry.name, known)
    if match == entry.name:
        other = "file" if entry.is_folder else "folder"
        problems.problem(entry.place, f"found a {kind}, expected a {other}", f"Make it a {other}.")
    elif match is not None:
        problems.problem(entry.place, f"found `{entry.name}`; did you mean `{match}`?", f"Rename it to `{match}`.")
    else:
        problems.remark(entry.place, f"this {kind} is not read", "Take it away if it is not needed.")


def is_nearly_table(entry: Entry) -> bool:
    """Return whether a file that is no table by its name was most likely meant for one."""
    return not entry.is_folder and entry.name.lower().endswith(_NEARLY_TABLES) and suffix_of(entry.name) is None


def tell_nearly_table(entry: Entry, problems: ProblemList) -> None:
    """Add the problem of a table in a shape, or with a name, that is not read."""
    problems.problem(
        entry.place,
        f"found `{entry.name}`, expected a table in one of {', '.join(SUFFIXES)}",
        "Save it as CSV, its name in small letters.",
    )
