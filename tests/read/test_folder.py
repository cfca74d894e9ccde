"""The series is data: nothing outside it is read, and nothing in it that is no plain file."""

import errno
import hashlib
import os
from pathlib import Path
from typing import IO, Any

import pytest

from basefog.read import read_series
from read.valid_series import read_with, told, valid_files, write_files

LINKED = "Put the file itself in its place, or take it out."


def test_links_that_leave_the_series(tmp_path: Path) -> None:
    """A link to a file or folder outside is refused, and what it stands for is not told as missing too."""
    outside = tmp_path / "outside.csv"
    outside.write_text("step,density\n1,0.1\n2,0.2\n", encoding="utf-8")
    series = tmp_path / "series"
    write_files(series, {path: data for path, data in valid_files().items() if path != "wedges/contact-7.csv"})
    (series / "wedges").mkdir()
    (series / "wedges" / "contact-7.csv").symlink_to(outside)
    (series / "pages" / "more").symlink_to(tmp_path)

    assert told(read_series(series)) == [
        "pages/more:1:1: problem: the link leaves the series | Put the file itself in its place.",
        "wedges/contact-7.csv:1:1: problem: the link leaves the series | Put the file itself in its place.",
    ]


def test_links_that_lead_nowhere_or_in_circles(tmp_path: Path) -> None:
    """Dangling and circular links are told once each."""
    files = valid_files()
    del files["series.yaml"]
    write_files(tmp_path, files)
    (tmp_path / "series.yaml").symlink_to(tmp_path / "gone.yaml")
    (tmp_path / "pages" / "a.md").symlink_to(tmp_path / "pages" / "b.md")
    (tmp_path / "pages" / "b.md").symlink_to(tmp_path / "pages" / "a.md")
    (tmp_path / "stocks" / "wren-50").symlink_to(tmp_path / "stocks", target_is_directory=True)

    assert told(read_series(tmp_path)) == [
        f"pages/a.md:1:1: problem: the link leads in a circle | {LINKED}",
        f"pages/b.md:1:1: problem: the link leads in a circle | {LINKED}",
        f"series.yaml:1:1: problem: the link leads nowhere | {LINKED}",
        "stocks/wren-50:1:1: problem: the link leads in a circle | Take the link out.",
    ]


def test_a_link_inside_the_series_is_followed(tmp_path: Path) -> None:
    """A test may share another test's file by a link that stays inside."""
    files = valid_files()
    del files["stocks/tern-100/2026-03-14/wedge.csv"]
    write_files(tmp_path, files)
    link = tmp_path / "stocks" / "tern-100" / "2026-03-14" / "wedge.csv"
    link.symlink_to(Path("../../marl-400/2026-03-14/wedge.csv"))

    reading = read_series(tmp_path)

    assert told(reading) == []
    assert reading.series is not None


def test_what_is_no_regular_file(tmp_path: Path) -> None:
    """A pipe is not opened: the reading would wait for ever."""
    write_files(tmp_path, valid_files())
    os.mkfifo(tmp_path / "pages" / "pipe.md")

    assert told(read_series(tmp_path)) == [
        "pages/pipe.md:1:1: problem: is no regular file | Put a plain file in its place, or take it out."
    ]


def test_what_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files and folders without the right to read are told by their path, whoever runs the test."""
    write_files(tmp_path, valid_files())
    list_folder, read_bytes, open_file = os.listdir, Path.read_bytes, Path.open

    def refuse(path: object, *, when: str) -> None:
        if str(path).endswith(when):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    def listdir(path: Path) -> list[str]:
        refuse(path, when="questions")
        return list_folder(path)

    def read(path: Path) -> bytes:
        refuse(path, when="about.md")
        return read_bytes(path)

    def open_or_refuse(path: Path, mode: str = "r") -> IO[Any]:
        refuse(path, when="print.png")
        return open_file(path, mode)

    monkeypatch.setattr(os, "listdir", listdir)
    monkeypatch.setattr(Path, "read_bytes", read)
    monkeypatch.setattr(Path, "open", open_or_refuse)

    mend = "Make it readable, or take it out of the series."
    assert told(read_series(tmp_path)) == [
        f"pages/about.md:1:1: problem: can't be read: Permission denied | {mend}",
        f"questions:1:1: problem: can't be read: Permission denied | {mend}",
        "stocks/marl-400/2026-04-02/scans/print.png:1:1: problem: the scan can't be read | Make it readable.",
    ]


def test_a_scan_that_breaks_off_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that fails in the middle of a scan is told as a fault of the file."""
    write_files(tmp_path, valid_files())

    def fail(*_: object) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(hashlib, "file_digest", fail)

    mend = "Make it readable, or take it out of the series."
    assert told(read_series(tmp_path)) == [
        f"stocks/marl-400/2026-04-02/scans/{name}.png:1:1: problem: can't be read: Input/output error | {mend}"
        for name in ("negative", "print")
    ]


