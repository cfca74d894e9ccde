"""Whatever bytes lie in the folder, the reading tells problems and never breaks."""

import contextlib
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.read import read_series
from basefog.read.folder import SeriesFolder
from basefog.read.problem_list import ProblemList
from basefog.read.tables import find_tables, read_table
from basefog.read.yaml_nodes import parse_yaml
from basefog.scanfiles import ScanFaultError, read_scan_header
from read.shapes import ods, xlsx
from read.valid_series import picture, valid_files, write_files

FILES = valid_files()
KINDS = [
    "series.yaml",
    "wedges/contact-7.csv",
    "papers/grade-2.csv",
    "batches/2026-03-14-tank-2.yaml",
    "stocks/marl-400/stock.yaml",
    "stocks/marl-400/notes.md",
    "stocks/marl-400/2026-04-02/test.yaml",
    "stocks/marl-400/2026-03-14/bracket.csv",
    "stocks/marl-400/2026-04-02/scans/print.png",
    "questions/2026-03-22-finer.md",
    "pages/about.md",
]
ROWS = [["step", "D"], ["1", "1.42"], ["2", "1.24"]]
SHEETS = {"wedge.xlsx": xlsx(ROWS), "wedge.ods": ods(ROWS)}
ODD = st.sampled_from(
    [
        *("\0", "\ufeff", "\ud7ff", "\u202e", "{{", "%}", "---\n", "- ", ": ", "&a ", "*a", "!!x ", "[", "]", "{", "}"),
        *('"', "'", "|\n", "? ", "#", "\r", "\t", "\n", ",", ";", "-", "1e9999", "\u0663", "½", "0,1", "step", "base"),
        *("\\UFFFFFFFF", "<<: ", "%YAML 9\n", "%TAG ! x\n", "...\n"),
    ]
)


@st.composite
def damaged(draw: st.DrawFn, data: bytes) -> bytes:
    """Draw bytes like these with some cut, swapped, repeated or put in."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(data)))
        end = draw(st.integers(start, min(len(data), start + 40)))
        put_in = draw(st.binary(max_size=8) | ODD.map(lambda text: text.encode("utf-8")))
        data = data[:start] + put_in * draw(st.integers(0, 3)) + data[end:]
    return data


@settings(max_examples=25)
@given(data=st.data())
def test_a_damaged_series_is_read_to_its_end(data: st.DataObject) -> None:
    """One damaged file of any kind gives a series or problems."""
    path = data.draw(st.sampled_from(KINDS))
    content = data.draw(damaged(FILES[path]) | st.binary(max_size=60))
    with tempfile.TemporaryDirectory() as name:
        write_files(Path(name), {**FILES, path: content})

        reading = read_series(Path(name))

    has_problem = any(entry.level == "problem" for entry in reading.problems)
    assert (reading.series is None) == has_problem
    assert list(reading.problems) == sorted(reading.problems, key=lambda entry: entry.sort_key)


@settings(max_examples=80, deadline=None)
@given(st.lists(ODD | st.text(max_size=5), max_size=25).map("".join) | damaged(FILES["series.yaml"]).map(str))
def test_any_yaml_gives_a_tree_or_problems(text: str) -> None:
    """No text makes the reader of YAML raise."""
    problems = ProblemList()

    node = parse_yaml(text.encode("utf-8", "replace"), "a.yaml", problems)

    assert node is not None or problems.in_order()


@settings(max_examples=50, deadline=None)
@given(data=st.data(), name=st.sampled_from(["wedge.csv", "wedge.tsv", "wedge.cgats.txt", *SHEETS]))
def test_any_table_gives_a_table_or_problems(data: st.DataObject, name: str) -> None:
    """No bytes make a reader of tables raise, in any shape."""
    whole = SHEETS.get(name, FILES["stocks/tern-100/2026-03-14/wedge.csv"])
    content = data.draw(damaged(whole) | st.binary(max_size=40))
    problems = ProblemList()
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / name).write_bytes(content)
        series = SeriesFolder(Path(folder), problems)

        table = read_table(series, find_tables(series, "", problems)["wedge"], "step", problems)

    assert table is not None or problems.in_order()


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP", "TIFF"])
def test_any_picture_gives_a_header_or_a_fault(kind: str, tmp_path: Path) -> None:
    """No bytes make the reader of scans raise anything but its fault."""
    whole = picture((20, 10), kind, "RGB")

    @settings(max_examples=30, deadline=None)
    @given(damaged(whole))
    def check(content: bytes) -> None:
        (tmp_path / "scan").write_bytes(content)
        with contextlib.suppress(ScanFaultError):
            assert read_scan_header(tmp_path / "scan").width_px > 0

    check()
