"""The pictures of a site from the scans of a series: each scan is decoded once, whatever is made of it."""

import errno
import io
import os
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from basefog.publish import check_scans, make_pictures
from basefog.publish.pictures import UnreadableScan
from basefog.read import read_series
from basefog.records.content import Series
from basefog.scanfiles import Region, open_scan, opened, tiff
from basefog.site.digest import digest_of
from basefog.site.steps import open_steps
from basefog.site.stops import ContentChanged, NoRoom
from basefog.site.store import Store
from picture.scenes import Lie, draw_scene, lay, make_worse
from scanfiles.decoding import count_decoding
from scanfiles.files import read_regions
from small_series import write_small_series

SIZE = (900, 600)
VIEWS = """\
views:
  - {id: whole, name: Whole print, box: [0, 0, 1, 1]}
  - {id: part, name: Part, box: [0.2, 0.2, 0.5, 0.5]}
  - {id: even, name: Even tone, of: negative, box: [0.3, 0.3, 0.3, 0.3], shows: grain}
  - {id: edge, name: Edge, of: negative, box: [0.5, 0.5, 0.2, 0.2], shows: sharpness}
"""
SCANS = """\
scans:
  - {{file: scans/{print}, of: print}}
  - file: scans/{negative}
    of: negative
    pixels_per_mm: 125
    code_density: [[0, 3.0], [65535, 0.0]]
"""
FILES = {
    "fell-100/2026-02-01": {"print": "fell.jpg", "negative": "fell.tif"},
    "wold-400/2026-02-03": {"print": "wold.jpg", "negative": "wold.tif"},
    "wold-400/2026-04-05": {"print": "later.png", "negative": "later.tif"},
}
LAYOUTS: dict[str, dict[str, Any]] = {
    "fell.tif": {"compression": "zlib", "predictor": True, "rowsperstrip": 64},
    "wold.tif": {"compression": "lzw", "tile": (128, 128)},
    "later.tif": {"compression": "zlib", "rowsperstrip": SIZE[1]},
}


def scanned_series(folder: Path) -> tuple[Series, Path]:
    """Write that series and return it as read, and its folder."""
    written = write_scanned_series(folder / "series")
    series = read_series(written).series
    assert series is not None
    return series, written


def without_scans(series: Series, key: str) -> Series:
    """Return a series in which one test has no scan."""
    stocks = (
        replace(stock, tests=tuple(replace(test, scans=()) if test.key == key else test for test in stock.tests))
        for stock in series.stocks
    )
    return replace(series, stocks=tuple(stocks))


@cache
def template() -> TemporaryDirectory[str]:
    """Return where the series lies that tests copy: its scans are drawn once."""
    folder: TemporaryDirectory[str] = TemporaryDirectory(prefix="basefog-tests-")
    _draw_scanned_series(Path(folder.name) / "series")
    return folder


def write_scanned_series(folder: Path) -> Path:
    """Write a series of three tests, each with a print and a calibrated negative of one scene, in six kinds of file."""
    return shutil.copytree(Path(template().name) / "series", folder)


def _draw_scanned_series(folder: Path) -> Path:
    write_small_series(folder)
    with (folder / "series.yaml").open("a", encoding="utf-8") as file:
        file.write(VIEWS)
    later = folder / "stocks/wold-400/2026-04-05"
    later.mkdir()
    for name in ("test.yaml", "wedge.csv"):
        (later / name).write_bytes((folder / "stocks/wold-400/2026-02-03" / name).read_bytes())
    scene = draw_scene(1, SIZE)
    for seed, (test, names) in enumerate(FILES.items()):
        place = folder / "stocks" / test
        (place / "scans").mkdir()
        with (place / "test.yaml").open("a", encoding="utf-8") as file:
            file.write(SCANS.format(**names))
        worse = make_worse(lay(scene, Lie(right_px=4.0 * seed, degrees=0.3 * seed)), seed=seed, grain=0.02)
        codes = np.round(worse * 65535).astype(np.uint16)
        Image.fromarray((codes >> 8).astype(np.uint8)).save(place / "scans" / names["print"], quality=95)
        name = names["negative"]
        tifffile.imwrite(place / "scans" / name, codes, photometric="minisblack", **LAYOUTS[name])
    return folder


