"""The text of charts: compact, safe, complete as a file, quiet about colours in a page."""

import re
import subprocess
import sys
from xml.etree import ElementTree as ET

from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.picture import (
    CHART_STYLE,
    MARKS,
    draw_curve_chart,
    draw_tone_chart,
    standalone_svg,
)
from basefog.picture.charts.svg import Mark, number, polyline, render_marks, thin
from picture.charts import drawing
from picture.samples import make_findings, make_reference, make_stock

STEADY = settings(deadline=None, derandomize=True)
"""The same examples each run, however busy the machine."""


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[index : index + 2], 16) / 255 for index in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_words_stand_out_from_the_paper() -> None:
    """Ink, muted and accent keep 4.5 to 1 against paper, light and dark (WCAG 2.2, success criterion 1.4.3)."""
    for shade in (0, 1):
        paper = luminance(CHART_STYLE["--paper"][shade])
        for name in ("--ink", "--muted", "--accent"):
            bright, dim = sorted((paper, luminance(CHART_STYLE[name][shade])), reverse=True)
            assert (bright + 0.05) / (dim + 0.05) >= 4.5, (name, shade)


def test_the_theme_paints_charts_in_the_same_colours() -> None:
    """Marks use the documented custom properties and no others."""
    used = {name for mark in MARKS.values() for value in mark.values() for name in re.findall(r"--[a-z]+", value)}

    assert used == set(CHART_STYLE)


def test_ids_never_clash_on_one_page() -> None:
    """Charts of one test, and of two tests, share no id."""
    tests = [make_stock(), make_reference(), make_findings(make_stock().curve, test="2026-03-14-b")]
    ids = [
        found
        for test in tests
        for draw in (draw_curve_chart, draw_tone_chart)
        for found in re.findall(r' id="([^"]*)"', draw(test, make_reference(), name="A", reference_name="B"))
    ]

    assert len(ids) == 18
    assert len(set(ids)) == 18


def test_a_picture_is_called_by_its_title_and_told_by_its_description() -> None:
    """A screen reader finds role, title and description, each in its own place."""
    root = drawing.parse(draw_curve_chart(make_stock(), make_reference(), name="Tern 100", reference_name="Marl 400"))

    spoken = {f"{drawing.SVG}title", f"{drawing.SVG}desc"}
    named = {child.get("id"): child.text or "" for child in root if child.tag in spoken}
    assert root.get("role") == "img"
    assert [root.get("aria-labelledby"), root.get("aria-describedby")] == list(named)
    assert all(named.values())


def test_a_file_of_its_own_has_light_colours_and_turns_dark() -> None:
    """Every custom property is written out, each colour has its dark twin, and the file is well-formed."""
    svg = draw_curve_chart(make_stock(), make_reference(), name="Tern 100", reference_name="Marl 400")
    data = standalone_svg(svg)

    root = ET.fromstring(data)  # noqa: S314 (our own output)
    text = data.decode()
    assert "var(" not in text
    style = root.find(f"{drawing.SVG}style")
    assert style is not None
    for day, night in CHART_STYLE.values():
        assert f'[stroke="{day}"]{{stroke:{night}}}' in (style.text or "")
    assert data == standalone_svg(svg)


@given(st.lists(st.tuples(st.floats(0, 480), st.floats(0, 400)), min_size=2, max_size=40))
@STEADY
def test_steps_of_a_line_never_add_up_errors(points: list[tuple[float, float]]) -> None:
    """However many steps, the line ends where its last point is, to the rounding of a tenth."""
    marks = [Mark(kind="stock-curve", path=polyline(points))]
    svg = f'<svg xmlns="http://www.w3.org/2000/svg">{render_marks(marks)}</svg>'

    [line] = drawing.pixels_of(svg, "stock-curve")
    assert abs(line[-1][0] - points[-1][0]) <= 0.0501
    assert abs(line[-1][1] - points[-1][1]) <= 0.0501


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=60))
@STEADY
def test_thinning_moves_a_line_by_no_more_than_its_hair(heights: list[float]) -> None:
    """Every point left out lies within a twelfth of a pixel of the line that remains."""
    points = [(float(index * 5), height) for index, height in enumerate(heights)]
    kept = thin(points)

    assert kept[0] == points[0]
    assert kept[-1] == points[-1]
    for x, y in points:
        before = max((point for point in kept if point[0] <= x), key=lambda point: point[0])
        after = min((point for point in kept if point[0] >= x), key=lambda point: point[0])
        share = 0.0 if after == before else (x - before[0]) / (after[0] - before[0])
        there = before[1] + share * (after[1] - before[1])
        slope = 0.0 if after == before else (after[1] - before[1]) / (after[0] - before[0])
        assert abs(y - there) / (1 + slope**2) ** 0.5 <= 1 / 12


@given(st.floats(-1000, 1000))
@STEADY
def test_a_coordinate_is_written_to_a_tenth(value: float) -> None:
    """What is written reads back within half a tenth, and never as a negative zero."""
    assert abs(float(number(value)) - value) <= 0.0501
    assert number(value) not in {"-0", "-.0", ""}


def test_nothing_heavy_is_loaded_with_the_room() -> None:
    """Importing the room, and drawing small curves, loads no drawing or imaging library."""
    script = (
        "import sys\n"
        "from basefog.picture import draw_small_curve\n"
        "from picture.samples import make_stock\n"
        "draw_small_curve(make_stock(), None)\n"
        "heavy = {'matplotlib', 'scipy', 'cv2', 'tifffile', 'PIL', 'imagecodecs'}\n"
        "print(sorted(heavy & {name.split('.')[0] for name in sys.modules}))"
    )
    path = {"PYTHONPATH": ":".join(entry for entry in sys.path if entry)}
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, env=path)

    assert ran.stdout == "[]\n"


def test_of_points_equally_far_from_a_line_the_first_stays() -> None:
    """An exact tie, however the last bits of the coordinates fall."""
    for shake in (-1e-9, 0.0, 1e-9):
        points = [(0.0, 0.0), (10.0, 5.0 - shake), (20.0, 5.0 + shake), (30.0, 0.0)]
        assert thin(points, tolerance_px=4.0) == [points[0], points[1], points[3]]


def test_points_at_the_tolerance_of_a_line_are_left_out() -> None:
    """Just as far as allowed, however the last bits fall; a thousandth further stays."""
    for shake in (-1e-9, 0.0, 1e-9):
        assert len(thin([(0.0, 0.0), (10.0, 0.08 + shake), (20.0, 0.0)])) == 2
    assert len(thin([(0.0, 0.0), (10.0, 0.081), (20.0, 0.0)])) == 3


def test_a_line_that_comes_back_keeps_its_farthest_point() -> None:
    """Its chord has no length, and the distance to the point counts."""
    points = [(5.0, 5.0), (6.0, 9.0), (5.0, 12.0), (4.0, 9.0), (5.0, 5.0)]

    assert points[2] in thin(points)
    assert thin([(5.0, 5.0), (5.05, 5.05), (5.0, 5.0)]) == [(5.0, 5.0), (5.0, 5.0)]


def test_coordinates_on_a_half_do_not_hang_on_the_last_bits() -> None:
    """0.05 is a tie of tenths."""
    for value in (0.05, 12.25, 36.35, 271.45):
        assert number(value - 1e-9) == number(value + 1e-9)
        assert polyline([(value - 1e-9, 1), (7, value)]) == polyline([(value + 1e-9, 1), (7, value)])
