"""CSV against an outside collection of its oddities, and the shapes that no CSV reader could guess."""

import json
from pathlib import Path

import pytest

from basefog.read.cells import TableFaultError
from basefog.read.delimited import parse_delimited

SPECTRUM = Path(__file__).parent / "csv-spectrum"
NOT_ALIKE = "Contact Phone Number"
"""One cell of the collection contradicts itself: 2095257564 in location_coordinates.csv, 1234567890 in its JSON."""
NAMES = sorted(path.stem for path in (SPECTRUM / "csvs").glob("*.csv"))


@pytest.mark.parametrize("name", NAMES)
def test_csv_spectrum(name: str) -> None:
    """Each file of csv-spectrum 2.0.0 gives the records that its JSON holds; blank cells are left out here."""
    told = json.loads((SPECTRUM / "json" / f"{name}.json").read_text(encoding="utf-8"))
    expected = told if isinstance(told, list) else [told]
    data = (SPECTRUM / "csvs" / f"{name}.csv").read_bytes()

    header, *rows = parse_delimited(data, next(iter(expected[0])).lower(), ",")

    found = [{header.cells[index].text: cell.text for index, cell in row.cells.items()} for row in rows]
    # Cells are trimmed, since blanks round a number mean nothing.
    trimmed = [{key: value.strip() for key, value in record.items() if value.strip()} for record in expected]
    for record in (*found, *trimmed):
        record.pop(NOT_ALIKE, None)
    assert found == trimmed


def test_the_collection_is_whole() -> None:
    """All twelve files of the collection are there."""
    assert len(NAMES) == 12


@pytest.mark.parametrize(
    ("data", "places"),
    [
        (b"step,D\n1,0.42\n", [(1, 1), (1, 6), (2, 1), (2, 3)]),
        (b'step,D\n"1" , "0,42"\n', None),
        (b'step;"D; first"\n1;0,42\n', [(1, 1), (1, 6), (2, 1), (2, 3)]),
        (b"step\tD\n\n\n 1\t\n2\t0.4\n", [(1, 1), (1, 6), (4, 1), (5, 1), (5, 3)]),
        (b'step,D,E\n1,"0\n42",0.5\n2,1,1\n', [(1, 1), (1, 6), (1, 8), (2, 1), (2, 3), (2, 1), (4, 1), (4, 3), (4, 5)]),
    ],
)
def test_cells_know_where_they_stand(data: bytes, places: list[tuple[int, int]] | None) -> None:
    """Line and column count from 1, over quoted delimiters and line ends; a stray quote is refused."""
    if places is None:
        with pytest.raises(TableFaultError):
            parse_delimited(data, "step", None)
        return

    rows = parse_delimited(data, "step", None)

    assert [(cell.line, cell.column) for row in rows for cell in row.cells.values()] == places


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf16_needs_no_mark(encoding: str) -> None:
    """UTF-16 without its mark is known by the zero bytes of its first letter."""
    rows = parse_delimited("step,D\n1,0.42\n".encode(encoding), "step", None)

    assert [[cell.text for cell in row.cells.values()] for row in rows] == [["step", "D"], ["1", "0.42"]]


def test_a_cell_beyond_any_use_is_refused() -> None:
    """A cell of more than 131,072 characters is refused by its line."""
    with pytest.raises(TableFaultError) as fault:
        parse_delimited(b"step,D\n1," + b"9" * 131_073, "step", None)

    assert (fault.value.message, fault.value.line) == ("a cell is too long", 2)


def test_a_table_beyond_any_use_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table of more cells than anybody reads is refused at the line where they become too many."""
    monkeypatch.setattr("basefog.read.cells.CELL_LIMIT", 10)

    with pytest.raises(TableFaultError) as fault:
        parse_delimited(b"step,D\n" + b"1,1\n" * 5, "step", None)

    assert (fault.value.message, fault.value.line) == ("holds more than 10 cells", 6)
