"""One table of the content folder, whichever of its shapes it comes in, and the numbers in its cells."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
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

_NOT_READ: Final = {"-", "–", "—", "−"}
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
    comma: bool = False

    def place(self, where: Cell | Row | None = None) -> Place:
        """Return where a cell or row stands; the header without either."""
        if isinstance(where, Cell):
            return Place(path=self.input.path, line=where.line, column=where.column)
        return Place(path=self.input.path, line=(where or self.header).line)

    def heading(self, index: int) -> str:
        """Return the heading of a column as typed."""
        return self.header.cells[index].text

    def cell(self, row: Row, name: str) -> Cell | None:
        """Return the cell of a named column that was read: not blank, not a dash."""
        return read_cell(row, self.names[name]) if name in self.names else None

    def text(self, cell: Cell) -> str:
        """Return a cell's text with a decimal point."""
        return cell.text.replace(",", ".") if self.comma and not cell.stored else cell.text


def read_cell(row: Row, index: int) -> Cell | None:
    """Return the cell of a column, None where it is blank or says "not read"."""
    cell = row.cells.get(index)
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
            problems.problem(entry.place, f"{tables[stem].name} holds the same table", "Keep one of the two files.")
        else:
            tables[stem] = entry
    return tables


def read_table(
    folder: SeriesFolder, entry: Entry, key_column: str, problems: ProblemList, *, same_headings: bool = False
) -> Table | None:
    """Return a table whose rows are named by `key_column`; problems and None where it can't be read.

    Args:
        folder: the series.
        entry: the file.
        key_column: name of the column that every row must fill.
        problems: where faults go.
        same_headings: whether several columns may be headed alike, as replicates are.
    """
    file = folder.read_file(entry, TABLE_LIMIT, "a table")
    if file is None:
        return None
    try:
        rows = _parse(file.data, entry.name, key_column)
    except TableFaultError as fault:
        problems.problem(Place(path=entry.path, line=fault.line), fault.message, fault.mend)
        return None
    if not rows:
        problems.problem(entry.place, "the table is empty", f"Give it a header that begins with `{key_column}`.")
        return None
    before = problems.count
    names = _check_header(rows[0], entry.path, problems, same_headings=same_headings)
    table = Table(input=InputFile(path=entry.path, sha256=file.sha256), header=rows[0], names=names, rows=rows[1:])
    require_columns(table, problems, key_column)
    _check_width(table, problems)
    return _with_decimal_sign(table, problems, key_column) if problems.count == before else None


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


def tell_other_columns(table: Table, known: Collection[str], problems: ProblemList) -> None:
    """Add a problem for each column that has no meaning in this kind of table."""
    for name, index in table.names.items():
        if name not in known:
            problems.problem(
                table.place(table.header.cells[index]),
                f"found the column `{table.heading(index)}`, expected {', '.join(sorted(known))}",
                "Correct the heading, or take the column out.",
            )


def parse_density(text: str) -> float | None:
    """Return a plain decimal as a density is typed, or None; `06` is none, since it is half of a decimal comma.

    >>> parse_density("0.42"), parse_density("1e-1"), parse_density("06")
    (0.42, None, None)
    """
    return parse_number(text) if _DENSITY.fullmatch(text) else None


def read_number(
    table: Table, cell: Cell, what: str, bounds: tuple[float, float], problems: ProblemList
) -> float | None:
    """Return a cell's number, decimal or fraction, within bounds; a problem and None where it is none."""
    value = None if cell.fault else parse_number(table.text(cell))
    if value is not None and bounds[0] <= value <= bounds[1]:
        return value
    tell_cell(table, cell, what, problems)
    return None


def read_scaled(table: Table, cell: Cell, problems: ProblemList) -> float | None:
    """Return a cell's number as a density that may turn out to be none; a problem and None where it can't be one."""
    value = None if cell.fault else parse_density(table.text(cell))
    if value is None or value < 0:
        tell_cell(table, cell, "a density from 0 to 6", problems)
        return None
    return value


def tell_cell(table: Table, cell: Cell, what: str, problems: ProblemList) -> None:
    """Add the problem of a cell that is not what its column expects."""
    found = cell.fault or shown(cell.text)
    mend = "Correct the cell."
    if cell.fault == "a date or a time":
        mend = "Format the column as text and type the value again."
    elif cell.fault is not None:
        mend = "Put the value itself into the cell, and save the file in the spreadsheet program."
    elif re.fullmatch(r"0[0-9]+", cell.text):
        mend = "Correct the cell; where decimal commas are meant, put semicolons between the columns."
    problems.problem(table.place(cell), f"{table.heading(cell.index)}: found {found}, expected {what}", mend)


def read_id(table: Table, row: Row, key_column: str, problems: ProblemList) -> tuple[str, Cell] | None:
    """Return the id that names a row, and its cell; a problem and None where there is none."""
    cell = table.cell(row, key_column)
    if cell is None:
        if any(read_cell(row, index) for index in row.cells):
            problems.problem(table.place(row), f"a row without a {key_column}", f"Name its {key_column}, or empty it.")
        return None
    name = canonical_id(table.text(cell))
    if cell.fault or not is_id(name):
        tell_cell(table, cell, "a short word or a number", problems)
        return None
    return name, cell


def undeclared(name: str, what: str, known: Collection[str]) -> str:
    """Return the message about an id that nothing declares; numbers lie near each other and hint at nothing."""
    return f"{what} `{name}`" + ("" if name[0].isdigit() else did_you_mean(name, known))


def _parse(data: bytes, name: str, key_column: str) -> tuple[Row, ...]:
    suffix = suffix_of(name)
    if suffix in {".xlsx", ".ods"}:
        return parse_sheet(data)
    if suffix == ".cgats.txt":
        return parse_cgats(data, key_column)
    return parse_delimited(data, key_column, "\t" if suffix == ".tsv" else None)


def _check_header(header: Row, path: str, problems: ProblemList, *, same_headings: bool) -> dict[str, int]:
    names: dict[str, int] = {}
    for cell in header.cells.values():
        place = Place(path=path, line=cell.line, column=cell.column)
        if cell.fault or not is_usable(cell.text) or len(cell.text) > TEXT_LIMIT or "\n" in cell.text:
            problems.problem(
                place,
                f"found {cell.fault or shown(cell.text)}, expected one line of at most {TEXT_LIMIT} characters",
                "Write a short heading.",
            )
            continue
        name = canonical_id(cell.text)
        if name in names and not same_headings:
            problems.problem(place, f"two columns are headed `{cell.text}`", "Give each column a heading of its own.")
        names.setdefault(name, cell.index)
    return names


def _check_width(table: Table, problems: ProblemList) -> None:
    outside = [cell for row in table.rows for index, cell in row.cells.items() if index not in table.header.cells]
    if not outside:
        return
    others = len({cell.line for cell in outside}) - 1
    more = f", and so have {others} more rows" if others else ""
    problems.problem(
        table.place(outside[0]),
        f"the row has more cells than the header{more}",
        "Head the column, or empty the cells; decimal commas need semicolons or tabs between the columns.",
    )


def _with_decimal_sign(table: Table, problems: ProblemList, key_column: str) -> Table | None:
    key = table.names[key_column]
    cells = [cell for row in table.rows for index, cell in row.cells.items() if index != key and not cell.stored]
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
    return replace(table, comma=bool(commas))
