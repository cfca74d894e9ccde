"""CSV and TSV as spreadsheets really write them: any of three delimiters, any of four encodings, any line ending."""

import codecs
import csv
import io
import re
from typing import Final

from basefog.read.cells import Cell, Row, TableFaultError, check_cell_count

DELIMITERS: Final = {",": "comma", ";": "semicolon", "\t": "tab"}

_SAVE_AS_CSV: Final = "Save it as CSV in UTF-8."
_SEPARATOR_LINE = re.compile(r"\Asep=([,;\t])[ \t]*(?=[\r\n])", re.IGNORECASE)


def parse_delimited(data: bytes, key_column: str, delimiter: str | None) -> tuple[Row, ...]:
    """Return the rows of a CSV or TSV file that have something in them; the first is the header.

    Args:
        data: the file.
        key_column: a name that the header must hold; it tells the delimiter.
        delimiter: the delimiter where the file's name fixes it.

    Raises TableFaultError where the file is no such table or can be read in two ways.
    """
    text = decode_table(data)
    if match := _SEPARATOR_LINE.match(text):
        # A line of its own with which one spreadsheet program tells another its delimiter. Blanked, not cut, so that
        # the lines below keep their numbers.
        delimiter = match[1]
        text = text[match.end() :]
    lines = list(io.StringIO(text, newline=""))
    if delimiter is None:
        delimiter = _find_delimiter(lines, key_column)
    return tuple(_read_rows(lines, delimiter))


def decode_table(data: bytes) -> str:
    """Return the text of a table: UTF-8 with or without a mark, UTF-16, else Windows-1252.

    Raises TableFaultError where it is none of them.
    """
    encoding = "utf-8-sig"
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    elif data[1:2] == b"\0" and data[:1] != b"\0":
        encoding = "utf-16-le"  # no mark, but a table begins with an ASCII letter
    elif data[:1] == b"\0":
        encoding = "utf-16-be"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as fault:
        if encoding != "utf-8-sig":
            raise TableFaultError("is no whole UTF-16 text", _SAVE_AS_CSV) from fault
        text = _decode_windows(data)
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise TableFaultError("found a NUL character, expected a text table", _SAVE_AS_CSV, line)
    return text


def _decode_windows(data: bytes) -> str:
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        found = f"found the byte 0x{data[fault.start]:02x}, expected UTF-8, UTF-16 or Windows-1252 text"
        raise TableFaultError(found, _SAVE_AS_CSV, line) from fault


def _find_delimiter(lines: list[str], key_column: str) -> str:
    for line, header in enumerate(lines, start=1):
        if not header.strip(' \t\r\n,;"'):
            continue
        found = [sign for sign in DELIMITERS if key_column in _names_of(header, sign)]
        if len(found) > 1:
            names = " and ".join(DELIMITERS[sign] for sign in found)
            raise TableFaultError(f"the header can be parted at {names}", "Use one of them between the columns.", line)
        # With no key column under any of them, the most frequent one lets the message name the header's columns.
        return found[0] if found else max(DELIMITERS, key=header.count)
    return ","


def _names_of(header: str, delimiter: str) -> set[str]:
    try:
        names = next(csv.reader([header], delimiter=delimiter), [])
    except csv.Error:
        return set()
    return {name.strip().lower() for name in names} if len(names) > 1 else set()


def _read_rows(lines: list[str], delimiter: str) -> list[Row]:
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    rows: list[Row] = []
    count = 0
    line = 1
    try:
        for values in reader:
            cells = _read_cells(values, lines[line - 1], line, delimiter)
            if cells:
                rows.append(Row(line=line, cells=cells))
            count += len(cells)
            check_cell_count(count, line)
            line = reader.line_num + 1
    except csv.Error as fault:
        message = "a cell is too long" if "limit" in str(fault) else "a quotation mark is out of place or never closed"
        raise TableFaultError(message, "Put the quotation marks right, or take them out.", line) from fault
    return rows


def _read_cells(values: list[str], line_text: str, line: int, delimiter: str) -> dict[int, Cell]:
    filled = [(index, text) for index, value in enumerate(values) if (text := value.strip())]
    columns = _columns_of(line_text, delimiter) if filled else []
    # A row may go on in further lines, inside quotes; what stands there is told at the row's first column.
    return {
        index: Cell(text=text, index=index, line=line, column=columns[index] if index < len(columns) else 1)
        for index, text in filled
    }


def _columns_of(line_text: str, delimiter: str) -> list[int]:
    """Return at which column, counting from 1, each cell of a line begins."""
    columns = [1]
    quoted = False
    for at, sign in enumerate(line_text, start=1):
        if sign == '"':
            quoted = not quoted
        elif sign == delimiter and not quoted:
            columns.append(at + 1)
    return columns
