"""The pictures of a site from the scans of a series: each scan is decoded once, whatever is made of it."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from basefog.cli import main
from basefog.scanfiles import Region, opened, tiff
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


def write_scanned_series(folder: Path) -> Path:
    """Write a series of three tests, each with a print and a calibrated negative of one scene, in six kinds of file."""
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
    """A whole publish decodes every strip, tile, stream and picture of every scan once; so does verify."""
    series = write_scanned_series(tmp_path / "series")
    decoded = count_decoding(monkeypatch)

    status = main(["publish", str(series), "--to", str(tmp_path / "site"), "--quiet"])

    scans = {name for names in FILES.values() for name in names.values()}
    counts = {part: times for part, times in decoded.items() if part[0] in scans}
    assert status == 0
    assert len(list((tmp_path / "site").rglob("views/*.*"))) == 3 * (3 + 2 + 1 + 1)
    assert {name for name, _ in counts} == scans
    assert sum(name == "wold.tif" for name, _ in counts) == 8 * 5
    assert set(counts.values()) == {1}

    # All that is done for large scans, too.
    monkeypatch.setattr(opened, "MEMORY_BYTES", 0)
    monkeypatch.setattr(tiff, "LARGE_BYTES", 1_000_000)
    decoded.clear()
    assert main(["verify", str(series), "--quiet"]) == 0
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


def test_verify_tells_a_damaged_scan_and_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A scan whose pixels can't be read is a problem of the series: told with the others, exit 1."""
    series = write_scanned_series(tmp_path / "series")
    path = series / "stocks/wold-400/2026-02-03/scans/wold.tif"
    data = io.BytesIO(path.read_bytes())
    data.seek(60_000)
    data.write(bytes(100_000))
    path.write_bytes(data.getvalue())

    statuses = [main(["verify", str(series)]), main(["publish", str(series), "--to", str(tmp_path / "site")])]

    told = capsys.readouterr()
    assert statuses == [1, 1]
    assert told.err.count("stocks/wold-400/2026-02-03/scans/wold.tif:1:1: problem: scan is damaged") == 2
    assert "    Save the scan again as TIFF or PNG, or scan it anew.\n" in told.err
    assert "1 problem, " in told.err
    assert not (tmp_path / "site").exists()
