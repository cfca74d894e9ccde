"""What is wrong, or worth knowing, in the content: one record, and how it is said to the tester."""

from dataclasses import dataclass
from typing import Literal

Level = Literal["problem", "remark"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """Where in the content something was written.

    `path` is POSIX and relative to the series folder; `line` and `column` count from 1 (spreadsheets: the sheet's row).
    """

    path: str
    line: int = 1
    column: int = 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Problem:
    """One finding about the content: a problem stops a publish, a remark is shown where it belongs.

    `message` says what was found and what was expected; `mend` is one act that the tester can do.
    """

    level: Level
    path: str
    line: int
    column: int
    message: str
    mend: str

    @property
    def sort_key(self) -> tuple[str, int, int, str, str]:
        """Order by place, then text, so that every run tells problems in the same order."""
        return (self.path, self.line, self.column, self.level, self.message)


def problem_at(place: Place, message: str, mend: str) -> Problem:
    """Return a problem at a place."""
    return Problem(level="problem", path=place.path, line=place.line, column=place.column, message=message, mend=mend)


def remark_at(place: Place, message: str, mend: str) -> Problem:
    """Return a remark at a place."""
    return Problem(level="remark", path=place.path, line=place.line, column=place.column, message=message, mend=mend)
