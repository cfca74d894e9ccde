"""Regions read in one pass are what decoding whole and slicing gives, and need no more room than they have."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from basefog.picture.blocks import average_blocks
from basefog.picture.regions import Region, read_regions
from basefog.picture.scans import decode_scan
from basefog.picture.sketches import read_sketch
from picture.test_scans import LIBTIFF, ramp

LAYOUTS: dict[str, dict[str, Any]] = {
    "one strip": {},
    "strips": {"rowsperstrip": 7},
    "lzw": {"compression": "lzw", "predictor": True, "rowsperstrip": 9},
    "deflate": {"compression": "zlib", "predictor": True, "rowsperstrip": 1},
    "tiles": {"tile": (32, 16)},
    "deflated tiles": {"compression": "zlib", "tile": (16, 48)},
}
REGIONS = (
    Region(left_px=0, top_px=0, width_px=131, height_px=97),
    Region(left_px=20, top_px=31, width_px=40, height_px=29),
    Region(left_px=0, top_px=0, width_px=131, height_px=97, block_px=5),
    Region(left_px=17, top_px=50, width_px=83, height_px=47, block_px=4),
)


def expected_of(whole: Any, region: Region) -> Any:
    part = whole[region.top_px : region.top_px + region.height_px, region.left_px : region.left_px + region.width_px]
    return part if region.block_px == 1 else average_blocks(part, region.block_px)


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)
@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("kind", ["uint8", "uint16", "float32", "colour"])
def test_regions_are_slices_of_the_whole(tmp_path: Path, layout: dict[str, Any], byteorder: Any, kind: str) -> None:
    """Whatever the layout, depth and byte order, a region is the slice of the decoded scan, or its block means."""
    codes: Any = ramp("uint16" if kind in {"float32", "colour"} else kind, 97, 131)
    if kind == "float32":
        codes = (codes / 7.0).astype(np.float32)
        layout = {name: value for name, value in layout.items() if name != "predictor"}
    if kind == "colour":
        codes = np.stack([codes, codes // 2, codes // 3], axis=-1)
    photometric = "rgb" if kind == "colour" else "minisblack"
    tifffile.imwrite(tmp_path / "scan.tif", codes, byteorder=byteorder, photometric=photometric, **layout)

    read = read_regions(tmp_path / "scan.tif", REGIONS, width_px=131, height_px=97)

    whole = decode_scan(tmp_path / "scan.tif")
    for region, found in zip(REGIONS, read.codes, strict=True):
        if region.block_px == 1:
            assert found.dtype == whole.dtype
            np.testing.assert_array_equal(found, expected_of(whole, region))
        else:
            np.testing.assert_allclose(found, expected_of(whole, region), rtol=1e-6)
    assert read.white == {"uint8": 255.0, "float32": None}.get(kind, 65535.0)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("suffix", ["tif", "png"])
def test_regions_lie_on_the_upright_picture(tmp_path: Path, orientation: int, suffix: str) -> None:
    """All eight orientations: blocks too start at the upright picture's corner, partial ones come last."""
    codes = ramp("uint8", 97, 131)
    path = tmp_path / f"scan.{suffix}"
    if suffix == "tif":
        tags = [(274, "H", 1, orientation, True)]
        tifffile.imwrite(path, codes, photometric="minisblack", rowsperstrip=10, compression="lzw", extratags=tags)
    else:
        exif = Image.Exif()
        exif[274] = orientation
        Image.fromarray(codes).save(path, exif=exif)
    whole = decode_scan(path)
    regions = (
        Region(left_px=3, top_px=5, width_px=70, height_px=61),
        Region(left_px=3, top_px=5, width_px=71, height_px=62, block_px=6),
    )

    read = read_regions(path, regions, width_px=whole.shape[1], height_px=whole.shape[0])

    np.testing.assert_array_equal(read.codes[0], expected_of(whole, regions[0]))
    np.testing.assert_allclose(read.codes[1], expected_of(whole, regions[1]), rtol=1e-6)


