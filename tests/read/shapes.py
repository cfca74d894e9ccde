"""One table written in every shape that a tester's programs write."""

import csv
import io
from collections.abc import Sequence

import openpyxl
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

Rows = Sequence[Sequence[str]]


def is_number(text: str) -> bool:
    """Return whether a cell would be stored as a number by a spreadsheet."""
    return text.replace(".", "", 1).removeprefix("-").isdigit()


def delimited(
    rows: Rows,
    *,
    delimiter: str = ",",
    comma: bool = False,
    encoding: str = "utf-8",
    end: str = "\n",
    quote_all: bool = False,
    blank_rows: int = 0,
    blank_columns: int = 0,
) -> bytes:
    """Return a table as text, with blank rows and columns behind it as spreadsheets leave them."""
    file = io.StringIO(newline="")
    writer = csv.writer(
        file, delimiter=delimiter, lineterminator=end, quoting=csv.QUOTE_ALL if quote_all else csv.QUOTE_MINIMAL
    )
    for row in rows:
        cells = [cell.replace(".", ",") if comma and is_number(cell) else cell for cell in row]
        writer.writerow([*cells, *[""] * blank_columns])
    width = len(rows[0]) + blank_columns
    for _ in range(blank_rows):
        writer.writerow([""] * width)
    return file.getvalue().encode(encoding)


def xlsx(rows: Rows, *, blank_rows: int = 0, as_text: bool = False) -> bytes:
    """Return a table as XLSX; blank rows carry a format, as they do where somebody coloured them."""
    book = openpyxl.Workbook()
    sheet = book.active
    for row in rows:
        sheet.append([float(cell) if is_number(cell) and not as_text else cell or None for cell in row])
    for line in range(len(rows) + 1, len(rows) + 1 + blank_rows):
        sheet.cell(line, 1).number_format = "0.00"
    book.create_sheet("second").append(["step", "other"])
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def ods(rows: Rows, *, blank_rows: int = 0) -> bytes:
    """Return a table as ODS, with the repeated blank cells and rows that fill a sheet to its end."""
    document = OpenDocumentSpreadsheet()
    sheet = Table(name="readings")
    document.spreadsheet.addElement(sheet)
    for row in rows:
        line = TableRow()
        sheet.addElement(line)
        for cell in row:
            if is_number(cell):
                line.addElement(TableCell(valuetype="float", value=cell))
            elif cell:
                text = TableCell(valuetype="string")
                text.addElement(P(text=cell))
                line.addElement(text)
            else:
                line.addElement(TableCell())
        line.addElement(TableCell(numbercolumnsrepeated=16384 - len(row)))
    if blank_rows:
        line = TableRow(numberrowsrepeated=blank_rows)
        line.addElement(TableCell(numbercolumnsrepeated=16384))
        sheet.addElement(line)
    file = io.BytesIO()
    document.write(file)
    return file.getvalue()


def cgats(rows: Rows) -> bytes:
    """Return a table as CGATS text: the first column as SAMPLE_ID, blanks as a dash."""
    header = ["SAMPLE_ID", *rows[0][1:]]
    lines = [
        "CGATS.17",
        'ORIGINATOR "bench densitometer"',
        f"NUMBER_OF_FIELDS {len(header)}",
        "BEGIN_DATA_FORMAT",
        "\t".join(header),
        "END_DATA_FORMAT",
        f"NUMBER_OF_SETS {len(rows) - 1}",
        "BEGIN_DATA",
        *("\t".join(f'"{cell}"' if cell == "" else cell for cell in row) for row in rows[1:]),
        "END_DATA",
    ]
    return ("\r\n".join(lines) + "\r\n").encode()
