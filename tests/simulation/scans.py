"""The demo's scans as files: negatives as 16-bit TIFF, prints as 8-bit JPEG, and where the views lie on them."""

import io
from collections.abc import Callable, Iterator, Mapping
from typing import Final

import imagecodecs  # noqa: F401  (tifffile's deflate with predictor comes from it)
import numpy as np
import tifffile
from PIL import Image

from simulation import card
from simulation.negative import SCAN_MM, scan_negative
from simulation.prints import MAGNIFICATION, SCAN_PIXELS_PER_MM, SCAN_PX, scan_print
from simulation.render import project
from simulation.still_life import from_card
from simulation.subject import FRAME_MM, Subject
from simulation.truths import TESTS, TestTruth

JPEG_QUALITY: Final = 88

Box = tuple[float, float, float, float]


def list_scans() -> tuple[tuple[TestTruth, str, str], ...]:
    """Return every scan of the demo: its test, its kind and its path in the content folder."""
    scans = []
    for test in TESTS:
        folder = f"stocks/{test.stock}/{test.id}/scans"
        if test.print:
            scans.append((test, "print", f"{folder}/print.jpg"))
        if test.negative:
            scans.append((test, "negative", f"{folder}/negative.tif"))
    return tuple(scans)


def render_scans(subject: Subject, *, tell: Callable[[str], object] = str) -> Iterator[tuple[str, bytes]]:
    """Yield the path and bytes of every scan."""
    for test, kind, path in list_scans():
        tell(path)
        yield path, (_render_print(subject, test) if kind == "print" else _render_negative(subject, test))


def _render_negative(subject: Subject, test: TestTruth) -> bytes:
    buffer = io.BytesIO()
    tifffile.imwrite(
        buffer,
        scan_negative(subject, test),
        photometric="minisblack",
        compression="zlib",
        compressionargs={"level": 9},
        predictor=True,
        rowsperstrip=64,
        metadata=None,
        software="",
    )
    return buffer.getvalue()


def _render_print(subject: Subject, test: TestTruth) -> bytes:
    buffer = io.BytesIO()
    Image.fromarray(scan_print(subject, test)).save(buffer, "JPEG", quality=JPEG_QUALITY, optimize=True)
    return buffer.getvalue()


def compute_view_boxes() -> Mapping[str, Box]:
    """Return where the card's regions lie on the reference's scans, as fractions x, y, w, h of the scan."""
    inset = 0.12
    return {
        "even": _on_negative(card.EVEN_TONE, inset),
        "edge": _on_negative(card.SLANTED_EDGE, inset),
        "fine": _on_negative((0.92, 1.45, 1.50, 1.95), 0.0),
        "lettering": _on_print(card.PAGE, 0.0),
        "greys": _on_print(card.GREY_SCALE, -0.04),
        "strip": _on_print(card.STRIP, -0.04),
    }


def _film_box(region: card.Region, inset: float) -> Box:
    left, bottom, right, top = region
    corners = [(u, v) for u in (left + inset, right - inset) for v in (bottom + inset, top - inset)]
    points = np.array([project(from_card(u, v)) for u, v in corners]) * np.array(FRAME_MM)
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0] - low[0]), float(high[1] - low[1])


def _on_negative(region: card.Region, inset: float) -> Box:
    x, y, w, h = _film_box(region, inset)
    left, top, width, height = SCAN_MM
    return (x - left) / width, (y - top) / height, w / width, h / height


def _on_print(region: card.Region, inset: float) -> Box:
    x, y, w, h = _film_box(region, inset)
    per_mm = SCAN_PIXELS_PER_MM * MAGNIFICATION
    width, height = SCAN_PX[0] / per_mm, SCAN_PX[1] / per_mm
    left, top = (FRAME_MM[0] - width) / 2, (FRAME_MM[1] - height) / 2
    return (x - left) / width, (y - top) / height, w / width, h / height
