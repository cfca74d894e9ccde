"""Spreadsheets: what is stored is read, what is not is told, and no file makes the reader ask for more room."""

import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from basefog.read.cells import TableFaultError
from basefog.read.sheets import parse_sheet
from read.shapes import ods, xlsx
from read.valid_series import WEDGE, read_with
from read.valid_series import told as entries_of

ROWS = [["step", "D"], ["1", "1.42"], ["2", "1.24"]]


def changed(data: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    """Return a package with one member changed."""
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            content = old.read(info)
            new.writestr(info.filename, change(content) if info.filename == name else content)
    return file.getvalue()


def sheet_with(old: bytes, new: bytes) -> bytes:
    """Return an XLSX whose first sheet is changed."""
    return changed(xlsx(ROWS), "xl/worksheets/sheet1.xml", lambda content: content.replace(old, new, 1))


def content_with(old: bytes, new: bytes) -> bytes:
    """Return an ODS whose content is changed."""
    return changed(ods(ROWS), "content.xml", lambda content: content.replace(old, new, 1))


def told(data: bytes) -> list[str]:
    """Return each cell as text or fault."""
    return [cell.fault or cell.text for row in parse_sheet(data) for cell in row.cells.values()]


CELL = b'<c r="B2" t="n"><v>1.42</v></c>'
ODS_CELL = b'<table:table-cell office:value-type="float" office:value="1.42"/>'


def test_the_samples_hold_the_cells_that_are_changed() -> None:
    """What the tests below replace is there."""
    assert sheet_with(CELL, b"") != xlsx(ROWS)
    assert told(sheet_with(CELL, b"")) == ["step", "D", "1", "2", "1.24"]
    assert told(content_with(ODS_CELL, b"<table:table-cell/>")) == ["step", "D", "1", "2", "1.24"]


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        (b'<c r="B2"><f>B3+1</f><v>1.42</v></c>', "1.42"),
        (b'<c r="B2"><f>B3+1</f></c>', "a formula without a stored value"),
        (b'<c r="B2"><f>B3+1</f><v></v></c>', "a formula without a stored value"),
        (b'<c r="B2" t="b"><v>1</v></c>', "true or false"),
        (b'<c r="B2" t="e"><v>#DIV/0!</v></c>', "an error value"),
        (b'<c t="inlineStr"><is><t> 1,42 </t></is></c>', "1,42"),
        (b'<c r="B2"><v>0.41999999999999998</v></c>', "0.42"),
        (b'<c r="B2"><v>1E-2</v></c>', "0.01"),
        (b'<c r="B2"><v>2</v></c>', "2"),
    ],
)
def test_cells_of_xlsx(cell: bytes, expected: str) -> None:
    """A stored number is its shortest decimal; what is no text or number is told."""
    assert told(sheet_with(CELL, cell)) == ["step", "D", "1", expected, "2", "1.24"]


def test_a_formula_that_gives_no_text_is_blank() -> None:
    """A formula whose stored value is the empty text has a value: it reads as blank."""
    assert told(sheet_with(CELL, b'<c r="B2" t="str"><f>""</f><v></v></c>')) == ["step", "D", "1", "2", "1.24"]


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        (b'<table:table-cell table:formula="of:=1" office:value-type="float" office:value="1"/>', "1"),
        (b'<table:table-cell table:formula="of:=1"/>', "a formula without a stored value"),
        (b'<table:table-cell office:value-type="date" office:date-value="2026-03-01"/>', "a date or a time"),
        (b'<table:table-cell office:value-type="boolean" office:boolean-value="true"/>', "true or false"),
    ],
)
def test_cells_of_ods(cell: bytes, expected: str) -> None:
    """Formulas, dates and truth values of ODS are told as those of XLSX."""
    assert told(content_with(ODS_CELL, cell)) == ["step", "D", "1", expected, "2", "1.24"]


def bomb() -> bytes:
    """Return a small package that unpacks to 60 MB."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("xl/workbook.xml", bytes(60_000_000))
    return file.getvalue()


def lying_bomb() -> bytes:
    """Return a package whose directory claims one byte for a member of 60 MB."""
    size = (60_000_000).to_bytes(4, "little")
    return bomb().replace(size, (1).to_bytes(4, "little"))


def many_members() -> bytes:
    """Return a package of more members than any spreadsheet has."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as package:
        for number in range(10_001):
            package.writestr(str(number), b"")
    return file.getvalue()


def elsewhere() -> bytes:
    """Return an XLSX whose first sheet, with a far-away cell, is kept where no sheet is."""
    data = sheet_with(CELL, b'<c r="XFD1048576"><v>1</v></c>')
    data = changed(data, "xl/_rels/workbook.xml.rels", lambda xml: xml.replace(b"worksheets/sheet1", b"elsewhere"))
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        sheet = old.read("xl/worksheets/sheet1.xml")
    file = io.BytesIO(changed(data, "xl/worksheets/sheet1.xml", lambda _: b"<worksheet/>"))
    with zipfile.ZipFile(file, "a") as package:
        package.writestr("xl/elsewhere.xml", sheet)
    return file.getvalue()


