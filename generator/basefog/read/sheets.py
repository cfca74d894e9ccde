"""XLSX and ODS tables: the first sheet, its values as stored.

python-calamine reads the cells; before it may, the package is unpacked under a bound and its XML looked through, since
a few bytes of a zip or one far-away cell could ask for any amount of memory, and since calamine does not tell a
formula without a stored value from an empty cell.
"""

import io
import posixpath
import zipfile
import zlib
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Final
from xml.parsers import expat

from basefog.read.cells import CELL_LIMIT, TABLE_LIMIT, Cell, Row, TableFaultError

_MEMBER_LIMIT: Final = 10_000
_SPAN_LIMIT: Final = 4 * CELL_LIMIT
_DAMAGED: Final = "Open it in the spreadsheet program and save it again, or save it as CSV."


def parse_sheet(data: bytes) -> tuple[Row, ...]:
    """Return the rows of the first sheet that have something in them; the first is the header.

    Raises TableFaultError where the file is no XLSX or ODS file, or asks for more than a table may.
    """
    members = _unpack(data)
    if "content.xml" in members:
        faults = _look_through_ods(members["content.xml"])
    elif "xl/workbook.xml" in members:
        first = _first_sheet(members)
        faults = {}
        for name in sorted(members):
            if name.startswith("xl/worksheets/") and name.endswith(".xml"):
                found = _look_through_xlsx(members[name])
                faults = found if name == first else faults
    else:
        raise TableFaultError("is neither an XLSX nor an ODS file", _DAMAGED)
    return _rows(_read_values(members), faults)


def _unpack(data: bytes) -> dict[str, bytes]:
    """Return the members of a zip, unpacked under the bound whatever sizes it claims."""
    members: dict[str, bytes] = {}
    left = TABLE_LIMIT
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            infos = package.infolist()
            if len(infos) > _MEMBER_LIMIT:
                raise TableFaultError(f"holds {len(infos)} files, expected at most {_MEMBER_LIMIT}", _DAMAGED)
            for info in infos:
                if info.is_dir():
                    continue
                with package.open(info) as member:
                    members[info.filename] = member.read(left + 1)
                left -= len(members[info.filename])
                if left < 0:
                    raise TableFaultError(
                        f"unpacks to more than {TABLE_LIMIT // 1_000_000} MB", "Save the readings alone, as CSV."
                    )
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError) as fault:
        raise TableFaultError("can't be unpacked: it is damaged, locked or no spreadsheet", _DAMAGED) from fault
    return members


def _read_values(members: Mapping[str, bytes]) -> list[list[object]]:
    # Imported here: only series with spreadsheets pay for it.
    import python_calamine

    packed = io.BytesIO()
    # Packed anew from what was looked through, so that both readers see the same bytes.
    with zipfile.ZipFile(packed, "w") as package:
        for name, content in members.items():
            package.writestr(zipfile.ZipInfo(name), content)
    packed.seek(0)
    try:
        workbook = python_calamine.CalamineWorkbook.from_filelike(packed)
        return list(workbook.get_sheet_by_index(0).to_python(skip_empty_area=False))
    except (python_calamine.CalamineError, OSError, ValueError, IndexError) as fault:
        raise TableFaultError("can't be read as a spreadsheet", _DAMAGED) from fault


def _rows(values: list[list[object]], faults: Mapping[tuple[int, int], str]) -> tuple[Row, ...]:
    filled: dict[int, dict[int, Cell]] = {}
    for line, row in enumerate(values, start=1):
        for index, value in enumerate(row):
            if (cell := _cell(value, line, index)) is not None:
                filled.setdefault(line, {})[index] = cell
    for (line, index), fault in faults.items():
        filled.setdefault(line, {})[index] = Cell(text="", index=index, line=line, column=index + 1, fault=fault)
    return tuple(
        Row(line=line, cells=tuple(cells[index] for index in sorted(cells))) for line, cells in sorted(filled.items())
    )


def _cell(value: object, line: int, index: int) -> Cell | None:
    if isinstance(value, bool):
        return Cell(text="", index=index, line=line, column=index + 1, fault="true or false")
    if isinstance(value, datetime | date | time | timedelta):
        return Cell(text="", index=index, line=line, column=index + 1, fault="a date or a time")
    if isinstance(value, int | float):
        number = Decimal(repr(value))
        text = str(int(number)) if number.is_finite() and number == number.to_integral_value() else f"{number:f}"
        return Cell(text=text, index=index, line=line, column=index + 1, stored=True)
    text = str(value).strip()
    return Cell(text=text, index=index, line=line, column=index + 1) if text else None


