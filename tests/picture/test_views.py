"""Where views are cut and which files they make."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.picture.views import LOSSLESS_MAX_PX, pixel_box, plan_views, round_length_mm, tone_files
from basefog.records.content import Box
from picture.plans import make_scan, make_test, make_view

STEADY = settings(deadline=None, derandomize=True)
"""The same examples each run, however busy the machine."""


def test_a_grain_view_is_one_lossless_file_round_the_centre_of_its_box() -> None:
    """A box larger than what is published at 1:1 is cut round its own centre."""
    test = make_test(make_scan(size=(4000, 3000)))

    [plan] = plan_views(test, None, (make_view((0.25, 0.5, 0.5, 0.5)),))

    assert plan.lossless
    assert (plan.left_px, plan.top_px, plan.width_px, plan.height_px) == (1680, 2010, 640, 480)
    assert [(file.suffix, file.width_px, file.height_px) for file in plan.files] == [(".png", 640, 480)]
    assert plan.pixels_per_mm == 100.0


def test_a_small_box_is_cut_whole() -> None:
    """A box within the bound is neither enlarged nor cut."""
    [plan] = plan_views(make_test(make_scan(size=(1000, 1000))), None, (make_view((0.1, 0.2, 0.1, 0.05)),))

    assert (plan.left_px, plan.top_px, plan.width_px, plan.height_px) == (100, 200, 100, 50)


def test_a_tone_view_comes_in_falling_widths_and_none_is_enlarged() -> None:
    """Widths fall from the region's own or 1280, and pixels per mm are those of the widest file."""
    scan = make_scan(path="scans/print.jpg", of="print", size=(2560, 1920), pixels_per_mm=20.0)

    [plan] = plan_views(make_test(scan), None, (make_view(of="print", shows="tone", view_id="whole"),))

    assert [file.suffix for file in plan.files] == ["-1280.webp", "-640.webp", "-320.webp"]
    assert [file.height_px for file in plan.files] == [960, 480, 240]
    assert not plan.lossless
    assert plan.pixels_per_mm == pytest.approx(10.0)
    assert [file.width_px for file in tone_files(200, 100, widest_px=200)] == [200]


def test_a_tone_view_is_no_wider_than_the_reference_can_fill() -> None:
    """A stock that was scanned larger than the reference is not shown sharper for it."""
    large = make_test(make_scan(of="print", size=(4000, 3000)))
    small = make_test(make_scan(of="print", size=(900, 675)))

    [plan] = plan_views(large, small, (make_view(of="print", shows="tone"),))

    assert [file.width_px for file in plan.files] == [900, 640, 320]


def test_a_box_in_the_scan_overrules_the_view() -> None:
    """Where the tester gave a box, it is cut there, and from the scan that has it."""
    first = make_scan(path="scans/a.tif", size=(1000, 1000))
    second = make_scan(path="scans/b.tif", size=(1000, 1000), boxes={"even": Box(x=0.5, y=0.5, w=0.1, h=0.1)})

    [plan] = plan_views(make_test(first, second), None, (make_view((0.1, 0.1, 0.1, 0.1)),))

    assert plan.scan.path == "scans/b.tif"
    assert (plan.left_px, plan.top_px) == (500, 500)


def test_a_view_without_a_scan_of_its_kind_is_left_out() -> None:
    """Prints and negatives are never mixed, and no scale is made up."""
    test = make_test(make_scan(of="print", pixels_per_mm=None))

    plans = plan_views(test, None, (make_view(of="negative"), make_view(of="print", shows="tone", view_id="whole")))

    assert [plan.view.id for plan in plans] == ["whole"]
    assert plans[0].pixels_per_mm is None
    assert plans[0].scale_bar_mm is None


@given(
    x=st.floats(0, 0.99),
    y=st.floats(0, 0.99),
    w=st.floats(0.0001, 1),
    h=st.floats(0.0001, 1),
    size=st.tuples(st.integers(1, 30_000), st.integers(1, 30_000)),
)
@STEADY
def test_a_cut_lies_inside_its_scan(x: float, y: float, w: float, h: float, size: tuple[int, int]) -> None:
    """Whatever the fractions and the size, the region has a pixel at least and none outside."""
    width, height = size
    left, top, across, down = pixel_box(Box(x=x, y=y, w=w, h=h), width, height)

    assert left >= 0
    assert top >= 0
    assert across >= 1
    assert down >= 1
    assert left + across <= width
    assert top + down <= height


@given(width_mm=st.floats(0.01, 2000))
@STEADY
def test_a_scale_bar_is_a_round_length_near_a_quarter_of_the_width(width_mm: float) -> None:
    """It is 1, 2 or 5 times a power of ten and takes between 0.15 and 0.40 of the width."""
    length = round_length_mm(width_mm)

    assert f"{length:e}"[0] in "125"
    assert float(f"{length:.0e}") == length
    assert 0.15 <= length / width_mm <= 0.40


@pytest.mark.parametrize(("pixels_per_mm", "expected_mm"), [(100.0, 2.0), (200.0, 1.0), (23.6, 5.0), (945.0, 0.2)])
def test_the_scale_bar_fits_the_cut(pixels_per_mm: float, expected_mm: float) -> None:
    """640 pixels at these resolutions are 6.4, 3.2, 27 and 0.68 mm wide."""
    [plan] = plan_views(make_test(make_scan(pixels_per_mm=pixels_per_mm)), None, (make_view(),))

    assert plan.width_px == LOSSLESS_MAX_PX[0]
    assert plan.scale_bar_mm == expected_mm
