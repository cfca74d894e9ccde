"""What memory a publish needs for large scans: `python -m picture.bench_memory [KIND...]`.

Publishes a series of a reference and one stock, each with one scan of 150 megapixels, as a process of its own, and says
its peak (the high-water mark of its resident memory) and how large the file is. The scans are noisy, so that compressed
files are as large as they get. As measured, with all of Python and its libraries in it:

    TIFF, uncompressed strips        file  300 MB, peak  468 MB
    TIFF, uncompressed, big-endian   file  300 MB, peak  464 MB
    TIFF, deflated strips            file  204 MB, peak  473 MB
    TIFF, deflated, one strip        file  204 MB, peak  464 MB
    TIFF, LZW tiles                  file  368 MB, peak  481 MB
    TIFF, LZW, one strip             file  352 MB, peak  950 MB
    TIFF, colour in planes, 50 MP    file  279 MB, peak  514 MB
    PNG, 16 bits                     file  236 MB, peak  476 MB
    PNG, 16 bits, colour, 50 MP      file  121 MB, peak  527 MB
    JPEG, grey                       file   38 MB, peak  473 MB
    JPEG, grey, progressive          file   33 MB, peak  658 MB
    JPEG, colour                     file   38 MB, peak  474 MB
    WebP                             file   12 MB, peak  827 MB

and with scans of 400 megapixels deflated strips in 473 MB, a grey JPEG in 611 MB. Beyond 600 MB so lie what can only be
decoded whole: one strip in LZW, which needs file and picture at once; WebP, whose decoder gives three channels; and a
progressive JPEG, of which the decoder holds all coefficients.
"""

import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import cv2
import imagecodecs
import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image

from picture.scenes import draw_scene
from small_series import write_small_series

Codes = NDArray[Any]
Writer = Callable[[Path, Codes], object]

VIEWS: Final = """\
views:
  - {id: whole, name: Whole, of: negative, box: [0, 0, 1, 1]}
  - {id: part, name: Part, of: negative, box: [0.1, 0.1, 0.5, 0.5]}
  - {id: even, name: Even, of: negative, shows: grain, box: [0.591, 0.095, 0.281, 0.284]}
  - {id: edge, name: Edge, of: negative, shows: sharpness, box: [0.574, 0.531, 0.281, 0.315]}
"""
MEASURED: Final = """
import sys
from basefog.cli import main
status = main(["publish", sys.argv[1], "--to", sys.argv[2], "--quiet"])
# Of this program alone: what getrusage tells also holds the peak of the process that started it.
peak = open("/proc/self/status", encoding="utf-8").read().split("VmHWM:")[1].split()[0]
print(status, peak)
"""


def tiff(**options: Any) -> Writer:
    """Return what writes a TIFF so."""
    return lambda path, codes: tifffile.imwrite(path, codes, **({"photometric": "minisblack"} | options))


