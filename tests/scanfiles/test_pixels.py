"""Scans of every usual kind come out as the grey codes that were scanned."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image

from basefog.scanfiles.codes import LUMINANCE_WEIGHTS, grey_of
from basefog.scanfiles.header import upright
from scanfiles.files import decode_whole

LIBTIFF = Path(__file__).parent / "libtiff"


def ramp(dtype: str, rows: int = 37, columns: int = 53) -> NDArray[Any]:
    """Return a picture in which no two neighbours are alike and every byte of the depth is used."""
    codes = np.random.default_rng(5).integers(0, np.iinfo(dtype).max, (rows, columns), dtype, endpoint=True)
    codes[0, 0], codes[-1, -1] = 0, np.iinfo(dtype).max
    return codes


@pytest.mark.parametrize("dtype", ["uint8", "uint16"])
@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize(
    "options",
    [
        {},
        {"compression": "lzw", "predictor": True},
        {"compression": "zlib", "predictor": True},
        {"compression": "packbits"},
        {"compression": "zlib", "tile": (16, 32)},
        {"rowsperstrip": 5},
    ],
    ids=["plain", "lzw", "deflate", "packbits", "tiles", "strips"],
)
def test_a_tiff_keeps_every_code(tmp_path: Path, dtype: str, byteorder: Any, options: dict[str, Any]) -> None:
    """Depth, byte order, compression and layout of a TIFF change no code."""
    codes = ramp(dtype)
    tifffile.imwrite(tmp_path / "scan.tif", codes, byteorder=byteorder, photometric="minisblack", **options)

    decoded = decode_whole(tmp_path / "scan.tif")

    assert decoded.dtype == np.dtype(dtype)
    np.testing.assert_array_equal(decoded, codes)


@pytest.mark.parametrize("dtype", ["uint8", "uint16"])
def test_a_png_keeps_every_code(tmp_path: Path, dtype: str) -> None:
    """A grey PNG of either depth changes no code."""
    codes = ramp(dtype)
    Image.fromarray(codes).save(tmp_path / "scan.png")

    np.testing.assert_array_equal(decode_whole(tmp_path / "scan.png"), codes)


def test_equal_channels_give_exactly_their_value(tmp_path: Path) -> None:
    """A neutral colour scan gives the grey it shows, at 8 and 16 bits, in TIFF and PNG."""
    import imagecodecs

    for dtype in ("uint8", "uint16"):
        codes = ramp(dtype)
        colours = np.stack([codes] * 3, axis=-1)
        tifffile.imwrite(tmp_path / "scan.tif", colours, photometric="rgb")
        (tmp_path / "scan.png").write_bytes(imagecodecs.png_encode(colours))
        np.testing.assert_array_equal(decode_whole(tmp_path / "scan.tif"), codes)
        np.testing.assert_array_equal(decode_whole(tmp_path / "scan.png"), codes)


def test_channels_stored_one_after_another_are_put_together(tmp_path: Path) -> None:
    """A TIFF with separate colour planes gives the same grey as one with pixels together."""
    colours = np.stack([ramp("uint16"), ramp("uint16").T[:37, :37].repeat(2, axis=1)[:, :53], ramp("uint16")], axis=-1)
    tifffile.imwrite(tmp_path / "together.tif", colours, photometric="rgb")
    tifffile.imwrite(tmp_path / "apart.tif", np.moveaxis(colours, -1, 0), photometric="rgb", planarconfig="separate")

    np.testing.assert_array_equal(decode_whole(tmp_path / "apart.tif"), decode_whole(tmp_path / "together.tif"))


def test_colour_becomes_grey_by_the_weights_of_rec_709() -> None:
    """Pure red, green and blue give their weights (Rec. ITU-R BT.709, from memory: 0.2126, 0.7152, 0.0722)."""
    primaries = np.eye(3, dtype=np.float32)[np.newaxis] * 10_000

    np.testing.assert_allclose(grey_of(primaries)[0], [2126, 7152, 722], rtol=1e-6)
    assert sum(LUMINANCE_WEIGHTS) == pytest.approx(1.0)


def test_alpha_is_left_out(tmp_path: Path) -> None:
    """What lies under transparency is what the scanner saw."""
    codes = ramp("uint8")
    veil = np.full_like(codes, 7)
    Image.fromarray(np.stack([codes, veil], axis=-1), "LA").save(tmp_path / "grey.png")
    Image.fromarray(np.stack([codes, codes, codes, veil], axis=-1), "RGBA").save(tmp_path / "colour.png")

    np.testing.assert_array_equal(decode_whole(tmp_path / "grey.png"), codes)
    np.testing.assert_array_equal(decode_whole(tmp_path / "colour.png"), codes)


def test_a_colour_jpegs_grey_is_the_luminance_it_holds(tmp_path: Path) -> None:
    """Pure colours give 0.299, 0.587 and 0.114 of white (Rec. ITU-R BT.601, as JFIF has it), grey gives its own."""
    colours = np.kron(np.array([[[255, 0, 0], [0, 255, 0], [0, 0, 255], [137, 137, 137]]]), np.ones((16, 16, 1)))
    Image.fromarray(colours.astype(np.uint8)).save(tmp_path / "scan.jpg", quality=100, subsampling=0)

    decoded = decode_whole(tmp_path / "scan.jpg")

    assert np.abs(decoded[8, 8::16].astype(float) - [76.2, 149.7, 29.1, 137.0]).max() <= 1.0


@pytest.mark.parametrize("mode", ["L", "RGB", "RGBA"])
def test_a_webps_orientation_and_alpha(tmp_path: Path, mode: str) -> None:
    """A lossless WebP in grey or colour, upright by its tag, gives each code; what alpha covers is what was scanned."""
    codes = ramp("uint8")
    veil = np.where(codes > 100, 9, 200).astype(np.uint8)
    channels = {"L": codes, "RGB": np.stack([codes] * 3, axis=-1), "RGBA": np.stack([codes] * 3 + [veil], axis=-1)}
    exif = Image.Exif()
    exif[274] = 6
    Image.fromarray(channels[mode], mode).save(tmp_path / "scan.webp", lossless=True, exact=True, exif=exif)

    np.testing.assert_array_equal(decode_whole(tmp_path / "scan.webp"), upright(codes, 6))


def test_a_negative_polarity_tiff_is_turned_round(tmp_path: Path) -> None:
    """Where zero means white, codes are turned so that white is high."""
    codes = ramp("uint16")
    tifffile.imwrite(tmp_path / "scan.tif", codes, photometric="miniswhite")

    np.testing.assert_array_equal(decode_whole(tmp_path / "scan.tif"), 65535 - codes)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_orientation_tag_is_applied(tmp_path: Path, orientation: int) -> None:
    """All eight orientations come out upright: TIFF by our own turns, JPEG and PNG as Pillow's own transposition."""
    codes = ramp("uint8")
    exif = Image.Exif()
    exif[274] = orientation
    Image.fromarray(codes).save(tmp_path / "scan.png", exif=exif)
    tifffile.imwrite(
        tmp_path / "scan.tif", codes, photometric="minisblack", extratags=[(274, "H", 1, orientation, True)]
    )
    turns = {
        1: codes, 2: codes[:, ::-1], 3: codes[::-1, ::-1], 4: codes[::-1], 5: codes.T,
        6: np.rot90(codes, -1), 7: codes[::-1, ::-1].T, 8: np.rot90(codes),
    }  # fmt: skip

    np.testing.assert_array_equal(upright(codes, orientation), turns[orientation])
    np.testing.assert_array_equal(decode_whole(tmp_path / "scan.tif"), turns[orientation])
    np.testing.assert_array_equal(decode_whole(tmp_path / "scan.png"), turns[orientation])


