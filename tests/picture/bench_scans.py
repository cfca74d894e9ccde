"""What two scans of 24 megapixels cost against the least they could: `python -m picture.bench_scans [MEGAPIXELS]`.

Reports seconds of processor time, in one run on one machine: sketching and aligning both scans of a test, cutting and
encoding its views; and the floor, which decodes each scan once with the same libraries, and brings down and encodes
pictures of the same sizes from the same share of the scan, with nothing aligned and nothing turned. The print is a
JPEG once and a deflated 16-bit TIFF once, the negative a deflated 16-bit TIFF. The reference's sketches are made
beforehand, as a series makes them once.
"""

import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import cv2
import imagecodecs  # noqa: F401  (loaded beforehand, so that its loading is not timed)
import numpy as np
import scipy.fft  # noqa: F401  (as above)
import tifffile
from PIL import Image

from basefog.picture.cuts import WEBP_METHOD, WEBP_QUALITY, cut_scan
from basefog.picture.registration import Reference, align_sketch, make_reference
from basefog.picture.sketches import read_sketch
from basefog.picture.views import ViewPlan, plan_views
from basefog.records.content import Scan, View
from picture.plans import make_scan, make_test, make_view
from picture.scenes import Lie, draw_scene, lay, make_worse

PRINT_BOXES = {
    "whole": (0.0, 0.0, 1.0, 1.0),
    "head": (0.088, 0.171, 0.224, 0.360),
    "fold": (0.458, 0.709, 0.282, 0.250),
    "fruit": (0.255, 0.521, 0.313, 0.355),
    "page": (0.695, 0.190, 0.158, 0.322),
    "greys": (0.689, 0.521, 0.262, 0.089),
    "strip": (0.688, 0.607, 0.262, 0.097),
}
NEGATIVE_BOXES = {
    "even": (0.591, 0.095, 0.281, 0.284),
    "fine": (0.116, 0.595, 0.302, 0.219),
    "edge": (0.5, 0.5, 0.3, 0.3),
}


def main(arguments: list[str]) -> None:
    """Make the scans, time both ways, say what was seen."""
    megapixels = float(arguments[0]) if arguments else 24.0
    width = round((megapixels * 1e6 * 1.5) ** 0.5)
    size = (width, round(width / 1.5))
    with tempfile.TemporaryDirectory() as folder:
        for suffix in ("jpg", "tif"):
            _report(Path(folder), suffix, size)


def _report(folder: Path, suffix: str, size: tuple[int, int]) -> None:
    first_paths, paths = _write_scans(folder, suffix, size)
    tones = tuple(make_view(box, of="print", shows="tone", view_id=name) for name, box in PRINT_BOXES.items())
    grains = tuple(make_view(box, shows="grain", view_id=name) for name, box in NEGATIVE_BOXES.items())
    works = []
    for index, views in enumerate((tones, grains)):
        first = make_scan(path=str(first_paths[index]), of=views[0].of, size=size)
        scan = replace(first, path=str(paths[index]), sha256="1" * 64)
        works.append((first, scan, views, make_reference(_sketch(first))))
    plans: list[tuple[ViewPlan, ...]] = []

    aligning = _time(lambda: plans.extend(_align(*work) for work in works))
    cutting = _time(lambda: [cut_scan(plan[0].scan.path, plan) for plan in plans])
    floor = _time(lambda: list(map(_do_least, plans)))
    pictures = sum(len(plan.files) for work in plans for plan in work)
    sys.stdout.write(
        f"print as {suffix}, 2 scans of {size[0]} x {size[1]}, {pictures} pictures: align {aligning:.2f} s, "
        f"cut {cutting:.2f} s; floor {floor:.2f} s; ratio {(aligning + cutting) / floor:.2f}\n"
    )


def _write_scans(folder: Path, suffix: str, size: tuple[int, int]) -> tuple[tuple[Path, Path], tuple[Path, Path]]:
    small = draw_scene(1, (1500, 1000))
    scene = np.clip(np.asarray(cv2.resize(small, size, interpolation=cv2.INTER_CUBIC), dtype=np.float64), 0.0, 1.0)
    laid = lay(scene, Lie(right_px=40, down_px=-25, degrees=0.7, scale=1.004))
    paths = []
    for index, picture in enumerate((scene, laid)):
        worse = make_worse(picture, seed=index, grain=0.02)
        codes = np.round(worse * 65535).astype(np.uint16)
        printed, negative = folder / f"print{index}.{suffix}", folder / f"negative{index}.tif"
        tifffile.imwrite(negative, codes, compression="zlib", predictor=True, rowsperstrip=64)
        if suffix == "jpg":
            Image.fromarray((codes >> 8).astype(np.uint8)).save(printed, quality=92)
        else:
            tifffile.imwrite(printed, codes, compression="zlib", predictor=True, rowsperstrip=64)
        paths.append((printed, negative))
    return paths[0], paths[1]


def _sketch(scan: Scan) -> Any:
    return read_sketch(scan.path, width_px=scan.width_px, height_px=scan.height_px)


def _align(first: Scan, scan: Scan, views: tuple[View, ...], reference: Reference) -> tuple[ViewPlan, ...]:
    found = align_sketch(reference, _sketch(scan), scan_px_per_reference_px=1.0)
    return plan_views(make_test(replace(scan, registration=found)), make_test(first), views)


def _do_least(plans: tuple[ViewPlan, ...]) -> None:
    """Decode once, bring down, encode: no more than any program must that makes these files."""
    path = Path(plans[0].scan.path)
    if path.suffix == ".tif":
        with tifffile.TiffFile(path) as tiff:
            codes = tiff.pages.first.asarray()
    else:
        with Image.open(path) as picture:
            codes = np.asarray(picture)
    for plan in plans:
        part = codes[plan.top_px : plan.top_px + plan.height_px, plan.left_px : plan.left_px + plan.width_px]
        out = BytesIO()
        if plan.lossless:
            Image.fromarray((part >> 8).astype(np.uint8)).save(out, "PNG", optimize=True)
            continue
        for file in plan.files:
            small = np.asarray(cv2.resize(part, (file.width_px, file.height_px), interpolation=cv2.INTER_AREA))
            grey = np.asarray(small // 257 if small.dtype == np.uint16 else small, dtype=np.uint8)
            Image.fromarray(grey).save(out, "WEBP", quality=WEBP_QUALITY, method=WEBP_METHOD)


def _time(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


if __name__ == "__main__":
    main(sys.argv[1:])
