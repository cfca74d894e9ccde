"""The bytes of the views: exact pixels where they count, nothing but pixels in the files."""

import struct
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from basefog.picture.cuts import encode_webp, resize_area, to_8_bit
from basefog.picture.views import ViewPlan, plan_views
from basefog.records.content import View
from basefog.scanfiles import average_blocks
from picture.files import cut_file
from picture.plans import make_scan, make_test, make_view
from scanfiles.test_pixels import ramp


def pixels(data: bytes) -> np.ndarray:
    with Image.open(BytesIO(data)) as picture:
        return np.asarray(picture)


def plans_for(size: tuple[int, int], *views: View) -> tuple[ViewPlan, ...]:
    return plan_views(make_test(make_scan(size=size)), None, views)


def test_a_grain_cut_is_the_scan_pixel_for_pixel(tmp_path: Path) -> None:
    """The published pixels of an 8-bit scan equal a slice of it."""
    codes = ramp("uint8", 200, 300)
    tifffile.imwrite(tmp_path / "scan.tif", codes, compression="lzw")

    made = cut_file(tmp_path / "scan.tif", plans_for((300, 200), make_view((0.1, 0.2, 0.5, 0.4))))

    assert list(made) == ["even.png"]
    np.testing.assert_array_equal(pixels(made["even.png"]), codes[40:120, 30:180])


def test_a_deep_cut_is_rounded_once(tmp_path: Path) -> None:
    """16-bit codes come to the nearest 8-bit grey, v x 255/65535, and differ from the truth by half a grey at most."""
    codes = ramp("uint16", 64, 64)
    tifffile.imwrite(tmp_path / "scan.tif", codes, byteorder=">")

    made = cut_file(tmp_path / "scan.tif", plans_for((64, 64), make_view()))

    exact = codes * (255.0 / 65535.0)
    assert np.abs(pixels(made["even.png"]) - exact).max() <= 0.5