def test_jpeg_and_webp_are_read(tmp_path: Path) -> None:
    """Lossy scans come out near what went in; a lossless WebP exactly."""
    smooth = np.add.outer(np.arange(64), np.arange(96)).astype(np.uint8)
    Image.fromarray(smooth).save(tmp_path / "scan.jpg", quality=95)
    Image.fromarray(smooth).save(tmp_path / "scan.webp", lossless=True)

    assert np.abs(decode_whole(tmp_path / "scan.jpg").astype(int) - smooth).max() <= 4
    np.testing.assert_array_equal(decode_whole(tmp_path / "scan.webp"), smooth)


@pytest.mark.parametrize(
    "name",
    ["minisblack-1c-16b.tiff", "palette-1c-8b.tiff", "quad-tile.jpg.tiff", "deflate-last-strip-extra-data.tiff"],
)
def test_libtiffs_own_pictures_are_read_as_libtiff_reads_them(name: str) -> None:
    """Big-endian 16 bit, palette, JPEG in tiles and a strip with bytes to spare agree with libtiff (through Pillow)."""
    with Image.open(LIBTIFF / name) as picture:
        deep = picture.mode.startswith("I;16")
        expected = np.asarray(picture if deep or picture.mode == "L" else picture.convert("RGB"))

    decoded = decode_whole(LIBTIFF / name)

    # JPEG decoders may differ by a code or two in the last step of the transform (ISO/IEC 10918-2 allows it).
    tolerance = 2 if ".jpg." in name else 0
    assert np.abs(decoded.astype(int) - grey_of(expected).astype(int)).max() <= tolerance


