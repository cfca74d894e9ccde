"""A table as cells that know where they stand, whatever shape of file they came from."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

TABLE_LIMIT: Final = 50_000_000
"""Largest table, in bytes unpacked (contract)."""

CELL_LIMIT: Final = 100_000
"""Most cells with something in them: far beyond any table of readings."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """One cell that is not blank.

    `text` is what it holds; a number that a spreadsheet stored is its shortest decimal. `index` counts columns from 0,
    `line` and `column` say where it stands. `stored` tells a spreadsheet's own number, which has no decimal sign to
    doubt. `fault` says what was found where a cell can't be read as text or a number.
    """

    text: str
    index: int
    line: int
    column: int
    stored: bool = False
    fault: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """A row with something in it: its cells by column, counting from 0."""

    line: int
    cells: Mapping[int, Cell]


class TableFaultError(Exception):
    """A fault that keeps a whole table from being read, with the line it is in."""

    def __init__(self, message: str, mend: str, line: int = 1) -> None:
        super().__init__(message)
        self.message, self.mend, self.line = message, mend, line


def check_cell_count(count: int, line: int) -> None:
    """Raise TableFaultError where a table has more cells than any table of readings has."""
    if count > CELL_LIMIT:
        raise TableFaultError(f"holds more than {CELL_LIMIT} cells", "Keep only the readings.", line)