@pytest.mark.parametrize(
    "name",
    [
        "minisblack-1c-16b.tiff",
        "palette-1c-8b.tiff",
        "quad-tile.jpg.tiff",
        "deflate-last-strip-extra-data.tiff",
        "minisblack-2c-8b-alpha.tiff",
    ],
)
def test_libtiffs_own_pictures_read_alike(name: str) -> None:
    """Palettes, JPEG in tiles, planes apart and a strip with bytes to spare read by region as they do whole."""
    whole = decode_scan(LIBTIFF / name)
    height, width = whole.shape
    region = Region(left_px=width // 4, top_px=height // 3, width_px=width // 2, height_px=height // 2)

    [found] = read_regions(LIBTIFF / name, [region], width_px=width, height_px=height).codes

    np.testing.assert_array_equal(found, expected_of(whole, region))


def test_strips_that_no_region_touches_are_not_read(tmp_path: Path) -> None:
    """A strip damaged beyond reading does no harm to a region that does not need it, and is told by one that does."""
    tifffile.imwrite(tmp_path / "scan.tif", ramp("uint8", 64, 64), compression="zlib", rowsperstrip=8)
    with tifffile.TiffFile(tmp_path / "scan.tif") as tiff:
        at, count = tiff.pages.first.dataoffsets[7], tiff.pages.first.databytecounts[7]
    data = bytearray((tmp_path / "scan.tif").read_bytes())
    data[at : at + count] = bytes(count)
    (tmp_path / "scan.tif").write_bytes(data)
    above = Region(left_px=0, top_px=0, width_px=64, height_px=56)
    whole = Region(left_px=0, top_px=0, width_px=64, height_px=64)

    [found] = read_regions(tmp_path / "scan.tif", [above], width_px=64, height_px=64).codes

    np.testing.assert_array_equal(found, ramp("uint8", 64, 64)[:56])
    with pytest.raises(ValueError, match="scan is"):
        read_regions(tmp_path / "scan.tif", [whole], width_px=64, height_px=64)


def test_another_size_than_known_is_refused(tmp_path: Path) -> None:
    """A file that changed since its header was read is told, in TIFF and in other formats."""
    tifffile.imwrite(tmp_path / "scan.tif", ramp("uint8", 20, 30))
    Image.fromarray(ramp("uint8", 20, 30)).save(tmp_path / "scan.png")

    for name in ("scan.tif", "scan.png"):
        with pytest.raises(ValueError, match="scan is 30 x 20 pixels, planned with 300 x 200"):
            read_sketch(tmp_path / name, width_px=300, height_px=200)


MEASURED = """
import sys
from basefog.picture.cuts import cut_scan
from basefog.picture.sketches import read_sketch
from basefog.picture.views import plan_views
from picture.plans import make_scan, make_test, make_view
import cv2, tifffile, imagecodecs
path, width, height = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
views = (make_view(shows="tone", view_id="whole"), make_view((0.4, 0.4, 0.1, 0.1)))
def peak_kb():
    # Of this program alone: what getrusage tells also holds the peak of the process that started it.
    status = open("/proc/self/status", encoding="utf-8").read()
    return int(status.split("VmHWM:")[1].split()[0])
before = peak_kb()
read_sketch(path, width_px=width, height_px=height)
cut_scan(path, plan_views(make_test(make_scan(size=(width, height))), None, views))
print(before, peak_kb())
"""


@pytest.mark.parametrize("layout", [{}, {"tile": (512, 512)}], ids=["one strip", "tiles"])
def test_a_large_scan_needs_less_room_than_it_has(tmp_path: Path, layout: dict[str, Any]) -> None:
    """A 16-bit scan of 300 megabytes is sketched and cut in less than its own size; 600 are allowed in all.

    What is needed does not grow with the scan: it is the block means that a view is made from.
    """
    rows = np.linspace(0, 65535, 10_000).astype(np.uint16)
    tifffile.imwrite(tmp_path / "scan.tif", np.broadcast_to(rows[:, np.newaxis], (10_000, 15_000)), **layout)

    ran = subprocess.run(
        [sys.executable, "-c", MEASURED, str(tmp_path / "scan.tif"), "15000", "10000"],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": ":".join(sys.path)},
    )

    before_kb, after_kb = map(int, ran.stdout.split())
    assert (tmp_path / "scan.tif").stat().st_size >= 300_000_000
    assert after_kb - before_kb < 300_000
    assert after_kb < 600_000
