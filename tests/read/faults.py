"""A single fault: what is changed in the valid series, and all that must be told of it."""

from dataclasses import dataclass

from read.valid_series import valid_files

Changes = dict[str, bytes | str | None]


@dataclass(frozen=True)
class Fault:
    """`changes` are files by path, None for one that is left out; `told` is every entry, whole."""

    name: str
    changes: Changes
    told: list[str]


def edit(path: str, old: str, new: str) -> Changes:
    """Return the change of one place in a file of the valid series."""
    text = valid_files()[path].decode()
    if old not in text:
        raise ValueError(f"{old!r} is not in {path}")
    return {path: text.replace(old, new, 1)}
