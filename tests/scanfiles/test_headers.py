"""Scans are judged by their headers alone: size, bits, pages, kind; no pixel is decoded."""

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image, PngImagePlugin

from basefog.scanfiles import ScanFaultError, ScanHeader, read_scan_header

LIBTIFF = Path(__file__).parent / "libtiff"
CUT = "is cut short: it ends before its picture does"


def png(width: int, height: int, bits: int, colour: int) -> bytes:
    """Return a PNG whose header claims a size; its data are empty, since nobody is to decode them."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, bits, colour, 0, 0, 0)
    palette = chunk(b"PLTE", bytes(12)) if colour == 3 else b""
    body = chunk(b"IHDR", header) + palette + chunk(b"IDAT", b"") + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def saved(picture: Image.Image, kind: str, **options: object) -> bytes:
    """Return a picture as a file of that kind."""
    file = io.BytesIO()
    picture.save(file, kind, **options)
    return file.getvalue()


def jpeg_of(width: int, height: int) -> bytes:
    """Return a small JPEG whose header claims a size."""
    data = saved(Image.new("L", (90, 91)), "JPEG")
    return data.replace(struct.pack(">HH", 91, 90), struct.pack(">HH", height, width))


def header_of(folder: Path, data: bytes) -> ScanHeader:
    """Return the header of a file of these bytes."""
    path = folder / "scan"
    path.write_bytes(data)
    return read_scan_header(path)


def fault_of(folder: Path, data: bytes) -> str:
    """Return what is wrong with a file of these bytes."""
    with pytest.raises(ScanFaultError) as fault:
        header_of(folder, data)
    assert fault.value.mend
    return fault.value.message


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("logluv-3c-16b.tiff", "holds something else than grey or RGB, with or without alpha"),
        ("ojpeg_single_strip_no_rowsperstrip.tiff", "is compressed in a way that is not read"),
        ("test_two_ifds.tif", "holds more than one picture"),
        ("test_ifd_loop_to_first.tif", "holds more than one picture"),
        ("test_ifd_loop_to_self.tif", "holds more than one picture"),
    ],
)
def test_libtiff_pictures_that_are_refused(name: str, message: str) -> None:
    """Pictures of libtiff's own tests that no measure can use are refused by name of what is wrong."""
    with pytest.raises(ScanFaultError) as fault:
        read_scan_header(LIBTIFF / name)

    assert fault.value.message == message


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("palette-1c-4b.tiff", ScanHeader(width_px=157, height_px=151, bits=8)),
        ("test_float64_predictor2_le_lzw.tif", ScanHeader(width_px=20, height_px=20, bits=64, is_float=True)),
    ],
)
def test_libtiff_pictures_that_are_read(name: str, expected: ScanHeader) -> None:
    """Sizes are those that libtiff's README gives (157 x 151) and its float tests have (20 x 20)."""
    assert read_scan_header(LIBTIFF / name) == expected


