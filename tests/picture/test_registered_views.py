"""Registered views: the same part of the subject on every stock, at the same size, with its own scale."""

from collections.abc import Mapping
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from basefog.picture import box_on_scan, plan_views
from basefog.picture.registration import align_sketch, make_pyramid, make_reference
from basefog.picture.sketches import Sketch
from basefog.read import read_series
from basefog.records.content import Box, Scan, Series
from basefog.records.registration import Alignment, Refusal
from picture.demo_lies import true_map_of
from picture.files import cut_file, sketch_file
from picture.plans import make_scan, make_test, make_view
from picture.scenes import Floats, Lie, draw_scene, errors_px, lay, true_map

CONTENT = Path(__file__).parents[2] / "content"
HERE: tuple[float, float, float, float, float, float] = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0)
SIZE = (900, 600)


def make_alignment(
    to_scan: tuple[float, float, float, float, float, float] = HERE, *, is_mirrored: bool = False
) -> Alignment:
    return Alignment(
        to_scan=to_scan,
        correlation=0.9,
        right_px=0.0,
        down_px=0.0,
        rotation_deg=0.0,
        scale_ratio=1.0,
        is_mirrored=is_mirrored,
    )


def scan_like(
    first: Scan,
    found: Alignment | Refusal,
    *,
    size: tuple[int, int] | None = None,
    pixels_per_mm: float | None = None,
    boxes: Mapping[str, Box] | None = None,
) -> Scan:
    """Return a scan of another file that was registered."""
    return replace(
        first,
        sha256="1" * 64,
        registration=found,
        width_px=(size or (first.width_px, 0))[0],
        height_px=(size or (0, first.height_px))[1],
        pixels_per_mm=pixels_per_mm or first.pixels_per_mm,
        boxes=boxes or {},
    )


def pixels(data: bytes) -> Floats:
    with Image.open(BytesIO(data)) as picture:
        return np.asarray(picture.convert("L"), dtype=np.float64)


def test_a_grain_view_is_cut_round_the_registered_centre() -> None:
    """The centre moves with the subject; the sides are those of the reference, by the scans' resolutions."""
    first = make_scan(size=(1000, 800), pixels_per_mm=100.0)
    scan = scan_like(first, make_alignment((2.1, 0.0, 30.0, 0.0, 2.1, -20.0)), size=(2200, 1800), pixels_per_mm=200.0)
    view = make_view((0.4, 0.5, 0.1, 0.1))

    [plan] = plan_views(make_test(scan), make_test(first), (view,))

    # The box's middle is (450, 440) on the reference, (975, 904) on the scan; 100 x 80 px are 200 x 160 of its own.
    assert (plan.left_px, plan.top_px, plan.width_px, plan.height_px) == (875, 824, 200, 160)
    assert plan.lossless
    assert plan.pixels_per_mm == 200.0
    assert box_on_scan(view, scan, first) == (875, 824, 200, 160)


def test_a_tone_view_has_the_references_sizes_and_its_own_scale() -> None:
    """Every stock's picture has the reference's pixels; its scale bar is that of its own print."""
    first = make_scan(of="print", size=(4000, 3000), pixels_per_mm=20.0)
    scan = scan_like(
        first, make_alignment((0.5 * 1.05, 0.0, 10.0, 0.0, 0.5 * 1.05, 5.0)), size=(2000, 1500), pixels_per_mm=10.0
    )
    view = make_view((0.25, 0.25, 0.5, 0.5), of="print", shows="tone", view_id="part")

    [own], [other] = (
        plan_views(make_test(first), make_test(first), (view,)),
        plan_views(make_test(scan), make_test(first), (view,)),
    )

    assert own.files == other.files
    assert own.files[0].width_px == 1280
    assert own.pixels_per_mm == pytest.approx(20.0 * 1280 / 2000)
    # 1280 pixels show 2000 of the reference's, which are 1050 of this scan's, which are 105 mm.
    assert other.pixels_per_mm == pytest.approx(1280 / 105.0)


def test_a_box_by_hand_is_not_registered() -> None:
    """A box that the test gives is taken as it is, whatever the registration says."""
    first = make_scan(size=(1000, 1000))
    scan = scan_like(first, Refusal(message="is another"), boxes={"even": Box(x=0.5, y=0.5, w=0.1, h=0.1)})
    views = (make_view((0.1, 0.1, 0.1, 0.1)), make_view((0.1, 0.1, 0.1, 0.1), view_id="other"))

    [plan] = plan_views(make_test(scan), make_test(first), views)

    assert (plan.view.id, plan.left_px, plan.top_px, plan.alignment) == ("even", 500, 500, None)


def test_what_a_scan_does_not_hold_is_left_out() -> None:
    """A grain view needs all of its box on the scan, a tone view half of it."""
    first = make_scan(size=(1000, 1000))
    scan = scan_like(first, make_alignment((1.0, 0.0, -120.0, 0.0, 1.0, 0.0)))
    views = (
        make_view((0.1, 0.1, 0.1, 0.1), view_id="grain"),
        make_view((0.0, 0.0, 0.2, 0.2), shows="tone", view_id="gone"),
        make_view((0.0, 0.0, 0.3, 0.3), shows="tone", view_id="half"),
    )

    plans = plan_views(make_test(scan), make_test(first), views)

    assert [plan.view.id for plan in plans] == ["half"]
    assert box_on_scan(views[0], scan, first) is None


