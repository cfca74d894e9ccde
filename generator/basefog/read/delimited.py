"""CSV and TSV as spreadsheets really write them: any of three delimiters, any of four encodings, any line ending."""

import codecs
import csv
import io
import re
from collections.abc import Collection
from typing import Final

from basefog.read.cells import CELL_LIMIT, Cell, Row, TableFaultError

DELIMITERS: Final = {",": "comma", ";": "semicolon", "\t": "tab"}

_SEPARATOR_LINE = re.compile(r"\Asep=([,;\t])\s*(?:\r\n|\r|\n)", re.IGNORECASE)


def parse_delimited(data: bytes, key_columns: Collection[str], delimiter: str | None) -> tuple[Row, ...]:
    """Return the rows of a CSV or TSV file that have something in them; the first is the header.

    Args:
        data: the file.
        key_columns: names of which the header must hold one; they tell the delimiter.
        delimiter: the delimiter where the file's name fixes it.

    Raises TableFaultError where the file is no such table or can be read in two ways.
    """
    text = decode_table(data)
    if match := _SEPARATOR_LINE.match(text):
        delimiter = match[1]
        # Kept as a blank line, so that the lines below keep their numbers.
        text = "\n" + text[match.end() :]
    lines = _split_lines(text)
    if delimiter is None:
        delimiter = _find_delimiter(lines, key_columns)
    return tuple(_read_rows(lines, delimiter))


def decode_table(data: bytes) -> str:
    """Return the text of a table: UTF-8 with or without a mark, UTF-16, else Windows-1252.

    Raises TableFaultError where it is none of them.
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    elif data[1:2] == b"\0" and data[:1] != b"\0":
        encoding = "utf-16-le"  # no mark, but a table begins with an ASCII letter
    elif data[:1] == b"\0":
        encoding = "utf-16-be"
    else:
        encoding = "utf-8-sig"
    mend = "Save it as CSV in UTF-8."
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as fault:
        if encoding != "utf-8-sig":
            raise TableFaultError("is no whole UTF-16 text", mend) from fault
        try:
            text = data.decode("cp1252")
        except UnicodeDecodeError as second:
            line = data.count(b"\n", 0, second.start) + 1
            message = f"found the byte 0x{data[second.start]:02x}, expected UTF-8, UTF-16 or Windows-1252 text"
            raise TableFaultError(message, mend, line) from second
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise TableFaultError("found a NUL character, expected a text table", mend, line)
    return text


def _split_lines(text: str) -> list[str]:
    """Return lines with their ends; only line feeds and carriage returns end a line."""
    return list(io.StringIO(text, newline=""))


def _find_delimiter(lines: list[str], key_columns: Collection[str]) -> str:
    header = next((line for line in lines if line.strip(" \t\r\n,;\"'")), "")
    line = lines.index(header) + 1 if header else 1
    found = [sign for sign in DELIMITERS if _names_of(header, sign) & set(key_columns)]
    if len(found) > 1:
        names = " and ".join(DELIMITERS[sign] for sign in found)
        raise TableFaultError(
            f"the header can be parted at {names}", "Use one of them alone between the columns.", line
        )
    if found:
        return found[0]
    # No key column under any of them: the most frequent one lets the message about the header name its columns.
    return max(DELIMITERS, key=header.count)


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
            if count > CELL_LIMIT:
                raise TableFaultError(f"holds more than {CELL_LIMIT} cells", "Keep only the readings.", line)
            line = reader.line_num + 1
    except csv.Error as fault:
        what = "a quotation mark is never closed" if "end of data" in str(fault) else "a quotation mark is out of place"
        if "field limit" in str(fault) or "larger" in str(fault):
            what = "a cell is too long"
        raise TableFaultError(what, "Put the quotation marks right, or take them out.", line) from fault
    return rows


def _read_cells(values: list[str], line_text: str, line: int, delimiter: str) -> tuple[Cell, ...]:
    filled = [(index, text) for index, value in enumerate(values) if (text := value.strip())]
    if not filled:
        return ()
    columns = _columns_of(line_text, delimiter)
    return tuple(
        Cell(text=text, index=index, line=line, column=columns[index] if index < len(columns) else 1)
        for index, text in filled
    )


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