def test_alpha_of_libtiffs_picture_is_left_out() -> None:
    """A grey picture with alpha gives its grey channel."""
    with tifffile.TiffFile(LIBTIFF / "minisblack-2c-8b-alpha.tiff") as tiff:
        expected = tiff.asarray()[0]  # its channels are stored one after another

    np.testing.assert_array_equal(decode_whole(LIBTIFF / "minisblack-2c-8b-alpha.tiff"), expected)


def test_what_is_no_scan_is_refused_in_words(tmp_path: Path) -> None:
    """One bit, CMYK, text and damage give a sentence, whatever the library would have said."""
    Image.new("CMYK", (4, 4)).save(tmp_path / "print.jpg")
    (tmp_path / "text.png").write_text("no picture", encoding="utf-8")
    Image.fromarray(ramp("uint8")).save(tmp_path / "whole.png")
    (tmp_path / "cut.png").write_bytes((tmp_path / "whole.png").read_bytes()[:600])
    tifffile.imwrite(tmp_path / "whole.tif", ramp("uint8"), compression="zlib")
    (tmp_path / "cut.tif").write_bytes((tmp_path / "whole.tif").read_bytes()[:200])

    with pytest.raises(ValueError, match="scan has 1 bit a pixel"):
        decode_whole(LIBTIFF / "miniswhite-1c-1b.tiff")
    with pytest.raises(ValueError, match="scan is CMYK"):
        decode_whole(tmp_path / "print.jpg")
    with pytest.raises(ValueError, match="scan is no TIFF, PNG, JPEG or WebP"):
        decode_whole(tmp_path / "text.png")
    Image.fromarray(ramp("uint8")).save(tmp_path / "whole.webp", lossless=True)
    (tmp_path / "cut.webp").write_bytes((tmp_path / "whole.webp").read_bytes()[:900])
    for name in ("cut.png", "cut.tif", "cut.webp"):
        with pytest.raises(ValueError, match="scan is"):
            decode_whole(tmp_path / name)


def test_a_scan_above_the_limit_is_refused_before_decoding(tmp_path: Path) -> None:
    """More than 400 megapixels are refused from the header alone: the file here holds no pixels at all."""
    tifffile.imwrite(tmp_path / "huge.tif", shape=(20_001, 20_000), dtype="uint8", compression=None, metadata=None)

    with pytest.raises(ValueError, match="at most 400"):
        decode_whole(tmp_path / "huge.tif")