def test_each_scan_is_decoded_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a publish sees decodes every strip, tile, stream and picture of every scan once; so does a check."""
    series, folder = scanned_series(tmp_path)
    decoded = count_decoding(monkeypatch)

    with open_steps(tmp_path / "kept", processes=1) as steps:
        made = make_pictures(series, folder, steps)

    scans = {name for names in FILES.values() for name in names.values()}
    counts = {part: times for part, times in decoded.items() if part[0] in scans}
    assert len(made.pictures) == 3 * (3 + 2 + 1 + 1)
    assert {name for name, _ in counts} == scans
    assert sum(name == "wold.tif" for name, _ in counts) == 8 * 5
    assert set(counts.values()) == {1}

    # All that is done for large scans, too.
    monkeypatch.setattr(opened, "MEMORY_BYTES", 0)
    monkeypatch.setattr(tiff, "LARGE_BYTES", 1_000_000)
    decoded.clear()
    with open_steps(tmp_path / "anew", processes=1) as steps:
        assert check_scans(series, folder, steps).problems == ()
    assert {name for name, _ in decoded if name in scans} == scans
    assert {times for (name, _), times in decoded.items() if name in scans} == {1}


@pytest.mark.parametrize("name", ["fell.jpg", "fell.tif", "wold.tif", "later.tif", "later.png"])
def test_a_second_decoding_would_be_counted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """What the test above counts by sees a file that is opened twice."""
    [path] = write_scanned_series(tmp_path / "series").rglob(name)
    monkeypatch.setattr(tiff, "LARGE_BYTES", 1_000_000)
    decoded = count_decoding(monkeypatch)

    for _ in range(2):
        read_regions(path, [Region(left_px=0, top_px=0, width_px=9, height_px=9)], SIZE)

    assert decoded
    assert set(decoded.values()) == {2}


def test_what_was_seen_is_not_looked_at_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second publish, and a check after it, open no scan and read none, and find the same."""
    series, folder = scanned_series(tmp_path)
    done: list[tuple[int, int]] = []
    with open_steps(tmp_path / "kept", processes=1) as steps:
        first = make_pictures(series, folder, steps)
        monkeypatch.setattr("basefog.picture.scan_file.open_scan", None)
        monkeypatch.setattr("basefog.publish.scan_steps.check_input", None)

        second = make_pictures(series, folder, steps, progress=lambda at, of: done.append((at, of)))
        checked = check_scans(series, folder, steps)

    assert digest_of((second.series.stocks, second.figures)) == digest_of((first.series.stocks, first.figures))
    assert digest_of(checked.figures) == digest_of(first.figures)
    assert second.pictures == first.pictures
    assert checked.series.remarks == first.series.remarks
    assert done == [(at, 6) for at in range(1, 7)]


def test_a_check_keeps_no_picture(tmp_path: Path) -> None:
    """It keeps the two scans that others are laid on, as they are laid on them, and what it found."""
    series, folder = scanned_series(tmp_path)

    with open_steps(tmp_path / "kept", processes=1) as steps:
        check_scans(series, folder, steps)

    assert len(list((tmp_path / "kept").rglob("*.file"))) == 2


def test_any_number_of_processes_sees_the_same(tmp_path: Path) -> None:
    """One process and two make the same pictures, figures and registrations."""
    series, folder = scanned_series(tmp_path)
    seen = []

    for processes in (1, 2):
        with open_steps(tmp_path / f"kept{processes}", processes=processes) as steps:
            seen.append(make_pictures(series, folder, steps))

    assert digest_of((seen[0].series.stocks, seen[0].figures)) == digest_of((seen[1].series.stocks, seen[1].figures))
    assert seen[0].pictures == seen[1].pictures


@pytest.mark.parametrize("spoil", [Path.unlink, lambda path: path.write_bytes(b"something else")], ids=["gone", "bad"])
@pytest.mark.parametrize(
    ("scan", "view"),
    [("fell.jpg", "fell-100/2026-02-01/views/whole-900.webp"), ("wold.tif", "wold-400/2026-02-03/views/even.png")],
)
def test_a_picture_that_is_lost_is_made_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, scan: str, view: str, spoil: Callable[[Path], object]
) -> None:
    """A picture gone from the store, or found damaged there when it was read, is cut again from its scan alone."""
    series, folder = scanned_series(tmp_path)
    with open_steps(tmp_path / "kept", processes=1) as steps:
        made = make_pictures(series, folder, steps)
        sha256 = made.pictures[f"stocks/{view}"]
        whole = steps.store.get_file(sha256)
        spoil(steps.store.path_of_file(sha256))
        lost = steps.store.get_file(sha256)
        read: list[str] = []
        monkeypatch.setattr("basefog.publish.scan_steps.check_input", lambda name, _: read.append(name))

        again = make_pictures(series, folder, steps)

        assert lost is None
        assert [PurePosixPath(path).name for path in read] == [scan]
        assert again.pictures == made.pictures
        assert steps.store.get_file(sha256) == whole
        assert whole is not None