def test_every_16_bit_code_rounds_to_the_nearest_grey() -> None:
    """All 65536 codes are checked against exact arithmetic."""
    codes = np.arange(65536, dtype=np.uint16).reshape(256, 256)

    expected = [(2 * 255 * code + 65535) // (2 * 65535) for code in range(65536)]
    np.testing.assert_array_equal(to_8_bit(codes).ravel(), expected)


def test_one_decode_gives_all_views_and_the_same_bytes_twice(tmp_path: Path) -> None:
    """All views of a scan are cut at once, in every planned size, and always the same."""
    codes = ramp("uint16", 480, 720)
    tifffile.imwrite(tmp_path / "scan.tif", codes)
    plans = plans_for((720, 480), make_view((0, 0, 0.1, 0.1)), make_view(shows="tone", view_id="whole"))

    first, second = cut_file(tmp_path / "scan.tif", plans), cut_file(tmp_path / "scan.tif", plans)

    assert sorted(first) == ["even.png", "whole-320.webp", "whole-720.webp"]
    assert first == second
    for plan in plans:
        for file in plan.files:
            assert pixels(first[plan.view.id + file.suffix]).shape[:2] == (file.height_px, file.width_px)


def test_tone_keeps_its_tones(tmp_path: Path) -> None:
    """A step wedge comes out of the resizing and the compression at its own greys, within what WebP allows.

    Lossy WebP keeps luma in 220 levels (RFC 6386, section 9.2, as Rec. 601 has it), so that a grey may be one off.
    """
    steps = np.repeat(np.linspace(0, 65535, 16).astype(np.uint16), 128)
    codes = np.tile(steps, (512, 1))
    tifffile.imwrite(tmp_path / "scan.tif", codes)

    made = cut_file(tmp_path / "scan.tif", plans_for((2048, 512), make_view(shows="tone", view_id="whole")))

    for width in (1280, 640, 320):
        grey = pixels(made[f"whole-{width}.webp"])[:, :, 0]
        middles = grey[grey.shape[0] // 2, width // 32 :: width // 16]
        assert np.abs(middles.astype(float) - np.linspace(0, 255, 16)).max() <= 2


def test_resizing_keeps_the_mean() -> None:
    """Bringing down by a large and uneven factor neither lightens nor darkens."""
    codes = ramp("uint16", 1031, 1511)

    small = resize_area(codes, 97, 66)

    assert small.mean() == pytest.approx(codes.mean() * 255 / 65535, abs=0.15)


def test_resizing_keeps_places() -> None:
    """An edge at a fraction of the width stands at that fraction of the small picture, whatever the block size."""
    for columns in (1000, 1003, 3001):
        codes = np.zeros((columns // 2, columns), dtype=np.uint8)
        codes[:, int(columns * 0.6) :] = 255
        small = resize_area(codes, 100, 50).astype(float)
        assert 100 - small[25].sum() / 255 == pytest.approx(100 * int(columns * 0.6) / columns, abs=0.1)


def test_blocks_average_what_they_hold() -> None:
    """Partial blocks at the edges are means of fewer pixels, as numpy's own mean gives them."""
    codes = ramp("uint8", 7, 11)

    expected = [[codes[r : r + 3, c : c + 3].mean() for c in range(0, 11, 3)] for r in range(0, 7, 3)]
    np.testing.assert_allclose(average_blocks(codes, 3), expected, rtol=1e-6)


def test_a_scan_of_another_size_than_planned_is_refused(tmp_path: Path) -> None:
    """A file that changed between planning and cutting is told, not cut somewhere else."""
    tifffile.imwrite(tmp_path / "scan.tif", ramp("uint8", 20, 30))

    with pytest.raises(ValueError, match="scan is 30 x 20 pixels, planned with 300 x 200"):
        cut_file(tmp_path / "scan.tif", plans_for((300, 200), make_view()))


def test_floating_point_is_shown_over_its_calibrated_range(tmp_path: Path) -> None:
    """The lowest calibrated code is black, the highest white."""
    codes = np.linspace(-1.0, 5.0, 256, dtype=np.float32).reshape(16, 16)
    tifffile.imwrite(tmp_path / "scan.tif", codes)
    scan = make_scan(size=(16, 16), code_density=((0.0, 2.0), (4.0, 0.1)))

    made = cut_file(tmp_path / "scan.tif", plan_views(make_test(scan), None, (make_view(),)))

    expected = np.rint(np.clip(codes / 4.0, 0, 1) * 255)
    np.testing.assert_array_equal(pixels(made["even.png"]), expected)


def test_files_hold_pixels_alone(tmp_path: Path) -> None:
    """A scan with camera, place, time, comment and colour profile gives files with none of them."""
    exif = Image.Exif()
    exif[271], exif[306] = "Invented maker", "2026:03:14 12:00:00"
    exif.get_ifd(0x8825)[1] = "N"
    picture = Image.fromarray(ramp("uint8", 100, 400))
    picture.save(tmp_path / "scan.jpg", exif=exif, comment=b"secret", icc_profile=b"x" * 200, dpi=(600, 600))
    plans = plans_for((400, 100), make_view(), make_view(shows="tone", view_id="whole"))

    made = cut_file(tmp_path / "scan.jpg", plans)

    assert set(png_chunks(made["even.png"])) == {"IHDR", "IDAT", "IEND"}
    assert webp_chunks(made["whole-400.webp"]) == ["VP8 "]


def test_a_picture_too_long_for_the_container_is_refused() -> None:
    """WebP holds sides up to 16383 pixels (RFC 9649, from memory)."""
    with pytest.raises(ValueError, match="longer than 16383"):
        encode_webp(np.zeros((16384, 1), dtype=np.uint8))


def png_chunks(data: bytes) -> list[str]:
    """Return the chunk names of a PNG (ISO/IEC 15948: length, name, data, check sum)."""
    names, at = [], 8
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        names.append(data[at + 4 : at + 8].decode("ascii"))
        at += 12 + length
    return names


def webp_chunks(data: bytes) -> list[str]:
    """Return the chunk names of a WebP file (RIFF: name, length, data padded to even)."""
    names, at = [], 12
    while at < len(data):
        (length,) = struct.unpack("<I", data[at + 4 : at + 8])
        names.append(data[at : at + 4].decode("ascii"))
        at += 8 + length + length % 2
    return names
