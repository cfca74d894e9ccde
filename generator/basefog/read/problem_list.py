"""Gathers the problems and remarks of one reading, so that all are told at once and in one order."""

import difflib
from collections.abc import Iterable
from typing import Final

from basefog.records.problem import Place, Problem, problem_at, remark_at

TOLD_PER_FILE: Final = 100
"""Most entries that are told of one file; the rest is counted, since nobody mends by a longer list."""


class ProblemList:
    """Every problem and remark found so far; the same one is kept once."""

    def __init__(self) -> None:
        self._found: dict[str, dict[Problem, None]] = {}
        self._problems = 0

    @property
    def count(self) -> int:
        """How often a problem was told, so that a reader knows whether its own part went well."""
        return self._problems

    def problem(self, place: Place, message: str, mend: str) -> None:
        """Add a problem at a place."""
        self._problems += 1
        self._found.setdefault(place.path, {})[problem_at(place, message, mend)] = None

    def remark(self, place: Place, message: str, mend: str) -> None:
        """Add a remark at a place."""
        self._found.setdefault(place.path, {})[remark_at(place, message, mend)] = None

    def is_told(self, path: str) -> bool:
        """Return whether a file has a problem already, of which another may be but the consequence."""
        return any(entry.level == "problem" for entry in self._found.get(path, ()))

    def is_full(self, path: str) -> bool:
        """Return whether a file has so many entries already that no more need to be looked for."""
        return len(self._found.get(path, ())) > TOLD_PER_FILE

    def in_order(self) -> tuple[Problem, ...]:
        """Return everything found, sorted by place."""
        told: list[Problem] = []
        for path, found in self._found.items():
            entries = sorted(found, key=lambda problem: (*problem.sort_key, problem.mend))
            told += entries[:TOLD_PER_FILE]
            if len(entries) > TOLD_PER_FILE:
                last = entries[TOLD_PER_FILE]
                place = Place(path=path, line=last.line, column=last.column)
                told.append(problem_at(place, "and more problems from here on", "Mend those above first."))
        return tuple(sorted(told, key=lambda problem: (*problem.sort_key, problem.mend)))


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that a mistyped one most likely means, or None.

    >>> nearest("emulsoin", ["emulsion", "reason"])
    'emulsion'
    """
    matches = difflib.get_close_matches(name.lower()[:100], sorted(known), n=1, cutoff=0.7)
    return matches[0] if matches else None


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """Return "; did you mean `x`?" where a known name lies near, else nothing."""
    match = nearest(name, known)
    return f"; did you mean `{match}`?" if match else ""


def shown(value: object) -> str:
    """Return how a found value is quoted in a message: text and short lists as typed, anything else by its kind.

    >>> shown("eight"), shown(["8", "9"]), shown(["8", ["9"]]), shown(None)
    ("'eight'", '[8, 9]', 'a list', 'nothing')
    """
    if isinstance(value, str):
        text = value if len(value) <= 60 else value[:57] + "..."
        return f"'{text}'"
    if isinstance(value, list):
        is_short = len(value) < 10 and all(isinstance(item, str) and len(item) < 20 for item in value)
        return f"[{', '.join(value)}]" if is_short else "a list"
    return "nothing" if value is None else "keys with values"
