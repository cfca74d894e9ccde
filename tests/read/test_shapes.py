"""A table means the same in every shape of file, to the last digit, whatever the order of its rows."""

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.read.bracket_table import read_bracket_table
from basefog.read.calibrations import read_wedges
from basefog.read.folder import SeriesFolder
from basefog.read.problem_list import ProblemList
from basefog.read.readings import Setup
from basefog.read.tables import find_tables, read_table
from basefog.read.wedge_table import read_wedge_table
from basefog.records.content import Exposure
from basefog.records.problem import Place
from read.shapes import Rows, cgats, delimited, ods, xlsx
from read.valid_series import WEDGE_CALIBRATION

STEPS = ["1", "2", "3", "4", "5", "6", "7", "base"]


@st.composite
def wedge_tables(draw: st.DrawFn) -> list[list[str]]:
    """Draw readings of a wedge that rises, with blanks and dashes among them."""
    replicates = draw(st.integers(1, 3))
    digits = draw(st.integers(2, 3))
    rows = []
    for index, step in enumerate(STEPS):
        middle = 2.4 - 0.3 * index
        near = st.floats(middle - 0.01, middle + 0.01).map(f"{{:.{digits}f}}".format)
        cells = [draw(near), *draw(st.lists(near | st.sampled_from(["", "-"]), min_size=replicates - 1, max_size=2))]
        rows.append([step, *cells, *[""] * 3][: replicates + 1])
    return [["step", *[f"r{number}" for number in range(replicates)]], *draw(st.permutations(rows))]


def understood(files: dict[str, bytes]) -> Any:
    """Return what a wedge table is understood as, without its places; problems fail the test."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "wedges").mkdir()
        (folder / "wedges" / "contact-7.csv").write_text(WEDGE_CALIBRATION, encoding="utf-8")
        for path, data in files.items():
            (folder / path).write_bytes(data)
        problems = ProblemList()
        series = SeriesFolder(folder, problems)
        setup = Setup(
            exposure=Exposure(wedge="contact-7", lux_s=0.8),
            exposure_place=Place(path="series.yaml"),
            wedge=read_wedges(series, problems).records["contact-7"],
            patches=("grey", "dark"),
            repeatability=0.02,
        )
        tables = find_tables(series, "", problems)
        if "bracket" in tables:
            table = read_table(series, tables["bracket"], "frame", problems)
            assert table is not None, problems.in_order()
            bracket, _ = read_bracket_table(table, setup, problems)
            assert bracket is not None
            result: Any = [(frame.frame, frame.stops, frame.base, frame.patches) for frame in bracket.frames]
        else:
            table = read_table(series, tables["wedge"], "step", problems)
            assert table is not None, problems.in_order()
            wedge, readings = read_wedge_table(table, setup, problems)
            assert wedge is not None
            steps = [(step.step, step.log_exposure, step.u_log_exposure, step.readings) for step in wedge.steps]
            each = sorted((reading.row, reading.column, reading.density) for reading in readings)
            result = (steps, wedge.base, wedge.absolute, wedge.wedge, each)
        assert problems.in_order() == ()
        return result


@settings(max_examples=25, deadline=None)
@given(
    rows=wedge_tables(),
    shape=st.fixed_dictionaries(
        {
            "delimiter": st.sampled_from([",", ";", "\t"]),
            "comma": st.booleans(),
            "encoding": st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]),
            "end": st.sampled_from(["\n", "\r\n", "\r"]),
            "quote_all": st.booleans(),
            "blank_rows": st.integers(0, 30),
            "blank_columns": st.integers(0, 30),
        }
    ),
)
def test_every_text_shape_reads_alike(rows: list[list[str]], shape: dict[str, Any]) -> None:
    """Delimiter, decimal sign, encoding, line end, quotes, blanks and row order change no digit."""
    plain = understood({"wedge.csv": delimited([rows[0], *sorted(rows[1:])])})

    shaped = delimited(rows, **shape)

    assert understood({"wedge.csv": shaped}) == plain
    if shape["delimiter"] == "\t":
        assert understood({"wedge.tsv": shaped}) == plain


@settings(max_examples=10, deadline=None)
@given(rows=wedge_tables(), blanks=st.integers(0, 30), as_text=st.booleans())
def test_every_other_shape_reads_alike(rows: list[list[str]], blanks: int, as_text: bool) -> None:
    """XLSX, ODS and CGATS give the digits that CSV gives."""
    plain = understood({"wedge.csv": delimited([rows[0], *sorted(rows[1:])])})

    assert understood({"wedge.xlsx": xlsx(rows, blank_rows=blanks, as_text=as_text)}) == plain
    assert understood({"wedge.ods": ods(rows, blank_rows=blanks)}) == plain
    assert understood({"wedge.cgats.txt": cgats(rows)}) == plain


BRACKET: Rows = [
    ["frame", "stops", "base", "grey", "dark"],
    ["6", "-1/3", "0.24", "0.71", "0.52"],
    ["7", "0", "0.24", "0.78", "0.59"],
    ["8", "+1/3", "", "0.85", "0.66"],
    ["8", "+1/3", "-", "0.86", ""],
]


def test_a_bracket_reads_alike_in_every_shape() -> None:
    """Fractions of stops, blanks and repeated frames survive every shape."""
    plain = understood({"bracket.csv": delimited(BRACKET)})
    turned = [BRACKET[0], *reversed(BRACKET[1:])]

    assert plain == [
        ("6", -1 / 3, (0.24,), {"dark": (0.52,), "grey": (0.71,)}),
        ("7", 0.0, (0.24,), {"dark": (0.59,), "grey": (0.78,)}),
        ("8", 1 / 3, (), {"dark": (0.66,), "grey": (0.85, 0.86)}),
    ]
    assert understood({"bracket.csv": delimited(turned, delimiter=";", comma=True)}) == plain
    assert understood({"bracket.xlsx": xlsx(turned)}) == plain
    assert understood({"bracket.ods": ods(BRACKET)}) == plain
    assert understood({"bracket.cgats.txt": cgats(BRACKET)}) == plain


def test_typographic_and_ready_made_fractions_are_fractions() -> None:
    """A minus sign, a fraction slash and a one-character fraction read as the plain fraction does."""
    plain = "frame,stops,grey\n6,-1/2,0.71\n7,+1 1/2,0.95\n"
    typographic = "frame,stops,grey\n6,−1⁄2,0.71\n7,1½,0.95\n"

    assert understood({"bracket.csv": typographic.encode()}) == understood({"bracket.csv": plain.encode()})


def test_thousands_of_blank_rows_and_columns_are_nothing() -> None:
    """Blank rows and columns behind a table, by the thousands, change nothing in any shape."""
    rows = [["step", "D"], ["1", "1.42"], ["2", "1.24"], ["base", "0.24"]]
    plain = understood({"wedge.csv": delimited(rows)})

    assert understood({"wedge.csv": delimited(rows, blank_rows=3000, blank_columns=300)}) == plain
    assert understood({"wedge.xlsx": xlsx(rows, blank_rows=3000)}) == plain
    assert understood({"wedge.ods": ods(rows, blank_rows=1_000_000)}) == plain


def test_a_line_that_names_the_delimiter_is_obeyed() -> None:
    """A first line `sep=;`, as one spreadsheet program writes it for another, is no row."""
    rows = [["step", "D"], ["1", "1.42"], ["base", "0.24"]]

    shaped = b"sep=;\r\n" + delimited(rows, delimiter=";", comma=True, end="\r\n")

    assert understood({"wedge.csv": shaped}) == understood({"wedge.csv": delimited(rows)})
