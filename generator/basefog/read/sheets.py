"""XLSX and ODS tables: the first sheet, its values as stored.

python-calamine reads the cells; before it may, the package is unpacked under a bound and its XML looked through
(`sheet_survey`), since a few bytes of a zip or one far-away cell could ask for any amount of memory, and since
calamine does not tell a formula without a stored value from an empty cell.
"""

import io
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from datetime import date, time, timedelta
from decimal import Decimal
from typing import Final

from basefog.read.cells import TABLE_LIMIT, Cell, Row, TableFaultError
from basefog.read.sheet_survey import DAMAGED, survey_ods, survey_xlsx

_MEMBER_LIMIT: Final = 10_000
_READ_SUFFIXES: Final = (".xml", ".rels", "mimetype")


def parse_sheet(data: bytes) -> tuple[Row, ...]:
    """Return the rows of the first sheet that have something in them; the first is the header.

    Raises TableFaultError where the file is no XLSX or ODS file, or asks for more than a table may.
    """
    members = _unpack(data)
    if "content.xml" in members:
        faults = survey_ods(members["content.xml"])
    elif "xl/workbook.xml" in members:
        faults = survey_xlsx(members)
    else:
        raise TableFaultError("is neither an XLSX nor an ODS file", DAMAGED)
    cells = {
        (line, index): cell
        for line, row in enumerate(_read_values(members), start=1)
        for index, value in enumerate(row)
        if (cell := _cell(value, line, index)) is not None
    }
    for (line, index), fault in faults.items():
        cells[line, index] = Cell(text="", index=index, line=line, column=index + 1, fault=fault)
    rows: dict[int, dict[int, Cell]] = {}
    for line, index in sorted(cells):
        rows.setdefault(line, {})[index] = cells[line, index]
    return tuple(Row(line=line, cells=row) for line, row in rows.items())


def _unpack(data: bytes) -> dict[str, bytes]:
    """Return the members of a zip, unpacked under the bound whatever sizes it claims."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return _read_members(package)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError) as fault:
        raise TableFaultError("can't be unpacked: it is damaged, locked or no spreadsheet", DAMAGED) from fault


def _read_members(package: zipfile.ZipFile) -> dict[str, bytes]:
    members: dict[str, bytes] = {}
    left = TABLE_LIMIT
    infos = package.infolist()
    if len(infos) > _MEMBER_LIMIT:
        raise TableFaultError(f"holds {len(infos)} files, expected at most {_MEMBER_LIMIT}", DAMAGED)
    for info in infos:
        if not info.filename.endswith(_READ_SUFFIXES):
            continue
        with package.open(info) as member:
            members[info.filename] = member.read(left + 1)
        left -= len(members[info.filename])
        if left < 0:
            raise TableFaultError(
                f"unpacks to more than {TABLE_LIMIT // 1_000_000} MB", "Save the readings alone, as CSV."
            )
    return members


def _read_values(members: Mapping[str, bytes]) -> Sequence[Sequence[object]]:
    # Imported here: only series with spreadsheets pay for it.
    import python_calamine

    packed = io.BytesIO()
    # Packed anew from what was looked through, so that both readers see the same bytes.
    with zipfile.ZipFile(packed, "w") as package:
        for name, content in members.items():
            package.writestr(zipfile.ZipInfo(name), content)
    packed.seek(0)
    try:
        with python_calamine.CalamineWorkbook.from_filelike(packed) as workbook:
            return workbook.get_sheet_by_index(0).to_python(skip_empty_area=False)
    except (python_calamine.CalamineError, OSError, ValueError, IndexError) as fault:
        raise TableFaultError("can't be read as a spreadsheet", DAMAGED) from fault


def _cell(value: object, line: int, index: int) -> Cell | None:
    column = index + 1
    if isinstance(value, bool):
        return Cell(text="", index=index, line=line, column=column, fault="true or false")
    if isinstance(value, date | time | timedelta):
        return Cell(text="", index=index, line=line, column=column, fault="a date or a time")
    if isinstance(value, int | float):
        # The shortest decimal that means the stored number: what was typed, without a final zero.
        number = Decimal(repr(value))
        text = str(int(number)) if number.is_finite() and number == number.to_integral_value() else f"{number:f}"
        return Cell(text=text, index=index, line=line, column=column, stored=True)
    text = str(value).strip()
    return Cell(text=text, index=index, line=line, column=column) if text else None
