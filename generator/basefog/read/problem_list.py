"""Gathers the problems and remarks of one reading, so that all are told at once and in one order."""

import difflib
from collections.abc import Iterable

from basefog.records.problem import Place, Problem, problem_at, remark_at


class ProblemList:
    """Every problem and remark found so far; the same one is kept once."""

    def __init__(self) -> None:
        self._found: dict[Problem, None] = {}

    def problem(self, place: Place, message: str, mend: str) -> None:
        """Add a problem at a place."""
        self._found[problem_at(place, message, mend)] = None

    def remark(self, place: Place, message: str, mend: str) -> None:
        """Add a remark at a place."""
        self._found[remark_at(place, message, mend)] = None

    def tells(self, path: str) -> bool:
        """Return whether anything was found in a file so far."""
        return any(problem.path == path for problem in self._found)

    def __len__(self) -> int:
        return len(self._found)

    def in_order(self) -> tuple[Problem, ...]:
        """Return everything found, sorted by place."""
        return tuple(sorted(self._found, key=lambda problem: (*problem.sort_key, problem.mend)))


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
    """Return how a found value is quoted in a message: text in quotes and cut, anything else by its kind.

    >>> shown("eight"), shown(["8"]), shown(None)
    ("'eight'", 'a list', 'nothing')
    """
    if isinstance(value, str):
        text = value if len(value) <= 60 else value[:57] + "..."
        return f"'{text}'"
    if isinstance(value, list):
        return "a list"
    return "nothing" if value is None else "keys with values"
