"""CGATS text against a published file, and against the samples of the grammar that was seen."""

from pathlib import Path

import pytest

from basefog.read.cells import Row, TableFaultError
from basefog.read.cgats import parse_cgats

FOGRA = Path(__file__).parent / "cgats" / "FOGRA39L.ti3"
SAMPLE = b"""CGATS.17
ORIGINATOR "bench densitometer"
DESCRIPTOR "step wedge, strip 3"
CREATED "2024-05-01"
DIFFUSE_GEOMETRY "opal"
NUMBER_OF_FIELDS 3
BEGIN_DATA_FORMAT
SAMPLE_ID\tSAMPLE_NAME\tD_VIS
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
1\t"step 1"\t0.05
2\t"step 2"\t0.20
3\t'step 3'\t0.35   # the last
END_DATA
"""


def texts(row: Row) -> list[str]:
    """Return what the cells of a row hold."""
    return [cell.text for cell in row.cells.values()]


def test_a_wedge_as_a_densitometer_writes_it() -> None:
    """Strings in either quotes, tabs and a comment are read; the name of a sample is no reading."""
    rows = parse_cgats(SAMPLE, "step")

    assert [texts(row) for row in rows] == [["step", "D_VIS"], ["1", "0.05"], ["2", "0.20"], ["3", "0.35"]]
    assert [(cell.line, cell.column) for cell in rows[3].cells.values()] == [(14, 1), (14, 12)]


def test_a_published_file_is_read_whole() -> None:
    """FOGRA39L (December 2006) has 1617 sets of 11 fields; one field is renamed, so that it counts as a reading."""
    data = FOGRA.read_bytes().replace(b"XYZ_Y", b"D_VIS", 1)

    rows = parse_cgats(data, "step")

    assert len(rows) == 1 + 1617
    assert [texts(rows[0]), texts(rows[1]), texts(rows[48])] == [["step", "D_VIS"], ["1", "87.62"], ["48", "35.74"]]


def test_no_colour_field_is_a_reading() -> None:
    """Of the published file as it stands only the sample's number is left."""
    assert texts(parse_cgats(FOGRA.read_bytes(), "step")[0]) == ["step"]


def test_a_field_named_like_the_column_goes_before_the_number() -> None:
    """Where the file has a field STEP, that names the rows, and SAMPLE_ID does not."""
    data = SAMPLE.replace(b"SAMPLE_NAME", b"STEP").replace(b'"step 1"', b"21")

    rows = parse_cgats(data, "step")

    assert [texts(rows[0]), texts(rows[1])] == [["STEP", "D_VIS"], ["21", "0.05"]]


def test_keywords_have_no_case() -> None:
    """Keywords are matched without regard to case."""
    lower = SAMPLE.lower().replace(b"sample_id", b"SampleID").replace(b"d_vis", b"D_VIS")

    assert [texts(row) for row in parse_cgats(lower, "step")] == [texts(row) for row in parse_cgats(SAMPLE, "step")]


def test_counts_need_not_be_there() -> None:
    """A file without counts and preamble is read, as other readers do."""
    bare = b"CGATS.5\nBEGIN_DATA_FORMAT\nSAMPLE_ID D_VIS\nEND_DATA_FORMAT\nBEGIN_DATA\n1 0.05\nEND_DATA\n"

    assert [texts(row) for row in parse_cgats(bare, "step")] == [["step", "D_VIS"], ["1", "0.05"]]


def test_a_block_inside_a_block_is_refused() -> None:
    """A block that is not closed before the next one opens is told at its own line."""
    with pytest.raises(TableFaultError) as fault:
        parse_cgats(SAMPLE.replace(b"END_DATA_FORMAT\n", b""), "step")

    assert (fault.value.message, fault.value.line) == ("END_DATA_FORMAT is missing", 7)


def test_no_fields_at_all_is_an_empty_header() -> None:
    """A format without fields gives a header without columns, which the table then tells."""
    data = b"CGATS.5\nBEGIN_DATA_FORMAT\nEND_DATA_FORMAT\nBEGIN_DATA\nEND_DATA\n"

    assert [row.cells for row in parse_cgats(data, "step")] == [{}]


def test_more_cells_than_any_use_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A block of more cells than anybody reads is refused at the line where they become too many."""
    monkeypatch.setattr("basefog.read.cells.CELL_LIMIT", 5)

    with pytest.raises(TableFaultError) as fault:
        parse_cgats(SAMPLE, "step")

    assert (fault.value.message, fault.value.line) == ("holds more than 5 cells", 13)
