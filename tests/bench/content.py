"""A large series made of the demo's: its readings and scans again and again, each a little other than before."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import tifffile
from PIL import Image

from basefog.records.content import FloatArray

DEMO = Path(__file__).parents[2] / "content"
PRINT_PX, NEGATIVE_PX = (3000, 2000), (2262, 2658)
"""Six megapixels each, in the shapes of the demo's."""

REFERENCE = "corvane-200/2026-03-07"
SOURCES = (
    "brindle-160/2026-03-28",
    "fennick-80/2026-04-18",
    "gannick-1600/2026-07-04",
    "larkspar-125/2026-05-09",
    "mossend-100/2026-06-20",
    "oldmoor-400/2026-04-25",
    "remnet-640/2026-09-12",
    "sallow-25/2026-02-28",
    "scantle-250/2026-07-11",
    "twyne-320/2026-08-15",
)
"""Tests of the demo with a wedge, a bracket, and scans of print and negative."""

_LINES = re.compile(r"^(replaces|reason|current|repeat|video|exposure|departures):.*\n(?:[ \t]+.*\n)*", re.MULTILINE)
_BATCH = re.compile(r", batch: [^,}]+")


def write_series(folder: Path, stocks: int, *, scans: bool) -> None:
    """Write a series of so many stocks, two tests each, the second in the place of the first."""
    for name in ("wedges", "papers"):
        shutil.copytree(DEMO / name, folder / name)
    text = (DEMO / "series.yaml").read_text(encoding="utf-8")
    (folder / "series.yaml").write_text(text.replace("optional_pages: [open]\n", ""), encoding="utf-8")
    generator = np.random.default_rng(1)
    for number in range(stocks):
        source = REFERENCE if number == 0 else SOURCES[(number - 1) % len(SOURCES)]
        slug = "corvane-200" if number == 0 else f"stock-{number}"
        name = f"name: {slug}\nbox_speed: 100\n"
        for date, more in (("2026-02-02", ""), ("2026-09-09", "replaces: 2026-02-02\nreason: Read anew.\n")):
            test = folder / "stocks" / slug / date
            test.mkdir(parents=True)
            (test.parent / "stock.yaml").write_text(name, encoding="utf-8")
            (test / "notes.md").write_text(f"Read on {date}.\n", encoding="utf-8")
            about = (DEMO / "stocks" / source / "test.yaml").read_text(encoding="utf-8")
            about = _BATCH.sub("", _LINES.sub("", about)) + more
            if not scans:
                about = about[: about.index("scans:\n")] + more
            # Magnified with the picture.
            about = about.replace("pixels_per_mm: 5.0", "pixels_per_mm: 10.87")
            about = about.replace("pixels_per_mm: 112.0", "pixels_per_mm: 305.6")
            (test / "test.yaml").write_text(about, encoding="utf-8")
            _write_readings(test, DEMO / "stocks" / (source if _has_tables(source) else REFERENCE), generator)
            if scans:
                _write_scans(test / "scans", DEMO / "stocks" / source / "scans", generator)


def list_scans(folder: Path) -> Iterator[Path]:
    """Yield every scan of a series."""
    yield from sorted((folder / "stocks").glob("*/*/scans/*"))


def _has_tables(source: str) -> bool:
    """Return whether a test's tables are text, with commas between their cells."""
    tables = [DEMO / "stocks" / source / f"{name}.csv" for name in ("wedge", "bracket")]
    return all(table.is_file() and ";" not in table.read_text(encoding="utf-8") for table in tables)


def _write_readings(test: Path, source: Path, generator: np.random.Generator) -> None:
    for name, first in (("wedge.csv", 1), ("bracket.csv", 2)):
        head, *rows = (source / name).read_text(encoding="utf-8").splitlines()
        moved = [",".join([*row.split(",")[:first], *_moved(row.split(",")[first:], generator)]) for row in rows]
        (test / name).write_text("\n".join([head, *moved]) + "\n", encoding="utf-8")


def _moved(cells: list[str], generator: np.random.Generator) -> list[str]:
    return [f"{max(0.0, float(cell) + generator.normal(0.0, 0.004)):.3f}" if cell else "" for cell in cells]


def _write_scans(folder: Path, source: Path, generator: np.random.Generator) -> None:
    folder.mkdir()
    with Image.open(source / "print.jpg") as picture:
        enlarged = np.asarray(picture.resize(PRINT_PX, Image.Resampling.BICUBIC), dtype=np.float64)
    codes = np.clip(enlarged + generator.normal(0.0, 1.5, enlarged.shape), 0, 255).astype(np.uint8)
    Image.fromarray(codes).save(folder / "print.jpg", quality=92)
    with tifffile.TiffFile(source / "negative.tif") as tiff:
        small = tiff.pages.first.asarray()
    enlarged = _resize(small.astype(np.float64), NEGATIVE_PX)
    fine = np.clip(enlarged + generator.normal(0.0, 300.0, enlarged.shape), 0, 65535).astype(np.uint16)
    tifffile.imwrite(folder / "negative.tif", fine, compression="zlib", predictor=True, rowsperstrip=64)


def _resize(codes: FloatArray, size: tuple[int, int]) -> FloatArray:
    import cv2

    return np.asarray(cv2.resize(codes, size, interpolation=cv2.INTER_CUBIC), dtype=np.float64)
