"""What the simulated densitometer reads scatters as stated and is the same every time."""

import io
import zipfile

import numpy as np
import openpyxl
import pytest

from simulation.readings import compute_wedge, read_bracket, read_wedge_exposure
from simulation.tables import Cell, TableShape, render_table
from simulation.truths import REPEATABILITY, TESTS, U_WEDGE

ROWS: list[list[Cell]] = [["step", "a", "b"], ["1", 0.25, None], ["base", 0.24, 0.245]]


def test_replicates_scatter_by_the_stated_repeatability() -> None:
    """Readings of one step, pooled over all tests, have the stated standard deviation (some 700 degrees of freedom)."""
    within = [
        np.array([float(cell) for cell in row[1:] if cell is not None]).var(ddof=1)
        for test in TESTS
        if test.replicates > 1
        for row in read_wedge_exposure(test)[1:]
    ]

    assert np.sqrt(np.mean(within)) == pytest.approx(REPEATABILITY, rel=0.09)


def test_the_wedge_is_as_certain_as_its_certificate() -> None:
    """The wedge's true densities differ from the certified by the stated standard uncertainty."""
    certified, true = compute_wedge()

    assert (np.diff(certified) > 0.08).all()
    assert float((true - certified).std(ddof=1)) == pytest.approx(U_WEDGE, rel=0.5)


def test_readings_are_the_same_every_time() -> None:
    """A test's readings come from its name alone."""
    test = TESTS[1]

    assert read_wedge_exposure(test) == read_wedge_exposure(test)
    assert read_bracket(test) == read_bracket(test)


@pytest.mark.parametrize("shape", ["csv", "semicolon", "xlsx", "ods", "cgats"])
def test_tables_are_the_same_bytes_every_time(shape: TableShape) -> None:
    """No clock and no random name gets into a table."""
    assert render_table(ROWS, shape) == render_table(ROWS, shape)


def test_workbooks_open_elsewhere() -> None:
    """A workbook that we wrote is read by a spreadsheet library as the cells that went in."""
    sheet = openpyxl.load_workbook(io.BytesIO(render_table(ROWS, "xlsx"))).worksheets[0]

    assert [list(row) for row in sheet.iter_rows(values_only=True)] == ROWS


def test_open_documents_begin_with_their_type() -> None:
    """The first member is the media type, stored plain, as the packaging rules of OpenDocument ask."""
    with zipfile.ZipFile(io.BytesIO(render_table(ROWS, "ods"))) as archive:
        first = archive.infolist()[0]

        assert first.filename == "mimetype"
        assert first.compress_type == zipfile.ZIP_STORED
        assert b"0.245" in archive.read("content.xml")


def test_semicolon_tables_have_decimal_commas() -> None:
    """The table of a tester whose keyboard has decimal commas: a byte order mark, semicolons, commas, CRLF."""
    assert render_table(ROWS, "semicolon") == "﻿step;a;b\r\n1;0,250;\r\nbase;0,240;0,245\r\n".encode()