def nothing_known() -> bytes:
    """Return a package of pictures."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as package:
        package.writestr("picture.png", b"")
    return file.getvalue()


def without_relations() -> bytes:
    """Return an XLSX that does not say where its sheets are."""
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(xlsx(ROWS))) as old, zipfile.ZipFile(file, "w") as new:
        for info in old.infolist():
            if not info.filename.endswith("workbook.xml.rels"):
                new.writestr(info.filename, old.read(info))
    return file.getvalue()


DAMAGED = "can't be unpacked: it is damaged, locked or no spreadsheet"
FAR = "the cells lie too far apart"
MANY = "holds more than 100000 cells"
REPEATED = b'<table:table-row table:number-rows-repeated="%d"><table:table-cell office:value-type="float"'
SPREAD = b' table:number-columns-repeated="%d" office:value="1"/></table:table-row></table:table>'
LOL = b'<!DOCTYPE x [<!ENTITY a "lol"><!ENTITY b "&a;&a;">]>'


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", DAMAGED),
        (xlsx(ROWS)[:400], DAMAGED),
        (bomb(), "unpacks to more than 50 MB"),
        (lying_bomb(), DAMAGED),
        (many_members(), "holds 10001 files, expected at most 10000"),
        (sheet_with(CELL, b'<c r="XFD1048576"><v>1</v></c>'), FAR),
        (sheet_with(CELL, b'<c r="B1048577"><v>1</v></c>'), FAR),
        (sheet_with(CELL, b'<c r="XFD1048576" t="b"><v></v></c>'), FAR),
        (elsewhere(), FAR),
        (sheet_with(CELL, b'<c r="b2"><v>1</v></c>'), "holds broken XML"),
        (sheet_with(CELL, b'<c r="AAAA2"><v>1</v></c>'), "holds broken XML"),
        (sheet_with(b'<row r="2"', b'<row r="-2"'), "holds broken XML"),
        (sheet_with(CELL, b"<c>"), "holds broken XML"),
        (
            changed(xlsx(ROWS), "xl/worksheets/sheet1.xml", lambda xml: LOL + xml),
            "declares a document type, which no spreadsheet needs",
        ),
        (changed(xlsx(ROWS), "xl/workbook.xml", lambda _: b"<workbook/>"), "can't be read as a spreadsheet"),
        (
            changed(xlsx(ROWS), "xl/workbook.xml", lambda xml: xml.replace(b"<sheet ", b"<none ")),
            "can't be read as a spreadsheet",
        ),
        (nothing_known(), "is neither an XLSX nor an ODS file"),
        (without_relations(), "can't be read as a spreadsheet"),
        (
            content_with(ODS_CELL, b"<table:table-cell><table:table/></table:table-cell>"),
            "holds a table within a table",
        ),
        (content_with(b"</table:table>", REPEATED % 1_000_000 + SPREAD % 1), MANY),
        (content_with(b"</table:table>", REPEATED % 300 + SPREAD % 3), None),
        (content_with(b"</table:table>", REPEATED % 1 + SPREAD % 100_001), MANY),
    ],
)
def test_hostile_packages(data: bytes, message: str | None) -> None:
    """Packages that are broken, or would unpack or spread beyond all bounds, are refused before they do."""
    if message is None:
        assert parse_sheet(data)
        return
    with pytest.raises(TableFaultError) as fault:
        parse_sheet(data)

    assert fault.value.message == message
    assert fault.value.mend


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        (
            b'<table:table-cell office:value-type="date" office:date-value="2026-03-01"/>',
            (
                "first: found a date or a time, expected a density from 0 to 6"
                " | Format the column as text and type the value again."
            ),
        ),
        (
            b'<table:table-cell table:formula="of:=1"/>',
            (
                "first: found a formula without a stored value, expected a density from 0 to 6"
                " | Put the value itself into the cell, and save the file in the spreadsheet program."
            ),
        ),
    ],
)
def test_what_is_told_of_a_cell(tmp_path: Path, cell: bytes, expected: str) -> None:
    """A date and a formula without a value are told at the sheet's row and column."""
    rows = [line.split(",") for line in WEDGE.strip().split("\n")]
    old = b'<table:table-cell office:value-type="float" office:value="1.24"/>'
    sheet = changed(ods(rows), "content.xml", lambda content: content.replace(old, cell, 1))
    path = "stocks/tern-100/2026-03-14/wedge"

    reading = read_with(tmp_path, {f"{path}.csv": None, f"{path}.ods": sheet})

    assert entries_of(reading) == [f"{path}.ods:3:2: problem: {expected}"]
