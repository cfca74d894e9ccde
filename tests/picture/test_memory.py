"""A large scan needs less room than it has; `bench_memory` measures whole publishes of every kind of file."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

MEASURED = """
import sys
import cv2, tifffile, imagecodecs
from basefog.picture.cuts import encode_cut, region_of_cut
from basefog.scanfiles import open_scan
from basefog.picture.sketches import read_sketch
from basefog.picture.views import plan_views
from picture.plans import make_scan, make_test, make_view
path, width, height = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
views = (make_view(shows="tone", view_id="whole"), make_view((0.4, 0.4, 0.1, 0.1)))
plans = plan_views(make_test(make_scan(size=(width, height))), None, views)
def peak_kb():
    # Of this program alone: what getrusage tells also holds the peak of the process that started it.
    status = open("/proc/self/status", encoding="utf-8").read()
    return int(status.split("VmHWM:")[1].split()[0])
before = peak_kb()
with open_scan(path, width_px=width, height_px=height) as opened:
    read_sketch(opened)
    for plan, read in zip(plans, opened.read([region_of_cut(plan) for plan in plans]), strict=True):
        encode_cut(plan, read)
print(before, peak_kb())
"""


@pytest.mark.parametrize(
    "layout",
    [{}, {"tile": (512, 512)}, {"compression": "zlib", "compressionargs": {"level": 1}, "rowsperstrip": 10_000}],
    ids=["one strip", "tiles", "one deflated strip"],
)
def test_a_large_scan_needs_less_room_than_it_has(tmp_path: Path, layout: dict[str, Any]) -> None:
    """A 16-bit scan of 300 megabytes is sketched and cut in less than its own size; 600 are allowed in all.

    What is needed does not grow with the scan: it is the block means that a view is made from.
    """
    rows = np.linspace(0, 65535, 10_000).astype(np.uint16)
    codes = np.broadcast_to(rows[:, np.newaxis], (10_000, 15_000))
    tifffile.imwrite(tmp_path / "scan.tif", codes, photometric="minisblack", **layout)

    ran = subprocess.run(
        [sys.executable, "-c", MEASURED, str(tmp_path / "scan.tif"), "15000", "10000"],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": ":".join(sys.path)},
    )

    before_kb, after_kb = map(int, ran.stdout.split())
    assert codes.size * codes.itemsize == 300_000_000
    assert after_kb - before_kb < 200_000
    assert after_kb < 600_000
