"""CGATS.17 / ISO 28178 text tables, as densitometers write them.

Grammar as far as it was seen: a first line that names the kind of sheet, keywords with values, a data format, and
data; strings in double or single quotes on one line; keywords without case; the decimal sign is always a point. The
text of the standard itself was not at hand.
"""

import re
from dataclasses import dataclass, field
from typing import Final

from basefog.read.cells import Cell, Row, TableFaultError, check_cell_count
from basefog.read.delimited import decode_table

_TOKEN = re.compile(r"""[ \t]*(?:"([^"]*)"|'([^']*)'|([^\s"']\S*))""")

_OTHER_FIELDS: Final = re.compile(
    r"SAMPLE_NAME|SAMPLE_LOC|STRING|D_(RED|GREEN|BLUE|MAJOR_FILTER)|STDEV_\w+|CHI_SQD_PAR|MEAN_DE"
    r"|(CMYK|CMY|RGB|XYZ|XYY|LAB|LCH|LUV|SPECTRAL|\dCLR)_\w+"
)
"""Fields of the standard that hold something else than visual density; they are no reading columns."""

_ID_FIELDS: Final = {"SAMPLE_ID", "SAMPLEID"}


@dataclass(kw_only=True, slots=True)
class _Sheet:
    """What a file was found to hold so far."""

    fields: list[Cell] | None = None
    rows: list[Row] | None = None
    counts: dict[str, tuple[int, int]] = field(default_factory=dict)


def parse_cgats(data: bytes, key_column: str) -> tuple[Row, ...]:
    """Return the rows of a CGATS file, the header first: `SAMPLE_ID` named as the key column, other fields as they are.

    Fields that hold something else than visual density (colour coordinates, names) are left out.
    Raises TableFaultError where a count does not match or a block is missing.
    """
    lines = re.split(r"\r\n|\r|\n", decode_table(data))
    sheet = _Sheet()
    at = 0
    while at < len(lines):
        at = _read_keyword(lines, at, sheet) + 1
    if sheet.fields is None:
        raise TableFaultError("BEGIN_DATA_FORMAT is missing", "Export the table as CGATS text with its data format.")
    if sheet.rows is None:
        raise TableFaultError("BEGIN_DATA is missing", "Export the table as CGATS text with its data.")
    for word, there, what in (
        ("NUMBER_OF_FIELDS", len(sheet.fields), "fields"),
        ("NUMBER_OF_SETS", len(sheet.rows), "rows"),
    ):
        count, line = sheet.counts.get(word, (there, 1))
        if count != there:
            raise TableFaultError(
                f"{word} is {count}, but there are {there} {what}", "Export the table again, or mend the count.", line
            )
    for row in sheet.rows:
        if len(row.cells) != len(sheet.fields):
            raise TableFaultError(
                f"found {len(row.cells)} values, expected {len(sheet.fields)}, one for each field",
                "Put the row right, with strings that hold blanks in quotes.",
                row.line,
            )
    return _table(sheet.fields, sheet.rows, key_column)


def _read_keyword(lines: list[str], at: int, sheet: _Sheet) -> int:
    """Read the keyword of a line, with its block where it opens one; return the last line that was read."""
    tokens = _split(lines[at], at + 1)
    word = tokens[0][0].upper() if tokens else ""
    if word == "BEGIN_DATA_FORMAT":
        at, rows = _read_block(lines, at, "END_DATA_FORMAT")
        cells = [cell for row in rows for cell in row.cells.values()]
        sheet.fields = [
            Cell(text=cell.text, index=index, line=cell.line, column=cell.column) for index, cell in enumerate(cells)
        ]
    elif word == "BEGIN_DATA":
        if sheet.rows is not None:
            raise TableFaultError("a second table begins here", "Keep one table in a file.", at + 1)
        at, sheet.rows = _read_block(lines, at, "END_DATA")
    elif word in {"NUMBER_OF_FIELDS", "NUMBER_OF_SETS"}:
        value = tokens[1][0] if len(tokens) > 1 else ""
        if not re.fullmatch(r"[0-9]{1,9}", value):
            raise TableFaultError(f"{word}: found '{value[:60]}', expected a count", "Write the count.", at + 1)
        sheet.counts[word] = (int(value), at + 1)
    elif word in {"$INCLUDE", ".INCLUDE"}:
        raise TableFaultError("found an include", "Put the data into this file.", at + 1)
    return at


def _read_block(lines: list[str], begin: int, end_word: str) -> tuple[int, list[Row]]:
    rows: list[Row] = []
    count = 0
    for at in range(begin + 1, len(lines)):
        tokens = _split(lines[at], at + 1)
        word = tokens[0][0].upper() if tokens else ""
        if word == end_word:
            return at, rows
        if word in {"BEGIN_DATA", "BEGIN_DATA_FORMAT", "END_DATA", "END_DATA_FORMAT"}:
            break
        if tokens:
            cells = (
                Cell(text=text, index=index, line=at + 1, column=column) for index, (text, column) in enumerate(tokens)
            )
            rows.append(Row(line=at + 1, cells=dict(enumerate(cells))))
        count += len(tokens)
        check_cell_count(count, at + 1)
    raise TableFaultError(f"{end_word} is missing", f"Close the block with {end_word}.", begin + 1)


def _split(line: str, number: int) -> list[tuple[str, int]]:
    """Return the words of a line with their columns; `#` begins a comment."""
    tokens: list[tuple[str, int]] = []
    at = 0
    line = line.rstrip()
    while at < len(line):
        match = _TOKEN.match(line, at)
        if match is None:
            raise TableFaultError("a quotation mark is never closed", "Close it in the same line.", number)
        double, single, bare = match.groups()
        if bare is not None and bare.startswith("#"):
            break
        text = next(part for part in (double, single, bare) if part is not None)
        tokens.append((text, match.end() - len(match[0].lstrip(" \t")) + 1))
        at = match.end()
    return tokens


def _table(fields: list[Cell], rows: list[Row], key_column: str) -> tuple[Row, ...]:
    names = {cell.text.upper() for cell in fields}
    header: dict[int, Cell] = {}
    for cell in fields:
        name = cell.text.upper()
        if name in _ID_FIELDS:
            # A field named like the key column itself goes before the sample's number.
            if key_column.upper() in names:
                continue
            cell = Cell(text=key_column, index=cell.index, line=cell.line, column=cell.column)  # noqa: PLW2901
        if cell.text and not _OTHER_FIELDS.fullmatch(name):
            header[cell.index] = cell
    body = (
        Row(line=row.line, cells={index: cell for index, cell in row.cells.items() if index in header and cell.text})
        for row in rows
    )
    return (Row(line=fields[0].line if fields else 1, cells=header), *(row for row in body if row.cells))