def colour(codes: Codes) -> Codes:
    """Return a third of a picture's rows in three channels: as many bytes."""
    return np.stack([codes[: codes.shape[0] // 3]] * 3, axis=-1)


def planes(path: Path, codes: Codes) -> None:
    """Write three planes, deflated, each in one strip."""
    apart = np.moveaxis(colour(codes), -1, 0)
    options: dict[str, Any] = {"photometric": "rgb", "planarconfig": "separate", "compression": "zlib"}
    tifffile.imwrite(path, apart, rowsperstrip=apart.shape[1], **options)


def jpeg(*, progressive: bool = False) -> Writer:
    """Return what writes a grey JPEG."""
    return lambda path, codes: Image.fromarray((codes >> 8).astype(np.uint8)).save(
        path, quality=92, progressive=progressive
    )


def colour_jpeg(path: Path, codes: Codes) -> None:
    """Write a JPEG in colour, of as many pixels."""
    path.write_bytes(imagecodecs.jpeg8_encode(np.stack([(codes >> 8).astype(np.uint8)] * 3, axis=-1), level=92))


def webp(path: Path, codes: Codes) -> None:
    """Write a WebP."""
    Image.fromarray((codes >> 8).astype(np.uint8)).save(path, quality=80, method=0)


KINDS: Final[dict[str, tuple[str, Writer]]] = {
    "TIFF, uncompressed strips": ("tif", tiff(rowsperstrip=16)),
    "TIFF, uncompressed, big-endian": ("tif", tiff(byteorder=">")),
    "TIFF, deflated strips": ("tif", tiff(compression="zlib", predictor=True, rowsperstrip=16)),
    "TIFF, deflated, one strip": ("tif", tiff(compression="zlib", predictor=True, rowsperstrip=1_000_000)),
    "TIFF, LZW tiles": ("tif", tiff(compression="lzw", predictor=True, tile=(512, 512))),
    "TIFF, LZW, one strip": ("tif", tiff(compression="lzw", predictor=True, rowsperstrip=1_000_000)),
    "TIFF, colour in planes, 50 MP": ("tif", planes),
    "PNG, 16 bits": ("png", lambda path, codes: _write(path, imagecodecs.png_encode(codes, level=1))),
    "PNG, 16 bits, colour, 50 MP": ("png", lambda path, codes: _write(path, imagecodecs.png_encode(colour(codes), 1))),
    "JPEG, grey": ("jpg", jpeg()),
    "JPEG, grey, progressive": ("jpg", jpeg(progressive=True)),
    "JPEG, colour": ("jpg", colour_jpeg),
    "WebP": ("webp", webp),
}


def _write(path: Path, data: bytes | bytearray) -> None:
    path.write_bytes(data)


def main(arguments: list[str]) -> None:
    """Measure each kind whose name holds one of the words given, else all."""
    for name in KINDS:
        if not arguments or any(word in name for word in arguments):
            peak_mb, file_mb = measure_peak(name, (15_000, 10_000))
            sys.stdout.write(f"    {name:32} file {file_mb:4.0f} MB, peak {peak_mb:4.0f} MB\n")
            sys.stdout.flush()


def measure_peak(kind: str, size: tuple[int, int]) -> tuple[float, float]:
    """Return the peak of a publish with scans of a kind, and the size of one, in megabytes."""
    with tempfile.TemporaryDirectory() as folder:
        series = write_series(Path(folder), kind, size)
        file_mb = max(path.stat().st_size for path in series.rglob("negative.*")) / 1e6
        ran = subprocess.run(
            [sys.executable, "-c", MEASURED, str(series), str(Path(folder) / "site")],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONPATH": ":".join(sys.path)},
        )
    status, peak_kb = map(int, ran.stdout.split())
    if status != 0:
        raise SystemExit(ran.stderr)
    return peak_kb / 1000, file_mb


def write_series(folder: Path, kind: str, size: tuple[int, int]) -> Path:
    """Write a series of two tests with one scan each, of a kind and a size, into a folder, and return its own."""
    suffix, write = KINDS[kind]
    series = write_small_series(folder / "series")
    with (series / "series.yaml").open("a", encoding="utf-8") as file:
        file.write(VIEWS)
    for seed, test in enumerate(("fell-100/2026-02-01", "wold-400/2026-02-03")):
        place = series / "stocks" / test
        with (place / "test.yaml").open("a", encoding="utf-8") as file:
            file.write(SCAN.format(suffix=suffix, last=255 if suffix in {"jpg", "webp"} else 65535))
        write(place / f"negative.{suffix}", _draw(seed, size))
    return series


SCAN: Final = """\
scans:
  - {{file: negative.{suffix}, of: negative, pixels_per_mm: 400, code_density: [[0, 3.0], [{last}, 0.0]]}}
"""


def _draw(seed: int, size: tuple[int, int]) -> Codes:
    """Return a noisy scan of a scene, the second one shifted a little."""
    small = draw_scene(1, (1500, 1000)).astype(np.float32)
    codes = np.asarray(cv2.resize(small * 50_000 + 5_000, size, interpolation=cv2.INTER_LINEAR), dtype=np.float32)
    codes = codes.astype(np.uint16)
    noise = np.random.default_rng(seed).integers(0, 4_000, (1_000, 1_000), np.uint16)
    for top in range(0, size[1], 1_000):
        rows = codes[top : top + 1_000]
        rows += np.tile(noise, (1, -(-size[0] // 1_000)))[: rows.shape[0], : size[0]]
    return np.roll(codes, 9 * seed, axis=1)


if __name__ == "__main__":
    main(sys.argv[1:])
