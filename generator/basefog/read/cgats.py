"""CGATS.17 / ISO 28178 text tables, as densitometers write them.

Grammar as far as it was seen: a first line that names the kind of sheet, keywords with values, a data format, and
data; strings in double or single quotes on one line; keywords without case; the decimal sign is always a point. The
text of the standard itself was not at hand.
"""

import re
from typing import Final

from basefog.read.cells import CELL_LIMIT, Cell, Row, TableFaultError
from basefog.read.delimited import decode_table

_TOKEN = re.compile(r"""[ \t]*(?:"([^"]*)"|'([^']*)'|([^\s"']\S*))""")

STANDARD_FIELDS: Final = re.compile(
    r"SAMPLE_NAME|SAMPLE_?ID|SAMPLE_LOC|STRING|D_(RED|GREEN|BLUE|MAJOR_FILTER)|STDEV_\w+|CHI_SQD_PAR|MEAN_DE"
    r"|(CMYK|CMY|RGB|XYZ|XYY|LAB|LCH|LUV|SPECTRAL|\dCLR)_\w+"
)
"""Fields that the standard gives to other things than visual density; they are no reading columns."""

Token = tuple[str, int]


def parse_cgats(data: bytes, key_column: str) -> tuple[Row, ...]:
    """Return the rows of a CGATS file, the header first: `SAMPLE_ID` named as the key column, other fields as they are.

    Fields that hold something else than visual density (colour coordinates, names) are left out.
    Raises TableFaultError where a count does not match or a block is missing.
    """
    lines = decode_table(data).splitlines()
    fields: list[Cell] | None = None
    rows: list[Row] = []
    counts: dict[str, tuple[int, int]] = {}
    at = 0
    sheets = 0
    while at < len(lines):
        tokens = _split(lines[at], at + 1)
        word = tokens[0][0].upper() if tokens else ""
        if word == "BEGIN_DATA_FORMAT":
            at, format_rows = _block(lines, at, "END_DATA_FORMAT")
            fields = [cell for row in format_rows for cell in row.cells]
        elif word == "BEGIN_DATA":
            sheets += 1
            if sheets > 1:
                raise TableFaultError("a second table begins here", "Keep one table a file.", at + 1)
            begin = at + 1
            at, rows = _block(lines, at, "END_DATA")
        elif word in {"NUMBER_OF_FIELDS", "NUMBER_OF_SETS"}:
            counts[word] = (_count(tokens, at + 1), at + 1)
        elif word in {"$INCLUDE", ".INCLUDE"}:
            raise TableFaultError("found an include", "Put the data into this file.", at + 1)
        at += 1
    if fields is None:
        raise TableFaultError("BEGIN_DATA_FORMAT is missing", "Export the table as CGATS text with its data format.")
    if not sheets:
        raise TableFaultError("BEGIN_DATA is missing", "Export the table as CGATS text with its data.")
    _check_counts(counts, len(fields), len(rows))
    for row in rows:
        if len(row.cells) != len(fields):
            raise TableFaultError(
                f"found {len(row.cells)} values, expected {len(fields)}, one a field",
                "Put the row right, strings with blanks in quotes.",
                row.line,
            )
    del begin
    return _table(fields, rows, key_column)


def _table(fields: list[Cell], rows: list[Row], key_column: str) -> tuple[Row, ...]:
    header: list[Cell] = []
    names = {cell.text.upper() for cell in fields}
    own_key = key_column.upper() in names
    for index, cell in enumerate(fields):
        name = cell.text.upper()
        if name in {"SAMPLE_ID", "SAMPLEID"} and not own_key:
            text = key_column
        elif STANDARD_FIELDS.fullmatch(name):
            continue
        else:
            text = cell.text
        header.append(Cell(text=text, index=index, line=cell.line, column=cell.column))
    kept = {cell.index for cell in header}
    body = tuple(Row(line=row.line, cells=tuple(cell for cell in row.cells if cell.index in kept)) for row in rows)
    return (Row(line=fields[0].line if fields else 1, cells=tuple(header)), *body)


def _block(lines: list[str], begin: int, end_word: str) -> tuple[int, list[Row]]:
    rows: list[Row] = []
    count = 0
    for at in range(begin + 1, len(lines)):
        cells = tuple(
            Cell(text=text, index=index, line=at + 1, column=column)
            for index, (text, column) in enumerate(_split(lines[at], at + 1))
        )
        if cells and cells[0].text.upper() == end_word:
            return at, rows
        if cells and cells[0].text.upper().startswith(("BEGIN_DATA", "END_DATA")):
            break
        if cells:
            rows.append(Row(line=at + 1, cells=cells))
        count += len(cells)
        if count > CELL_LIMIT:
            raise TableFaultError(f"holds more than {CELL_LIMIT} cells", "Keep only the readings.", at + 1)
    raise TableFaultError(f"{end_word} is missing", f"Close the block with {end_word}.", begin + 1)


def _split(line: str, number: int) -> list[Token]:
    """Return the words of a line with their columns; `#` begins a comment."""
    tokens: list[Token] = []
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


def _count(tokens: list[Token], line: int) -> int:
    value = tokens[1][0] if len(tokens) > 1 else ""
    if not re.fullmatch(r"[0-9]{1,9}", value):
        raise TableFaultError(f"{tokens[0][0]}: found '{value}', expected a count", "Write the count.", line)
    return int(value)


def _check_counts(counts: dict[str, tuple[int, int]], fields: int, rows: int) -> None:
    for word, there, what in (("NUMBER_OF_FIELDS", fields, "fields"), ("NUMBER_OF_SETS", rows, "rows")):
        if word in counts and counts[word][0] != there:
            count, line = counts[word]
            raise TableFaultError(
                f"{word} is {count}, but there are {there} {what}", "Export the table again, or mend the count.", line
            )