@pytest.mark.parametrize("kind", ["TIFF", "PNG", "JPEG", "WEBP"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_orientation_tag_is_applied(tmp_path: Path, kind: str, orientation: int) -> None:
    """Orientations 5 to 8 lie on their side (Exif and TIFF 6.0, tag 274): width and height change places."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    upright = (20, 40) if orientation >= 5 else (40, 20)

    header = header_of(tmp_path, saved(Image.new("RGB", (40, 20)), kind, exif=exif))

    assert (header.width_px, header.height_px, header.bits) == (*upright, 8)


@pytest.mark.parametrize("mode", ["L", "LA", "P", "RGB", "RGBA"])
@pytest.mark.parametrize("kind", ["TIFF", "PNG"])
def test_grey_palette_alpha_and_rgb_are_read(tmp_path: Path, kind: str, mode: str) -> None:
    """Grey, palette and RGB, with and without alpha, count 8 bits."""
    picture = Image.new(mode, (4, 3))
    if mode == "P":
        picture.putpalette(bytes(range(256)) * 3)

    assert header_of(tmp_path, saved(picture, kind)) == ScanHeader(width_px=4, height_px=3, bits=8)


@pytest.mark.parametrize(
    ("data", "width", "height"),
    [
        (jpeg_of(20_000, 19_999), 20_000, 19_999),
        (png(20_000, 20_000, 8, 0), 20_000, 20_000),
        (saved(Image.new("L", (90, 90)), "WEBP").replace(b"Z\0Z\0", b"\xff\x3f\xff\x3f"), 16_383, 16_383),
    ],
)
def test_large_scans_are_read(tmp_path: Path, data: bytes, width: int, height: int) -> None:
    """Headers up to 400 megapixels pass, whatever smaller limit a library has of its own."""
    assert header_of(tmp_path, data) == ScanHeader(width_px=width, height_px=height, bits=8)


@pytest.mark.parametrize("options", [{}, {"lossless": True}, {"exif": Image.Exif()}])
@pytest.mark.parametrize("size", [(1, 1), (300, 200), (5000, 3)])
def test_sizes_of_every_kind_of_webp(tmp_path: Path, size: tuple[int, int], options: dict[str, object]) -> None:
    """Lossy, lossless and extended files give the size that libwebp wrote."""
    header = header_of(tmp_path, saved(Image.new("RGB", size), "WEBP", **options))

    assert (header.width_px, header.height_px) == size


def test_a_tag_behind_the_pixels_of_a_png_is_applied(tmp_path: Path) -> None:
    """An eXIf chunk may stand behind the pixels (PNG, third edition; from memory); it is found without decoding."""
    exif = Image.Exif()
    exif[0x0112] = 6
    plain = png(40, 20, 8, 0)
    tags = exif.tobytes().removeprefix(b"Exif\0\0")
    late = struct.pack(">I", len(tags)) + b"eXIf" + tags + struct.pack(">I", zlib.crc32(b"eXIf" + tags))

    header = header_of(tmp_path, plain[:-12] + late + plain[-12:])

    assert (header.width_px, header.height_px) == (20, 40)


def test_a_tag_in_the_text_of_a_png_is_applied(tmp_path: Path) -> None:
    """Before there was a chunk for tags programs wrote them as text, in hexadecimal (common practice, no source)."""
    exif = Image.Exif()
    exif[0x0112] = 6
    tags = exif.tobytes()
    text = PngImagePlugin.PngInfo()
    text.add_text("Raw profile type exif", f"\nexif\n{len(tags):8}\n{tags.hex()}\n")

    header = header_of(tmp_path, saved(Image.new("L", (40, 20)), "PNG", pnginfo=text))

    assert (header.width_px, header.height_px, header.orientation) == (20, 40, 6)


@pytest.mark.parametrize(("bits", "colour"), [(16, 0), (16, 2), (16, 4), (16, 6)])
def test_png_of_16_bits_says_so(tmp_path: Path, bits: int, colour: int) -> None:
    """Sixteen bits are found in grey and RGB, with and without alpha (PNG, IHDR)."""
    assert header_of(tmp_path, png(30, 20, bits, colour)) == ScanHeader(width_px=30, height_px=20, bits=16)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (png(30, 20, 1, 0), "has 1 bit a pixel"),
        (png(30, 20, 1, 3), "has 1 bit a pixel"),
        (png(30, 20, 4, 0), "has 4 bits a sample, expected 8 or 16"),
        (png(20_001, 20_000, 8, 0), "has 20001 x 20000 pixels, expected at most 400 megapixels"),
        (png(30, 20, 8, 0)[:20], CUT),
        (png(30, 20, 8, 0)[:-8], CUT),
        (png(30, 20, 8, 0)[:35], "has a damaged header"),
        (saved(Image.new("L", (90, 90)), "JPEG")[:-2], CUT),
        (saved(Image.new("L", (90, 90)), "JPEG")[:30], "has a damaged header"),
        (saved(Image.new("RGB", (90, 90)), "WEBP")[:-2], CUT),
        (saved(Image.new("RGB", (90, 90)), "WEBP")[:18], "has a damaged header"),
        (saved(Image.new("RGB", (90, 90)), "WEBP").replace(b"VP8 ", b"VP9 "), "has a damaged header"),
        (saved(Image.new("RGB", (90, 90)), "WEBP").replace(b"Z\0Z\0", b"\0\0Z\0"), "has no pixels"),
        (jpeg_of(20_001, 20_000), "has 20001 x 20000 pixels, expected at most 400 megapixels"),
        (saved(Image.new("CMYK", (9, 9)), "JPEG"), "is CMYK"),
        (saved(Image.new("CMYK", (9, 9)), "TIFF"), "is CMYK"),
        (saved(Image.new("1", (9, 9)), "TIFF"), "has 1 bit a pixel"),
        (saved(Image.new("I", (9, 9)), "TIFF"), "has 32 bits a sample, expected 8 or 16"),
        (saved(Image.new("L", (90, 90)), "TIFF")[:-2], CUT),
        (saved(Image.new("L", (9, 9)), "GIF"), "is no TIFF, PNG, JPEG or WebP"),
        (b"II*\0", "has a damaged header"),
        (b"", "is no TIFF, PNG, JPEG or WebP"),
    ],
)
def test_pictures_that_are_refused(tmp_path: Path, data: bytes, message: str) -> None:
    """What no view or measure can use is refused, and why is said."""
    assert fault_of(tmp_path, data) == message


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF", "MPO"])
def test_more_than_one_picture_is_refused(tmp_path: Path, kind: str) -> None:
    """Animations, multi-page files and JPEGs with further pictures are refused."""
    pictures = [Image.new("RGB", (9, 9), colour) for colour in ("black", "white")]

    data = saved(pictures[0], kind, save_all=True, append_images=pictures[1:])

    assert fault_of(tmp_path, data) == "holds more than one picture"


def test_a_thumbnail_is_no_second_picture(tmp_path: Path) -> None:
    """A smaller copy that is marked as one (TIFF 6.0, NewSubfileType 1) does not make a scan multi-page."""
    path = tmp_path / "scan.tif"
    with tifffile.TiffWriter(path) as writer:
        writer.write(np.zeros((40, 30), np.uint16), metadata=None)
        writer.write(np.zeros((4, 3), np.uint16), subfiletype=1, metadata=None)

    assert read_scan_header(path) == ScanHeader(width_px=30, height_px=40, bits=16)


def test_a_tiff_beyond_the_limit_is_refused_by_its_header(tmp_path: Path) -> None:
    """A small file that claims 500 megapixels is refused without room being made for them."""
    path = tmp_path / "scan.tif"
    tifffile.imwrite(path, np.zeros((20, 30), np.uint8), metadata=None)
    with tifffile.TiffFile(path, mode="r+") as tiff:
        tags = tiff.pages.first.tags
        tags["ImageWidth"].overwrite(25_000)
        tags["ImageLength"].overwrite(20_000)

    with pytest.raises(ScanFaultError) as fault:
        read_scan_header(path)

    assert fault.value.message == "has 25000 x 20000 pixels, expected at most 400 megapixels"


def test_a_tiff_without_pixels_is_refused(tmp_path: Path) -> None:
    """A header that claims no width is refused."""
    path = tmp_path / "scan.tif"
    tifffile.imwrite(path, np.zeros((20, 30), np.uint8), metadata=None)
    with tifffile.TiffFile(path, mode="r+") as tiff:
        tiff.pages.first.tags["ImageWidth"].overwrite(0)

    assert fault_of(tmp_path, path.read_bytes()) == "has no pixels"


def test_a_volume_is_refused(tmp_path: Path) -> None:
    """Five samples a pixel are no picture."""
    path = tmp_path / "scan.tif"
    tifffile.imwrite(path, np.zeros((20, 30, 5), np.uint8), photometric="minisblack", planarconfig="contig")

    with pytest.raises(ScanFaultError) as fault:
        read_scan_header(path)

    assert fault.value.message == "holds something else than grey or RGB, with or without alpha"


def test_a_file_that_is_gone_is_a_fault(tmp_path: Path) -> None:
    """A file that can't be opened is told as the others are."""
    with pytest.raises(ScanFaultError) as fault:
        read_scan_header(tmp_path / "gone.png")

    assert fault.value.message == "can't be read"
