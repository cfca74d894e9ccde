"""Regions are slices of the scan, however it is laid out in its file and wherever its codes are kept."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from basefog.scanfiles import NoScratchError, Region, average_blocks, open_scan, opened, tiff
from basefog.scanfiles import codes as grey_codes
from basefog.scanfiles.codes import grey_of
from basefog.scanfiles.header import upright
from scanfiles.files import decode_whole, read_regions
from scanfiles.test_pixels import LIBTIFF, ramp

LAYOUTS: dict[str, dict[str, Any]] = {
    "one strip": {},
    "strips": {"rowsperstrip": 7},
    "lzw": {"compression": "lzw", "predictor": True, "rowsperstrip": 9},
    "deflate": {"compression": "zlib", "predictor": True, "rowsperstrip": 1},
    "tiles": {"tile": (32, 16)},
    "deflated tiles": {"compression": "zlib", "tile": (16, 48)},
    "one deflated strip": {"compression": "zlib", "predictor": True, "rowsperstrip": 97},
    "one lzw strip": {"compression": "lzw", "rowsperstrip": 97},
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


@pytest.fixture(params=["once", "in memory", "in a file"])
def is_kept(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> bool:
    """Return whether a scan is kept; where it is kept in a file, all that is done for large scans is done."""
    if request.param == "in a file":
        monkeypatch.setattr(opened, "MEMORY_BYTES", 0)
        monkeypatch.setattr(tiff, "LARGE_BYTES", 0)
        monkeypatch.setattr(grey_codes, "BAND_BYTES", 2_000)
    return str(request.param) != "once"


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)
@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("kind", ["uint8", "uint16", "float32", "colour", "planes"])
def test_regions_are_slices_of_the_whole(
    tmp_path: Path, layout: dict[str, Any], byteorder: Any, kind: str, *, is_kept: bool
) -> None:
    """Whatever the layout, depth and byte order, a region is the slice of what was written, or its block means."""
    codes: Any = ramp("uint8" if kind == "uint8" else "uint16", 97, 131)
    if kind == "float32":
        codes = (codes / 7.0).astype(np.float32)
    if kind in {"colour", "planes"}:
        codes = np.stack([codes, codes // 2, codes // 3], axis=-1)
    whole = grey_of(codes)
    options: dict[str, Any] = {"photometric": "minisblack" if codes.ndim == 2 else "rgb"}
    if kind == "planes":
        codes, options["planarconfig"] = np.moveaxis(codes, -1, 0), "separate"
    tifffile.imwrite(tmp_path / "scan.tif", codes, byteorder=byteorder, **options, **layout)

    read = read_regions(tmp_path / "scan.tif", REGIONS, (131, 97), is_kept=is_kept)

    for region, found in zip(REGIONS, read, strict=True):
        if region.block_px == 1:
            assert found.codes.dtype == whole.dtype
            np.testing.assert_array_equal(found.codes, expected_of(whole, region))
        else:
            np.testing.assert_allclose(found.codes, expected_of(whole, region), rtol=1e-6)
        assert found.white == {"uint8": 255.0, "float32": None}.get(kind, 65535.0)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("suffix", ["tif", "png", "jpg"])
def test_regions_lie_on_the_upright_picture(tmp_path: Path, orientation: int, suffix: str, *, is_kept: bool) -> None:
    """All eight orientations: blocks too start at the upright picture's corner, partial ones come last."""
    # A JPEG of one grey a block of 8 x 8 keeps its codes.
    codes = np.kron(ramp("uint8", 13, 17), np.ones((8, 8), np.uint8)) if suffix == "jpg" else ramp("uint8", 97, 131)
    path = tmp_path / f"scan.{suffix}"
    if suffix == "tif":
        tags = [(274, "H", 1, orientation, True)]
        tifffile.imwrite(path, codes, photometric="minisblack", rowsperstrip=10, compression="lzw", extratags=tags)
    else:
        exif = Image.Exif()
        exif[274] = orientation
        Image.fromarray(codes).save(path, exif=exif, quality=100)
    whole = upright(codes, orientation)
    regions = (
        Region(left_px=3, top_px=5, width_px=70, height_px=61),
        Region(left_px=3, top_px=5, width_px=71, height_px=62, block_px=6),
    )

    read = read_regions(path, regions, (whole.shape[1], whole.shape[0]), is_kept=is_kept)

    assert np.abs(read[0].codes.astype(int) - expected_of(whole, regions[0])).max() <= (1 if suffix == "jpg" else 0)
    np.testing.assert_allclose(read[1].codes, expected_of(whole, regions[1]), atol=1 if suffix == "jpg" else 1e-4)


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
def test_libtiffs_own_pictures_read_alike(name: str, *, is_kept: bool) -> None:
    """Palettes, JPEG in tiles, planes apart and a strip with bytes to spare read by region as they do whole."""
    whole = decode_whole(LIBTIFF / name)
    height, width = whole.shape
    region = Region(left_px=width // 4, top_px=height // 3, width_px=width // 2, height_px=height // 2)

    [found] = read_regions(LIBTIFF / name, [region], (width, height), is_kept=is_kept)

    np.testing.assert_array_equal(found.codes, expected_of(whole, region))


@pytest.mark.parametrize("dtype", ["uint8", "uint16"])
@pytest.mark.parametrize("channels", [1, 2, 3, 4])
def test_a_png_reads_by_bands(tmp_path: Path, dtype: str, channels: int, *, is_kept: bool) -> None:
    """Grey and colour, with alpha and without, at both depths: bands are put together without a seam."""
    import imagecodecs

    codes: Any = np.stack([ramp(dtype, 97, 131)[::-1, :: 1 - 2 * (step % 2)] for step in range(channels)], axis=-1)
    codes[40:] //= 3  # so that several kinds of filter pay
    codes = codes[:, :, 0] if channels == 1 else codes
    (tmp_path / "scan.png").write_bytes(imagecodecs.png_encode(codes))

    read = read_regions(tmp_path / "scan.png", REGIONS, (131, 97), is_kept=is_kept)

    np.testing.assert_array_equal(read[0].codes, grey_of(codes))
    np.testing.assert_allclose(read[3].codes, expected_of(grey_of(codes), REGIONS[3]), rtol=1e-6)


@pytest.mark.parametrize("orientation", [1, 3, 6])
def test_what_one_codec_gives_up_another_reads(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, orientation: int, *, is_kept: bool
) -> None:
    """A TIFF whose strips a codec can't make out, at the second, is read from its start by the other library."""
    plain_decode: Any = tifffile.TiffPage.decode

    def decode(page: Any) -> Any:
        def give_up(data: Any, index: int, **options: Any) -> Any:
            if index == 1:
                raise RuntimeError("not today")
            return plain_decode.func(page)(data, index, **options)

        return give_up

    monkeypatch.setattr(tifffile.TiffPage, "decode", property(decode))
    codes, tags = ramp("uint16", 97, 131), [(274, "H", 1, orientation, True)]
    tifffile.imwrite(tmp_path / "scan.tif", codes, compression="lzw", rowsperstrip=40, extratags=tags)
    whole = upright(codes, orientation)
    region = Region(left_px=3, top_px=5, width_px=70, height_px=61, block_px=6)

    [found] = read_regions(tmp_path / "scan.tif", [region], (whole.shape[1], whole.shape[0]), is_kept=is_kept)

    np.testing.assert_allclose(found.codes, expected_of(whole, region), rtol=1e-6)


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

    [found] = read_regions(tmp_path / "scan.tif", [above], (64, 64))

    np.testing.assert_array_equal(found.codes, ramp("uint8", 64, 64)[:56])
    for kept, region in ((False, whole), (True, whole), (True, above)):
        with pytest.raises(ValueError, match="scan is"):
            read_regions(tmp_path / "scan.tif", [region], (64, 64), is_kept=kept)


@pytest.mark.parametrize("suffix", ["tif", "png"])
@pytest.mark.parametrize("spoil", [lambda data: data[:-300], lambda data: data[:-300] + bytes(300)])
def test_a_damaged_stream_is_told(tmp_path: Path, suffix: str, spoil: Any, *, is_kept: bool) -> None:
    """One deflated stream that ends too early, or goes on as nonsense, is told in words."""
    path = tmp_path / f"scan.{suffix}"
    if suffix == "tif":
        tifffile.imwrite(path, ramp("uint16", 97, 131), compression="zlib", rowsperstrip=97, metadata=None)
    else:
        Image.fromarray(ramp("uint16", 97, 131)).save(path)
    path.write_bytes(spoil(path.read_bytes()))

    with pytest.raises(ValueError, match="scan is"):
        read_regions(path, REGIONS, (131, 97), is_kept=is_kept)


def test_a_full_temporary_folder_is_no_fault_of_the_scan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a large scan's codes can't be kept, the folder is named."""
    tifffile.imwrite(tmp_path / "scan.tif", ramp("uint8", 64, 64), compression="zlib")
    monkeypatch.setattr(opened, "MEMORY_BYTES", 0)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "nowhere"))

    with (
        pytest.raises(NoScratchError, match=r"the temporary folder .*nowhere can't be written: No such file"),
        open_scan(tmp_path / "scan.tif", width_px=64, height_px=64),
    ):
        pass


def test_another_size_than_known_is_refused(tmp_path: Path) -> None:
    """A file that changed since its header was read is told, in TIFF and in other formats."""
    tifffile.imwrite(tmp_path / "scan.tif", ramp("uint8", 20, 30))
    Image.fromarray(ramp("uint8", 20, 30)).save(tmp_path / "scan.png")

    for name in ("scan.tif", "scan.png"):
        with pytest.raises(ValueError, match="scan is 30 x 20 pixels, planned with 300 x 200"):
            read_regions(tmp_path / name, REGIONS, (300, 200))