@pytest.mark.parametrize("is_damaged", [False, True])
def test_what_scans_are_laid_on_is_made_again_where_it_is_lost(tmp_path: Path, is_damaged: bool) -> None:
    """A new scan is laid on the reference's as before, though what was kept of that is gone or damaged."""
    series, folder = scanned_series(tmp_path)
    later = series.stock("wold-400").tests[-1]
    fewer = without_scans(series, later.key)
    with open_steps(tmp_path / "new", processes=1) as steps:
        expected = make_pictures(series, folder, steps)
    with open_steps(tmp_path / "kept", processes=1) as steps:
        before = make_pictures(fewer, folder, steps)
        pictures = set(before.pictures.values())
        others = [path for path in (tmp_path / "kept").rglob("*.file") if path.parent.name + path.stem not in pictures]
        assert len(others) == 2
        for path in others:
            path.unlink()
            if is_damaged:
                path.write_bytes(b"something else")

        found = make_pictures(series, folder, steps)

    assert found.pictures == expected.pictures
    assert digest_of(found.series.stocks) == digest_of(expected.series.stocks)


def test_all_are_laid_again_where_the_references_scan_changed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another print of the reference opens every print, and no negative."""
    series, folder = scanned_series(tmp_path)
    with open_steps(tmp_path / "kept", processes=1) as steps:
        make_pictures(series, folder, steps)
        path = folder / "stocks/fell-100/2026-02-01/scans/fell.jpg"
        with Image.open(path) as picture:
            picture.load()
        picture.save(path, quality=90)
        read = read_series(folder).series
        assert read is not None
        names: list[str] = []

        def open_and_tell(path: Path, **options: Any) -> Any:
            names.append(path.name)
            return open_scan(path, **options)

        monkeypatch.setattr("basefog.picture.scan_file.open_scan", open_and_tell)
        make_pictures(read, folder, steps)

    assert names == ["fell.jpg", "wold.jpg", "later.png"]


def test_a_damaged_scan_is_told_with_its_file_and_the_mend(tmp_path: Path) -> None:
    """A check tells it with the problems of the series; a publish stops; neither decodes it a second time."""
    folder = write_scanned_series(tmp_path / "series")
    path = folder / "stocks/wold-400/2026-02-03/scans/wold.tif"
    data = io.BytesIO(path.read_bytes())
    data.seek(60_000)
    data.write(bytes(100_000))
    path.write_bytes(data.getvalue())
    read = read_series(folder).series
    assert read is not None

    with open_steps(tmp_path / "kept", processes=1) as steps:
        for _ in range(2):
            [told] = check_scans(read, folder, steps).problems
            with pytest.raises(UnreadableScan) as stop:
                make_pictures(read, folder, steps)

    assert (told.level, told.path, told.line) == ("problem", "stocks/wold-400/2026-02-03/scans/wold.tif", 1)
    assert told.message.startswith("scan is damaged")
    problem, mend = stop.value.lines
    assert problem == f"{told.path}:1:1: problem: {told.message}"
    assert mend == "    Save the scan again as TIFF or PNG, or scan it anew."


@pytest.mark.parametrize("processes", [1, 2])
@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda path: path.write_bytes(path.read_bytes() + b"x"), "was changed while it was being published"),
        (lambda path: path.unlink(), "can't be read any more (No such file or directory)"),
    ],
)
def test_a_scan_that_changed_meanwhile_stops_the_publish(
    tmp_path: Path, spoil: Callable[[Path], object], told: str, processes: int
) -> None:
    """No picture is cut from a scan that the pages were not planned with, whichever process would cut it."""
    series, folder = scanned_series(tmp_path)
    scan = "stocks/wold-400/2026-02-03/scans/wold.jpg"
    spoil(folder / scan)

    with open_steps(tmp_path / "kept", processes=processes) as steps, pytest.raises(ContentChanged) as stop:
        make_pictures(series, folder, steps)

    assert stop.value.lines == (f"{scan}: {told}; publish again",)


def test_what_the_system_refuses_is_not_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A scan that could not be read for a moment is looked at again the next time; it is no damaged one."""
    series, folder = scanned_series(tmp_path)

    def refuse(path: Path, **_: object) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO), str(path))

    with open_steps(tmp_path / "kept", processes=1) as steps:
        with monkeypatch.context() as patch:
            patch.setattr("basefog.picture.scan_file.open_scan", refuse)
            with pytest.raises(ContentChanged, match=r"fell.jpg: can't be read any more \(Input/output error\)"):
                make_pictures(series, folder, steps)

        assert len(make_pictures(series, folder, steps).pictures) == 21


def test_pictures_that_find_no_room_stop_the_publish(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A store that can't be written is told by its name."""
    series, folder = scanned_series(tmp_path)
    monkeypatch.setattr(Store, "put_file", lambda _store, _data: None)

    with open_steps(tmp_path / "kept", processes=1) as steps, pytest.raises(NoRoom, match="kept can't be written"):
        make_pictures(series, folder, steps)
