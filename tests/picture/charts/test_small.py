"""The small curve of a table row: whole, true, and light enough to stand a thousand times in one page."""

import re

from basefog.picture import draw_small_curve
from picture.charts import drawing
from picture.samples import make_findings, make_reference, make_stock


def lines_of(svg: str, kind: str) -> list[list[tuple[float, float]]]:
    """Return the lines of a small curve whose path has these attributes before its data."""
    paths = "".join(f'<path d="{data}"/>' for data in re.findall(rf'<path{kind} d="([^"]+)"', svg))
    group = f'<svg xmlns="http://www.w3.org/2000/svg"><g class="mark-line">{paths}</g></svg>'
    return drawing.pixels_of(group, "line")


def test_the_small_curve_is_small_and_whole() -> None:
    """A row's curve takes less than 450 bytes, stays in its picture, and keeps equal units on both axes."""
    for test in (make_stock(), make_reference()):
        svg = draw_small_curve(test, make_reference())
        [line] = lines_of(svg, "")

        assert len(svg.encode()) < 450
        assert all(0 <= x <= 96 and 0 <= y <= 60 for x, y in line)
        assert test.curve is not None
        across = (line[-1][0] - line[0][0]) / (test.curve.log_exposure[-1] - test.curve.log_exposure[0])
        down = (line[0][1] - line[-1][1]) / (test.curve.density[-1] - test.curve.density[0])
        assert abs(across / down - 1) < 0.01


def test_a_stock_stands_over_the_reference() -> None:
    """The reference is drawn beneath every other stock, and not beneath itself."""
    stock, reference = draw_small_curve(make_stock(), make_reference()), draw_small_curve(make_reference(), None)

    assert len(lines_of(stock, ' class="reference"')) == 1
    assert stock.index('class="reference"') < stock.index("<path d=")
    assert lines_of(reference, ' class="reference"') == []


def test_the_small_curve_of_a_test_without_one_is_empty() -> None:
    """There is then nothing to draw, and nothing is."""
    assert draw_small_curve(make_findings(None), make_reference()) == ""
