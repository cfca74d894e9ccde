"""Files that the contract does not name: a typing slip is a problem, anything else a remark."""

from collections.abc import Sequence

from basefog.read.folder import Entry
from basefog.read.problem_list import ProblemList, nearest
from basefog.records.problem import Place


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
        problems.problem(Place(path=entry.path), f"found a {kind}, expected a {other}", f"Make it a {other}.")
    elif match is not None:
        problems.problem(
            Place(path=entry.path), f"found `{entry.name}`; did you mean `{match}`?", f"Rename it to `{match}`."
        )
    else:
        problems.remark(Place(path=entry.path), f"this {kind} is not read", "Take it away if it is not needed.")