def test_names_that_are_no_text(tmp_path: Path) -> None:
    """Names that are no UTF-8, or hold control characters, are refused with what can be shown of them."""
    write_files(tmp_path, valid_files())
    for name in (b"caf\xe9.md", b"a\nb.md"):
        Path(os.fsdecode(os.fsencode(tmp_path / "pages") + b"/" + name)).write_bytes(b"# A\n")

    mend = "Rename it with plain letters."
    assert told(read_series(tmp_path)) == [
        f"pages/a\nb.md:1:1: problem: the file's name is not plain text in UTF-8 | {mend}",
        f"pages/caf\\xe9.md:1:1: problem: the file's name is not plain text in UTF-8 | {mend}",
    ]


def test_a_name_too_long(tmp_path: Path) -> None:
    """Names end at 200 characters."""
    name = "n" * 201

    assert told(read_with(tmp_path, {name: b"x"})) == [
        f"{name}:1:1: problem: found a name of 201 characters, expected at most 200 | Give it a shorter name."
    ]


def test_files_too_large(tmp_path: Path) -> None:
    """Markdown and YAML end at 2 MB, tables at 50 MB; sparse files stand for large ones here."""
    write_files(tmp_path, valid_files())
    for path, size in (
        ("pages/about.md", 2_000_001),
        ("batches/2026-03-14-tank-2.yaml", 2_000_001),
        ("wedges/contact-7.csv", 50_000_001),
    ):
        os.truncate(tmp_path / path, size)

    assert [entry.partition(" | ")[0] for entry in told(read_series(tmp_path))] == [
        "batches/2026-03-14-tank-2.yaml:1:1: problem: found 2000001 bytes, expected at most 2 MB in a YAML file",
        "pages/about.md:1:1: problem: found 2000001 bytes, expected at most 2 MB in a Markdown file",
        "wedges/contact-7.csv:1:1: problem: found 50000001 bytes, expected at most 50 MB in a table",
    ]


def test_no_folder_at_all(tmp_path: Path) -> None:
    """A folder that is not there is a series without its first file."""
    assert told(read_series(tmp_path / "gone")) == [
        "series.yaml:1:1: problem: the file is missing | Write series.yaml, or restore it."
    ]


def test_many_faults_are_cut(tmp_path: Path) -> None:
    """Of a file with more than a hundred entries the first hundred are told, and that there are more."""
    keys = "".join(f"k{number}: 1\n" for number in range(200))

    entries = told(read_with(tmp_path, {"batches/tank.yaml": "date: 2026-03-14\n" + keys}))

    assert len(entries) == 101
    assert entries[0].startswith("batches/tank.yaml:2:1: problem: unknown key 'k0'")
    assert entries[100] == (
        "batches/tank.yaml:102:1: problem: and more problems from here on | Mend those above first."
    )


def test_reading_twice_tells_the_same(tmp_path: Path) -> None:
    """The order of what is told depends on nothing but the content."""
    changes = {"series.yaml": "title: [a\n", "pages/b.md": "{{ x }}", "stocks/tern-100/stock.yaml": "nam: a\n"}

    first = told(read_with(tmp_path / "one", changes))

    assert first == told(read_with(tmp_path / "two", changes))
    assert first == sorted(first, key=lambda entry: entry.split(":")[0])
