"""One table of the content folder, whichever of its shapes it comes in, and the numbers in its cells."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Final

from basefog.read.cells import TABLE_LIMIT, Cell, Row, TableFaultError
from basefog.read.cgats import parse_cgats
from basefog.read.delimited import parse_delimited
from basefog.read.fields import TEXT_LIMIT, canonical_id, is_id, parse_number
from basefog.read.folder import Entry, SeriesFolder
from basefog.read.problem_list import ProblemList, did_you_mean, nearest, shown
from basefog.read.sheets import parse_sheet
from basefog.read.text import is_usable
from basefog.records.content import InputFile
from basefog.records.problem import Place

SUFFIXES: Final = (".csv", ".tsv", ".xlsx", ".ods", ".cgats.txt")
DENSITY_LIMIT: Final = 6.0

_NOT_READ = {"-", "–", "—", "−"}
_WITH_COMMA = re.compile(r"[+\-−–]?[0-9]*,[0-9]+")
_WITH_POINT = re.compile(r"[+\-−–]?[0-9]*\.[0-9]+")
_DENSITY = re.compile(r"[+\-−]?(?:(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,30})?|\.[0-9]{1,30})")


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A table with its header taken off. `names` are the columns by name, lower-case; `comma` is its decimal sign."""

    input: InputFile
    header: Row
    names: Mapping[str, int]
    rows: tuple[Row, ...]
    comma: bool

    def place(self, cell: Cell | Row | None = None) -> Place:
        """Return where a cell or row stands; the header without either."""
        if isinstance(cell, Cell):
            return Place(path=self.input.path, line=cell.line, column=cell.column)
        return Place(path=self.input.path, line=(cell or self.header).line)

    def heading(self, index: int) -> str:
        """Return the heading of a column as typed."""
        cell = self.header.at(index)
        return cell.text if cell else ""

    def cell(self, row: Row, name: str) -> Cell | None:
        """Return the cell of a named column that was read: not blank, not a dash."""
        index = self.names.get(name)
        return None if index is None else read_cell(row.at(index))

    def text(self, cell: Cell) -> str:
        """Return a cell's text with a decimal point."""
        return cell.text.replace(",", ".") if self.comma and not cell.stored else cell.text

    def id_of(self, cell: Cell) -> str:
        """Return a cell's text as an id."""
        return canonical_id(self.text(cell))


def read_cell(cell: Cell | None) -> Cell | None:
    """Return a cell unless it says "not read"."""
    return None if cell is None or cell.text in _NOT_READ else cell


def suffix_of(name: str) -> str | None:
    """Return the suffix of a table's file name, or None where it is no table."""
    return next((suffix for suffix in SUFFIXES if name.endswith(suffix) and name != suffix), None)


def find_tables(folder: SeriesFolder, path: str, problems: ProblemList) -> dict[str, Entry]:
    """Return the tables of a folder by their name without suffix; two files for one table are a problem."""
    tables: dict[str, Entry] = {}
    for entry in folder.list(path):
        suffix = suffix_of(entry.name)
        if entry.is_folder or suffix is None:
            continue
        stem = entry.name.removesuffix(suffix)
        if stem in tables:
            problems.problem(
                Place(path=entry.path),
                f"{tables[stem].name} holds the same table",
                "Keep one of the two files.",
            )
        else:
            tables[stem] = entry
    return tables


def read_table(folder: SeriesFolder, entry: Entry, key_column: str, problems: ProblemList) -> Table | None:
    """Return a table whose rows are named by `key_column`; problems and None where it can't be read."""
    file = folder.read_file(entry, TABLE_LIMIT, "a table")
    if file is None:
        return None
    try:
        rows = _parse(file.data, entry.name, key_column)
    except TableFaultError as fault:
        problems.problem(Place(path=entry.path, line=fault.line, column=fault.column), fault.message, fault.mend)
        return None
    if not rows:
        problems.problem(
            Place(path=entry.path), "the table is empty", f"Give it a header row that begins with `{key_column}`."
        )
        return None
    names = _check_header(rows[0], entry.path, problems)
    table = Table(
        input=InputFile(path=entry.path, sha256=file.sha256),
        header=rows[0],
        names=names,
        rows=rows[1:],
        comma=False,
    )
    complete = require_columns(table, problems, key_column)
    if not (_check_width(table, problems) and complete):
        return None
    return _with_decimal_sign(table, problems, key_column)


def require_columns(table: Table, problems: ProblemList, *names: str) -> bool:
    """Return whether a table has these columns; a problem for each that it has not."""
    missing = [name for name in names if name not in table.names]
    for name in missing:
        hint = nearest(name, table.names)
        problems.problem(
            table.place(),
            f"the column `{name}` is missing" + (f"; is `{hint}` meant for it?" if hint else ""),
            f"Head a column `{name}`.",
        )
    return not missing