class _Extent:
    """How far the cells of a sheet reach; refuses before anybody has to make room for them."""

    def __init__(self) -> None:
        self.cells = self.rows = self.columns = 0

    def add(self, row: int, column: int, cells: int) -> None:
        """Note cells that end at a row and column, counting from 1."""
        self.cells += cells
        self.rows, self.columns = max(self.rows, row), max(self.columns, column)
        if self.cells > CELL_LIMIT or self.rows * self.columns > _SPAN_LIMIT:
            raise TableFaultError(
                f"holds more than {CELL_LIMIT} cells, or they lie too far apart", "Keep only the readings.", row
            )


def _parse(xml: bytes, start: object, end: object, text: object = None) -> None:
    parser = expat.ParserCreate()

    def refuse(*_: object) -> None:
        raise TableFaultError("declares a document type, which no spreadsheet needs", _DAMAGED)

    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    try:
        parser.Parse(xml, True)
    except (expat.ExpatError, ValueError, LookupError) as fault:
        raise TableFaultError("holds broken XML", _DAMAGED) from fault


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _whole(text: str | None, otherwise: int) -> int:
    if text is None:
        return otherwise
    if not (text.isascii() and text.isdigit() and len(text) <= 9):
        raise TableFaultError("holds broken XML", _DAMAGED)
    return int(text)


def _first_sheet(members: Mapping[str, bytes]) -> str | None:
    """Return the member that holds the workbook's first sheet, or None where the workbook names none."""
    ids: list[str] = []
    targets: dict[str, str] = {}

    def note_sheet(name: str, attributes: Mapping[str, str]) -> None:
        if _local(name) == "sheet":
            ids.extend(value for key, value in attributes.items() if key.endswith(":id"))

    def note_target(name: str, attributes: Mapping[str, str]) -> None:
        if _local(name) == "Relationship":
            targets[attributes.get("Id", "")] = attributes.get("Target", "")

    _parse(members["xl/workbook.xml"], note_sheet, None)
    _parse(members.get("xl/_rels/workbook.xml.rels", b"<none/>"), note_target, None)
    if not ids or ids[0] not in targets:
        return None
    # A leading slash counts from the package's root.
    return posixpath.normpath(posixpath.join("/xl", targets[ids[0]])).lstrip("/")


def _look_through_xlsx(xml: bytes) -> dict[tuple[int, int], str]:
    extent = _Extent()
    faults: dict[tuple[int, int], str] = {}
    row = column = 0
    kind = ""
    formula = value = False

    def start(name: str, attributes: Mapping[str, str]) -> None:
        nonlocal row, column, kind, formula, value
        match _local(name):
            case "row":
                row, column = _whole(attributes.get("r"), row + 1), 0
            case "c":
                column = _column_number(attributes.get("r"), column + 1)
                kind, formula, value = attributes.get("t", "n"), False, False
            case "f":
                formula = True
            case "is":
                value = True
            case "v":
                value = kind == "str"

    def text(_: str) -> None:
        nonlocal value
        value = True

    def end(name: str) -> None:
        if _local(name) != "c":
            return
        if value or formula:
            extent.add(row, column, 1)
        if kind == "e":
            faults[row, column - 1] = "an error value"
        elif formula and not value:
            faults[row, column - 1] = "a formula without a stored value"

    inside_value = False

    def start_and_watch(name: str, attributes: Mapping[str, str]) -> None:
        nonlocal inside_value
        inside_value = _local(name) == "v"
        start(name, attributes)

    def text_of_value(data: str) -> None:
        if inside_value:
            text(data)

    def end_and_watch(name: str) -> None:
        nonlocal inside_value
        inside_value = False
        end(name)

    _parse(xml, start_and_watch, end_and_watch, text_of_value)
    return faults


def _column_number(reference: str | None, otherwise: int) -> int:
    """Return the column of a reference such as `BC7`, counting from 1."""
    if reference is None:
        return otherwise
    number = 0
    for sign in reference.rstrip("0123456789"):
        if not "A" <= sign <= "Z" or number > 20_000:
            raise TableFaultError("holds broken XML", _DAMAGED)
        number = number * 26 + ord(sign) - 64
    return number


def _look_through_ods(xml: bytes) -> dict[tuple[int, int], str]:
    extent = _Extent()
    faults: dict[tuple[int, int], str] = {}
    tables = row = row_repeats = column = 0

    def start(name: str, attributes: Mapping[str, str]) -> None:
        nonlocal tables, row, row_repeats, column, extent
        match _local(name):
            case "table":
                tables += 1
                extent, row = _Extent(), 0
            case "table-row":
                row_repeats = _whole(attributes.get("table:number-rows-repeated"), 1)
                row, column = row + row_repeats, 0
            case "table-cell" | "covered-table-cell":
                repeats = _whole(attributes.get("table:number-columns-repeated"), 1)
                column += repeats
                has_value = "office:value-type" in attributes
                if has_value or "table:formula" in attributes:
                    extent.add(row, column, repeats * row_repeats)
                if "table:formula" in attributes and not has_value and tables == 1:
                    faults[row, column - 1] = "a formula without a stored value"

    _parse(xml, start, None)
    return faults
