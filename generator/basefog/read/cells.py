"""A table as cells that know where they stand, whatever shape of file they came from."""

from dataclasses import dataclass
from typing import Final

TABLE_LIMIT: Final = 50_000_000
"""Largest table, in bytes unpacked (contract)."""

CELL_LIMIT: Final = 500_000
"""Most cells with something in them, and most rows times columns that they may span."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """One cell that is not blank.

    `text` is what it holds; a number that a spreadsheet stored is its shortest decimal. `index` counts columns from 0,
    `line` and `column` say where it stands. `stored` tells a spreadsheet's own number, which has no decimal sign to
    doubt. `fault` says why the cell can't be read: what was found there.
    """

    text: str
    index: int
    line: int
    column: int
    stored: bool = False
    fault: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """A row with something in it: its cells by column."""

    line: int
    cells: tuple[Cell, ...]

    def at(self, index: int) -> Cell | None:
        """Return the cell of a column, or None where it is blank."""
        return next((cell for cell in self.cells if cell.index == index), None)


class TableFaultError(Exception):
    """A fault that keeps a whole table from being read, with the line it is in."""

    def __init__(self, message: str, mend: str, line: int = 1, column: int = 1) -> None:
        super().__init__(message)
        self.message, self.mend, self.line, self.column = message, mend, line, column