def parse_density(text: str) -> float | None:
    """Return a plain decimal as a density is typed, or None; `06` is none, since it is half of a decimal comma.

    >>> parse_density("0.42"), parse_density("1e-1"), parse_density("06")
    (0.42, None, None)
    """
    return parse_number(text) if _DENSITY.fullmatch(text) else None


def read_number(
    table: Table, cell: Cell, what: str, low: float, high: float, problems: ProblemList, *, fractions: bool = False
) -> float | None:
    """Return a cell's number from `low` to `high`; a problem and None where it is none."""
    text = table.text(cell)
    value = None if cell.fault else (parse_number(text) if fractions else parse_density(text))
    if value is not None and low <= value <= high:
        return value
    tell_cell(table, cell, what, problems)
    return None


def tell_cell(table: Table, cell: Cell, what: str, problems: ProblemList) -> None:
    """Add the problem of a cell that is not what its column expects."""
    found = cell.fault or shown(cell.text)
    mend = "Correct the cell."
    if cell.fault == "a date or a time":
        mend = "Format the column as text and type the value again."
    elif cell.fault == "a formula without a stored value":
        mend = "Open the file in the spreadsheet program and save it, or put the value in place of the formula."
    elif re.fullmatch(r"0[0-9]+", cell.text):
        mend = "Correct the cell; if decimal commas are meant, part the columns by semicolons."
    problems.problem(table.place(cell), f"{table.heading(cell.index)}: found {found}, expected {what}", mend)


def read_id(table: Table, row: Row, key_column: str, problems: ProblemList) -> tuple[str, Cell] | None:
    """Return the id that names a row, and its cell; a problem and None where there is none."""
    cell = row.at(table.names[key_column])
    if cell is None:
        if any(read_cell(other) for other in row.cells):
            problems.problem(
                table.place(row), f"a row without a {key_column}", f"Name its {key_column}, or empty the row."
            )
        return None
    if cell.fault or not is_id(table.id_of(cell)):
        tell_cell(table, cell, "a short word or a number", problems)
        return None
    return table.id_of(cell), cell


def _parse(data: bytes, name: str, key_column: str) -> tuple[Row, ...]:
    suffix = suffix_of(name)
    if suffix in {".xlsx", ".ods"}:
        return parse_sheet(data)
    if suffix == ".cgats.txt":
        return parse_cgats(data, key_column)
    return parse_delimited(data, (key_column,), "\t" if suffix == ".tsv" else None)


def _check_header(header: Row, path: str, problems: ProblemList) -> dict[str, int]:
    names: dict[str, int] = {}
    for cell in header.cells:
        place = Place(path=path, line=cell.line, column=cell.column)
        if cell.fault or not is_usable(cell.text) or len(cell.text) > TEXT_LIMIT or "\n" in cell.text:
            problems.problem(
                place,
                f"found {cell.fault or shown(cell.text)}, expected a heading on one line, of at most {TEXT_LIMIT} characters",
                "Write a short heading.",
            )
            continue
        name = canonical_id(cell.text)
        if name in names:
            problems.problem(place, f"two columns are headed `{cell.text}`", "Give each column a heading of its own.")
        names.setdefault(name, cell.index)
    return names


def _check_width(table: Table, problems: ProblemList) -> bool:
    headed = {cell.index for cell in table.header.cells}
    outside = [
        (row, cell)
        for row in table.rows
        for cell in row.cells
        if cell.index not in headed and (cell.fault or cell.text)
    ]
    rows = {row.line for row, _ in outside}
    if not outside:
        return True
    more = f" (so do {len(rows) - 1} more rows)" if len(rows) > 1 else ""
    problems.problem(
        table.place(outside[0][1]),
        f"the row has more cells than the header{more}",
        "Head the column, or empty the cells; decimal commas need semicolons or tabs between the columns.",
    )
    return False


def _with_decimal_sign(table: Table, problems: ProblemList, key_column: str) -> Table | None:
    key = table.names[key_column]
    cells = [cell for row in table.rows for cell in row.cells if cell.index != key and not cell.stored]
    commas = [cell for cell in cells if _WITH_COMMA.fullmatch(cell.text)]
    points = [cell for cell in cells if _WITH_POINT.fullmatch(cell.text)]
    if commas and points:
        fewer, sign = (commas, "point") if len(commas) <= len(points) else (points, "comma")
        problems.problem(
            table.place(fewer[0]),
            f"found {shown(fewer[0].text)} in a file whose decimal sign is the {sign}",
            "Use one decimal sign in the whole file.",
        )
        return None
    if not commas:
        return table
    return Table(input=table.input, header=table.header, names=table.names, rows=table.rows, comma=True)


def undeclared(name: str, what: str, known: Collection[str]) -> str:
    """Return the message about an id that nothing declares."""
    hint = did_you_mean(name, known) if not name[:1].isdigit() else ""
    return f"{what} `{name}` is not declared{hint}"
