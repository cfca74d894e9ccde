"""How problems are told: as lines for a person, as entries for a script."""

import json
import unicodedata
from collections.abc import Iterable

from basefog.records.problem import Problem


def escape_controls(text: str) -> str:
    r"""Show control and direction characters as escapes, so that content can't move the cursor or reorder a line.

    >>> escape_controls("a\x1b[2J\u202eb")
    'a\\x1b[2J\\u202eb'
    """
    return "".join(
        character
        if unicodedata.category(character) not in {"Cc", "Cf", "Cs", "Zl", "Zp"}
        else character.encode("unicode_escape").decode("ascii")
        for character in text
    )


def format_problem(problem: Problem) -> str:
    """Return a problem as two lines: where, what kind and what; then how to mend it."""
    place = f"{problem.path}:{problem.line}:{problem.column}"
    return (
        f"{escape_controls(place)}: {problem.level}: {escape_controls(problem.message)}\n"
        f"    {escape_controls(problem.mend)}"
    )


def format_count(problems: Iterable[Problem]) -> str:
    """Return how many problems and remarks there are, in words.

    >>> format_count([])
    'no problems, no remarks'
    """
    levels = [problem.level for problem in problems]
    return ", ".join(_count_words(levels.count(level), level) for level in ("problem", "remark"))


def _count_words(count: int, noun: str) -> str:
    return f"no {noun}s" if count == 0 else f"1 {noun}" if count == 1 else f"{count} {noun}s"


def format_json(problems: Iterable[Problem]) -> str:
    """Return the entries as a JSON list of `{level, path, line, column, message, mend}`."""
    entries = [
        {
            "level": problem.level,
            "path": problem.path,
            "line": problem.line,
            "column": problem.column,
            "message": problem.message,
            "mend": problem.mend,
        }
        for problem in problems
    ]
    return json.dumps(entries, ensure_ascii=False, indent=2)