@pytest.mark.parametrize("factor", [1, 3])
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_registered_tone_view_shows_what_the_references_does(tmp_path: Path, factor: int, mirrored: bool) -> None:
    """Cut from a turned, scaled, shifted scan, the picture is the reference's to a few greys, pixel upon pixel."""
    scene = draw_scene(3, SIZE)
    lie = Lie(right_px=9.0, down_px=-6.0, degrees=2.5, scale=1.04 * factor, mirrored=mirrored)
    to_size = (950 * factor, 640 * factor)
    true = true_map(lie, SIZE, to_size)
    tifffile.imwrite(tmp_path / "first.tif", np.round(scene * 65535).astype(np.uint16))
    tifffile.imwrite(tmp_path / "scan.tif", np.round(lay(scene, lie, to_size) * 65535).astype(np.uint16))
    first = make_scan(size=SIZE)
    a, b, c, d, e, f = (float(number) for number in true[:2].ravel())
    scan = scan_like(first, make_alignment((a, b, c, d, e, f), is_mirrored=mirrored), size=to_size)
    view = make_view((0.2, 0.2, 0.6, 0.6), shows="tone", view_id="part")
    plans = [plan_views(make_test(each), make_test(first), (view,)) for each in (first, scan)]

    own, other = cut_file(tmp_path / "first.tif", plans[0]), cut_file(tmp_path / "scan.tif", plans[1])

    assert list(own) == list(other) == ["part-540.webp", "part-320.webp"]
    for name in own:
        differ = pixels(own[name]) - pixels(other[name])
        # A shift of a tenth of a pixel at the edges of this scene would cost more (about 20 greys at each edge pixel).
        assert abs(differ.mean()) < 0.3
        assert differ.std() < 3.0


def test_a_mirrored_grain_view_is_turned_back_losslessly(tmp_path: Path) -> None:
    """Columns change places; each pixel keeps its code."""
    codes = np.random.default_rng(3).integers(0, 255, (100, 120), dtype=np.uint8)
    tifffile.imwrite(tmp_path / "scan.tif", codes)
    first = make_scan(size=(120, 100))
    scan = scan_like(first, make_alignment((-1.0, 0.0, 120.0, 0.0, 1.0, 0.0), is_mirrored=True))

    made = cut_file(
        tmp_path / "scan.tif", plan_views(make_test(scan), make_test(first), (make_view((0.1, 0.1, 0.5, 0.5)),))
    )

    np.testing.assert_array_equal(pixels(made["even.png"]), codes[:, ::-1][10:60, 12:72])


def test_beyond_the_scan_is_the_surrounds_grey(tmp_path: Path) -> None:
    """What a scan does not hold is left at the neutral grey that pictures lie on, 118."""
    tifffile.imwrite(tmp_path / "scan.tif", np.full((400, 600), 65535, np.uint16))
    first = make_scan(size=(600, 400))
    scan = scan_like(first, make_alignment((1.0, 0.0, -100.0, 0.0, 1.0, 0.0)))

    made = cut_file(tmp_path / "scan.tif", plan_views(make_test(scan), make_test(first), (make_view(shows="tone"),)))

    picture = pixels(made["even-600.webp"])
    assert np.abs(picture[:, :90] - 118).max() <= 2
    assert np.abs(picture[:, 112:] - 255).max() <= 2


@pytest.fixture(scope="module")
def demo() -> Series:
    series = read_series(CONTENT).series
    assert series is not None
    return series


def test_the_demos_scans_are_found_where_the_simulation_put_them(demo: Series) -> None:
    """A print and a negative of the finest, the coarsest and the most shifted film lie within a quarter of a pixel.

    The truth is the simulation's own: how its camera stood and how its print lay on the flatbed.
    """
    reference = demo.reference_stock.current_test
    assert reference is not None
    for of in ("print", "negative"):
        [first] = [scan for scan in reference.scans if scan.of == of]
        known = make_reference(make_pyramid(sketch(first)))
        for key in ("sallow-25/2026-02-28", "gannick-1600/2026-07-04", "twyne-320/2026-08-15"):
            slug, test_id = key.split("/")
            [scan] = [scan for scan in demo.stock(slug).test(test_id).scans if scan.of == of]
            found = align_sketch(known, sketch(scan), scan_px_per_reference_px=1.0)
            assert isinstance(found, Alignment), (key, found)
            size = (first.width_px, first.height_px)
            assert errors_px(found.to_scan, true_map_of(key, of, size), size).max() < 0.25, (key, of)
            assert found.correlation > 0.9


def sketch(scan: Scan) -> Sketch:
    return sketch_file(CONTENT / scan.path, (scan.width_px, scan.height_px))
