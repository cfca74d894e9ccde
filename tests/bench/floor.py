"""The least that any program must do that makes the same site, in one process.

Each scan is decoded once, each picture resized and encoded once, each chart drawn once by plain matplotlib.
"""

import json
import time
from io import BytesIO
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image

from basefog.picture.cuts import WEBP_METHOD, WEBP_QUALITY
from bench.content import list_scans


def time_floor(content: Path, site: Path) -> tuple[float, float]:
    """Return the seconds that pictures and charts take, for a series and the site that was made of it."""
    begun = time.perf_counter()
    for scan in list_scans(content):
        _cut(_decode(scan), site, scan)
    pictured = time.perf_counter()
    for data in sorted((site / "data").glob("*/*.json")):
        for chart in sorted(site.glob(f"stocks/{data.parent.name}/{data.stem}/*.svg")):
            _draw(json.loads(data.read_bytes()), chart)
    return pictured - begun, time.perf_counter() - pictured


def _decode(scan: Path) -> NDArray[Any]:
    if scan.suffix == ".tif":
        with tifffile.TiffFile(scan) as tiff:
            return np.asarray(tiff.pages.first.asarray())
    with Image.open(scan) as picture:
        return np.asarray(picture)


def _cut(codes: NDArray[Any], site: Path, scan: Path) -> None:
    """Bring down and encode pictures of the sizes that the site has of this scan's test, half of them each."""
    slug, test = scan.parts[-4:-2]
    pictures = sorted((site / "stocks" / slug / test / "views").glob("*.*"))
    is_print = scan.suffix != ".tif"
    for path in pictures:
        lossless = path.suffix == ".png"
        if lossless == is_print:
            continue
        with Image.open(path) as picture:
            width, height = picture.size
        out = BytesIO()
        if lossless:
            part = codes[:height, :width]
            Image.fromarray((part >> 8).astype(np.uint8)).save(out, "PNG", optimize=True)
        else:
            # From about the share of the scan that a picture of this size shows of the whole.
            share = min(1.0, width / 1380)
            part = codes[: max(height, int(share * codes.shape[0])), : max(width, int(share * codes.shape[1]))]
            small = np.asarray(cv2.resize(part, (width, height), interpolation=cv2.INTER_AREA))
            Image.fromarray(small.astype(np.uint8)).save(out, "WEBP", quality=WEBP_QUALITY, method=WEBP_METHOD)


def _draw(test: dict[str, Any], chart: Path) -> None:
    """Draw one chart of a test's own numbers as anybody would: two lines with a band, labelled axes, as SVG."""
    from matplotlib.figure import Figure

    curve = test["curve"]
    figure = Figure(figsize=(6.4, 4.2))
    axes = figure.add_subplot()
    if "log_exposure" in curve:
        x, y = np.array(curve["log_exposure"]), np.array(curve["density"])
        axes.fill_between(x, y - 0.02, y + 0.02, alpha=0.3)
        axes.plot(x, y, label=chart.stem)
        axes.plot(x, y + 0.1, label="reference")
    axes.set_xlabel("log exposure")
    axes.set_ylabel("density")
    axes.legend()
    axes.grid(visible=True)
    figure.savefig(BytesIO(), format="svg")
