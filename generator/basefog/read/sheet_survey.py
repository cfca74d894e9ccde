"""Looks through the XML of a spreadsheet before it is read: how far its cells reach, and which can't be values."""

import posixpath
from collections.abc import Mapping
from typing import Any, Final
from xml.parsers import expat

from basefog.read.cells import CELL_LIMIT, TableFaultError, check_cell_count

DAMAGED: Final = "Open it in the spreadsheet program and save it again, or save it as CSV."

_SPAN_LIMIT: Final = 20 * CELL_LIMIT
"""Most rows times columns that the cells may span: every reader of spreadsheets makes room for all of them."""

_NO_VALUE: Final = "a formula without a stored value"

Faults = dict[tuple[int, int], str]
"""Cells that can't be read, by line counting from 1 and column counting from 0: what was found there."""


def survey_xlsx(members: Mapping[str, bytes]) -> Faults:
    """Return the faulty cells of the first sheet of an XLSX package.

    Raises TableFaultError where any sheet asks for more room than a table may.
    """
    first = _first_sheet(members)
    faults: Faults = {}
    # Any member may be named as a sheet, so all are looked through; other XML has no cells.
    for name in sorted(members):
        survey = _XlsxSurvey()
        _parse(members[name], survey)
        faults = survey.faults if name == first else faults
    return faults


def survey_ods(content: bytes) -> Faults:
    """Return the faulty cells of the first sheet of an ODS file's content.

    Raises TableFaultError where any sheet asks for more room than a table may.
    """
    survey = _OdsSurvey()
    _parse(content, survey)
    return survey.faults


class _Survey:
    """Handlers of the XML parser, which note how far the cells of a sheet reach."""

    def __init__(self) -> None:
        self.faults: Faults = {}
        self._cells = self._rows = self._columns = 0

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        """Meet the start of an element, by its name without prefix."""

    def end(self, name: str) -> None:
        """Meet the end of an element."""

    def text(self, data: str) -> None:
        """Meet text."""

    def reach(self, row: int, column: int, cells: int) -> None:
        """Note cells that end at a row and column, counting from 1; refuse before anybody makes room for them."""
        self._cells += cells
        self._rows, self._columns = max(self._rows, row), max(self._columns, column)
        check_cell_count(self._cells, row)
        if self._rows * self._columns > _SPAN_LIMIT:
            raise TableFaultError("the cells lie too far apart", "Keep only the readings, from the first rows on.", row)

    def new_sheet(self) -> None:
        """Begin to count again."""
        self._cells = self._rows = self._columns = 0


class _XlsxSurvey(_Survey):
    def __init__(self) -> None:
        super().__init__()
        self._row = self._column = 0
        self._kind = "n"
        self._is_filled = self._formula = self._value = self._in_value = False

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == "row":
            self._row, self._column = _whole(attributes.get("r"), self._row + 1), 0
        elif name == "c":
            self._place(attributes.get("r"))
            self._kind = attributes.get("t", "n")
            self._is_filled = self._formula = self._value = False
        elif name == "f":
            self._formula = True
        elif name == "is":
            self._value = True
        elif name == "v":
            self._in_value = True
            # A formula whose stored value is the empty text has a value all the same.
            self._value = self._value or self._kind == "str"

        self._is_filled = self._is_filled or name in {"f", "is", "v"}

    def _place(self, reference: str | None) -> None:
        """Move to a cell's reference such as `BC7`, which goes before its row's number; else one cell on."""
        letters = (reference or "").rstrip("0123456789")
        digits = (reference or "")[len(letters) :]
        self._column = _column_number(letters) if letters else self._column + 1
        self._row = _whole(digits or None, self._row)

    def text(self, data: str) -> None:
        self._value = self._value or (self._in_value and bool(data))

    def end(self, name: str) -> None:
        if name == "v":
            self._in_value = False
        if name != "c":
            return
        if self._is_filled:
            self.reach(self._row, self._column, 1)
        if self._kind == "e":
            self.faults[self._row, self._column - 1] = "an error value"
        elif self._formula and not self._value:
            self.faults[self._row, self._column - 1] = _NO_VALUE


class _OdsSurvey(_Survey):
    def __init__(self) -> None:
        super().__init__()
        self._sheets = self._depth = self._row = self._row_repeats = self._column = self._repeats = 0

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == "table":
            self._depth += 1
            if self._depth > 1:
                raise TableFaultError("holds a table within a table", DAMAGED)
            self._sheets += 1
            self._row = 0
            self.new_sheet()
        elif name == "table-row":
            self._row_repeats = _whole(attributes.get("table:number-rows-repeated"), 1)
            self._row, self._column = self._row + self._row_repeats, 0
        elif name in {"table-cell", "covered-table-cell"}:
            self._repeats = _whole(attributes.get("table:number-columns-repeated"), 1)
            self._column += self._repeats
            has_value, has_formula = "office:value-type" in attributes, "table:formula" in attributes
            if has_value or has_formula:
                self._reach_here()
            if has_formula and not has_value and self._sheets == 1:
                self.faults[self._row, self._column - 1] = _NO_VALUE
        elif name == "p":
            self._reach_here()

    def end(self, name: str) -> None:
        if name == "table":
            self._depth -= 1

    def _reach_here(self) -> None:
        self.reach(self._row, self._column, self._repeats * self._row_repeats)


def _parse(xml: bytes, survey: _Survey) -> None:
    parser = expat.ParserCreate()

    def refuse(*_: Any) -> None:
        raise TableFaultError("declares a document type, which no spreadsheet needs", DAMAGED)

    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = lambda name, attributes: survey.start(name.rpartition(":")[2], attributes)
    parser.EndElementHandler = lambda name: survey.end(name.rpartition(":")[2])
    parser.CharacterDataHandler = survey.text
    try:
        parser.Parse(xml, True)
    except (expat.ExpatError, ValueError, LookupError) as fault:
        raise TableFaultError("holds broken XML", DAMAGED) from fault


class _WorkbookSurvey(_Survey):
    """Notes which sheets a workbook lists, and where its relations lead."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.targets: dict[str, str] = {}

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == "sheet":
            self.ids += [value for key, value in attributes.items() if key.endswith(":id")]
        elif name == "Relationship":
            self.targets[attributes.get("Id", "")] = attributes.get("Target", "")


def _first_sheet(members: Mapping[str, bytes]) -> str | None:
    """Return the member that holds the workbook's first sheet, or None where the workbook names none."""
    survey = _WorkbookSurvey()
    _parse(members["xl/workbook.xml"], survey)
    if "xl/_rels/workbook.xml.rels" in members:
        _parse(members["xl/_rels/workbook.xml.rels"], survey)
    if not survey.ids or survey.ids[0] not in survey.targets:
        return None
    # A leading slash counts from the package's root.
    return posixpath.normpath(posixpath.join("/xl", survey.targets[survey.ids[0]])).lstrip("/")


def _whole(text: str | None, otherwise: int) -> int:
    if text is None:
        return otherwise
    if not (text.isascii() and text.isdigit() and len(text) <= 9):
        raise TableFaultError("holds broken XML", DAMAGED)
    return int(text)


def _column_number(letters: str) -> int:
    """Return the column of letters such as `BC`, counting from 1."""
    if len(letters) > 3 or not all("A" <= letter <= "Z" for letter in letters):
        raise TableFaultError("holds broken XML", DAMAGED)
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number
