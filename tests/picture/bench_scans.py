"""What a test's two scans of 24 megapixels cost against the least they could: `python -m picture.bench_scans [MP]`.

In are, as a publish does them (`make_pictures`, in one process): the digest by which it knows that a scan is still the
one that was read, decoding each scan, making it small, laying it on the reference's, planning its views, cutting and
encoding them, and keeping what was made. The floor decodes each scan once with the same libraries, and brings
down and encodes pictures of the same sizes from the same share of the scan; nothing is aligned and nothing turned.

Out of both are the reference's own scans, which come once a series, and measuring grain and sharpness, for the scans
are uncalibrated.

The print is a JPEG once and a deflated 16-bit TIFF once, the negative a deflated 16-bit TIFF. Both ways are run in turn
five times, and the least processor time of each counts.
"""

import sys
import tempfile
import time
from io import BytesIO
from pathlib import Path

import cv2
import imagecodecs  # noqa: F401  (loaded beforehand, so that its loading is not timed)
import numpy as np
import scipy.fft  # noqa: F401  (as above)
import tifffile
from PIL import Image

from basefog.picture import ViewPlan, plan_views
from basefog.picture.cuts import WEBP_METHOD, WEBP_QUALITY
from basefog.publish import make_pictures
from basefog.read import read_series
from basefog.records.content import Series
from basefog.site.steps import open_steps
from picture.scenes import Lie, draw_scene, lay, make_worse
from small_series import write_small_series

ROUNDS = 5
VIEWS = """\
views:
  - {id: whole, name: Whole, box: [0, 0, 1, 1]}
  - {id: head, name: Head, box: [0.088, 0.171, 0.224, 0.360]}
  - {id: fold, name: Fold, box: [0.458, 0.709, 0.282, 0.250]}
  - {id: fruit, name: Fruit, box: [0.255, 0.521, 0.313, 0.355]}
  - {id: page, name: Page, box: [0.695, 0.190, 0.158, 0.322]}
  - {id: greys, name: Greys, box: [0.689, 0.521, 0.262, 0.089]}
  - {id: strip, name: Strip, box: [0.688, 0.607, 0.262, 0.097]}
  - {id: even, name: Even, of: negative, shows: grain, box: [0.591, 0.095, 0.281, 0.284]}
  - {id: fine, name: Fine, of: negative, shows: grain, box: [0.116, 0.595, 0.302, 0.219]}
  - {id: edge, name: Edge, of: negative, shows: sharpness, box: [0.5, 0.5, 0.3, 0.3]}
"""
TESTS = ("fell-100/2026-02-01", "wold-400/2026-02-03")


def main(arguments: list[str]) -> None:
    """Make the scans, time both ways, say what was seen."""
    megapixels = float(arguments[0]) if arguments else 24.0
    width = round((megapixels * 1e6 * 1.5) ** 0.5)
    size = (width, round(width / 1.5))
    for suffix in ("jpg", "tif"):
        with tempfile.TemporaryDirectory() as folder:
            _report(Path(folder), suffix, size)


def _report(folder: Path, suffix: str, size: tuple[int, int]) -> None:
    series = _write_series(folder, suffix, size)
    seconds, floors = [], []
    for _ in range(ROUNDS):
        spent, plans = _see(series, folder)
        seconds.append(spent)
        begun = time.process_time()
        _do_least(folder, plans)
        floors.append(time.process_time() - begun)
    pictures = sum(len(plan.files) for plan in plans)
    sys.stdout.write(
        f"print as {suffix}, 2 scans of {size[0]} x {size[1]}, {pictures} pictures: {min(seconds):.2f} s; "
        f"floor {min(floors):.2f} s; ratio {min(seconds) / min(floors):.2f}\n"
    )


def _write_series(folder: Path, suffix: str, size: tuple[int, int]) -> Series:
    write_small_series(folder)
    with (folder / "series.yaml").open("a", encoding="utf-8") as file:
        file.write(VIEWS)
    small = draw_scene(1, (1500, 1000))
    scene = np.clip(np.asarray(cv2.resize(small, size, interpolation=cv2.INTER_CUBIC), dtype=np.float64), 0.0, 1.0)
    laid = lay(scene, Lie(right_px=40, down_px=-25, degrees=0.7, scale=1.004))
    for seed, (test, picture) in enumerate(zip(TESTS, (scene, laid), strict=True)):
        place = folder / "stocks" / test
        with (place / "test.yaml").open("a", encoding="utf-8") as file:
            file.write(f"scans:\n  - {{file: print.{suffix}, of: print}}\n  - {{file: negative.tif, of: negative}}\n")
        codes = np.round(make_worse(picture, seed=seed, grain=0.02) * 65535).astype(np.uint16)
        tifffile.imwrite(place / "negative.tif", codes, compression="zlib", predictor=True, rowsperstrip=64)
        if suffix == "jpg":
            Image.fromarray((codes >> 8).astype(np.uint8)).save(place / "print.jpg", quality=92)
        else:
            # Not the same bytes as the negative: the same file twice would need no registration.
            tifffile.imwrite(place / "print.tif", codes, compression="zlib", predictor=True, rowsperstrip=60)
    series = read_series(folder).series
    if series is None:
        raise SystemExit("the series can't be read")
    return series


def _see(series: Series, folder: Path) -> tuple[float, tuple[ViewPlan, ...]]:
    """Return what the second test's scans took, and its views."""
    stamps: list[float] = []
    with open_steps(None, processes=1) as steps:
        seen = make_pictures(series, folder, steps, progress=lambda _done, _total: stamps.append(time.process_time()))
    slug, test_id = TESTS[1].split("/")
    test = seen.series.stock(slug).test(test_id)
    plans = plan_views(test, seen.series.reference_stock.current_test, series.views)
    if len(stamps) != 4 or len(plans) != len(series.views):
        raise SystemExit("a view is missing")
    return stamps[3] - stamps[1], plans


def _do_least(folder: Path, plans: tuple[ViewPlan, ...]) -> None:
    """Decode once, bring down, encode: no more than any program must that makes these files."""
    for path in sorted({plan.scan.path for plan in plans}):
        if path.endswith(".tif"):
            with tifffile.TiffFile(folder / path) as tiff:
                codes = tiff.pages.first.asarray()
        else:
            with Image.open(folder / path) as picture:
                codes = np.asarray(picture)
        for plan in plans:
            if plan.scan.path == path:
                _encode(codes, plan)


def _encode(codes: np.ndarray[tuple[int, ...], np.dtype[np.uint16]], plan: ViewPlan) -> None:
    part = codes[plan.top_px : plan.top_px + plan.height_px, plan.left_px : plan.left_px + plan.width_px]
    out = BytesIO()
    if plan.lossless:
        Image.fromarray((part >> 8).astype(np.uint8)).save(out, "PNG", optimize=True)
        return
    for file in plan.files:
        small = np.asarray(cv2.resize(part, (file.width_px, file.height_px), interpolation=cv2.INTER_AREA))
        grey = np.asarray(small // 257 if small.dtype == np.uint16 else small, dtype=np.uint8)
        Image.fromarray(grey).save(out, "WEBP", quality=WEBP_QUALITY, method=WEBP_METHOD)


if __name__ == "__main__":
    main(sys.argv[1:])
