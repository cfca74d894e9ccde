"""The tone separation as it is drawn."""

import numpy as np
import pytest

from basefog.picture import describe_tone_chart, draw_tone_chart
from basefog.picture.charts.tones import TONE_RANGES
from basefog.records.findings import Quantity
from picture.charts import drawing
from picture.charts.test_curve import LONG_NAME, STOCKS
from picture.samples import make_findings, make_reference, make_stock, with_measures


@pytest.mark.parametrize("kind", STOCKS)
@pytest.mark.parametrize("name", ["Tern 100", LONG_NAME], ids=["short", "long"])
def test_words_stay_inside_and_apart(kind: str, name: str) -> None:
    """No text leaves the picture or runs into another, even in a wide face."""
    svg = draw_tone_chart(STOCKS[kind], make_reference(), name=name, reference_name="Marl 400")

    assert drawing.outside(svg) == []
    assert drawing.overlapping(svg) == []
    assert len(svg.encode()) < 16_000


def test_the_gradient_stands_over_the_exposure_from_the_speed_point() -> None:
    """The drawn line, read through the scale, is the curve's gradient with its axis zero at the speed point."""
    stock = make_stock()
    svg = draw_tone_chart(stock, make_reference(), name="Tern 100", reference_name="Marl 400")

    drawn = np.array(drawing.points_of(svg, "stock-curve")[0])
    speed = stock.measures["speed_point"].value
    assert stock.curve is not None
    assert speed is not None
    x = stock.curve.log_exposure - speed
    inside = (x >= -0.3) & (x <= 2.4)
    read = np.interp(x[inside], drawn[:, 0], drawn[:, 1])
    # A tenth of a pixel is 0.0004 here up and 0.0006 across, on slopes up to 2.
    assert np.abs(read - stock.curve.gradient[inside]).max() < 0.004


def test_the_three_ranges_are_parted_where_measures_says() -> None:
    """Lines stand at 0, 0.60, 1.40 and 2.00 above the speed point (measures.md), names between them."""
    svg = draw_tone_chart(make_stock(), make_reference(), name="Tern 100", reference_name="Marl 400")

    lines = sorted(line[0][0] for line in drawing.points_of(svg, "range"))
    assert lines == pytest.approx([0.0, 0.6, 1.4, 2.0], abs=0.001)
    scale = drawing.scale_of(svg)
    for words, first, last, _ in TONE_RANGES:
        [box] = [box for _, text, box in drawing.texts_of(svg) if text == words]
        unit_px = (scale["right"] - scale["left"]) / (scale["x1"] - scale["x0"])
        assert scale["left"] + (first - scale["x0"]) * unit_px < box[0]
        assert box[2] < scale["left"] + (last - scale["x0"]) * unit_px


def test_bands_never_fall_below_zero() -> None:
    """A gradient is not negative; a band is cut at zero and stays in the plot."""
    svg = draw_tone_chart(STOCKS["bracket"], make_reference(), name="Tern 100", reference_name="Marl 400")

    lowest = min(y for line in drawing.points_of(svg, "stock-band") for _, y in line)
    assert lowest >= -0.001


def test_without_a_speed_point_there_is_nothing_to_count_from() -> None:
    """The chart then says why, and so does its description."""
    why = Quantity(value=None, low=None, high=None, unit="log H", why="the curve begins above it")
    stock = with_measures(make_stock(), speed_point=why)

    expected = "Tern 100 has no speed point to count from: the curve begins above it."
    svg = draw_tone_chart(stock, make_reference(), name="Tern 100", reference_name="Marl 400")
    assert " ".join(words for _, words, _ in drawing.texts_of(svg)) == expected
    assert describe_tone_chart(stock, make_reference(), name="Tern 100", reference_name="Marl 400") == expected


def test_a_reference_without_speed_point_is_left_out_in_words() -> None:
    """The stock is drawn alone and a sentence says why."""
    reference = make_findings(None, stock="marl-400", curve_why="invented")
    svg = draw_tone_chart(make_stock(), reference, name="Tern 100", reference_name="Marl 400")

    assert drawing.pixels_of(svg, "reference-curve") == []
    assert "Marl 400 is left out" in " ".join(words for _, words, _ in drawing.texts_of(svg))


def test_the_description_carries_the_numbers() -> None:
    """Mean gradients of the three ranges, of both."""
    said = describe_tone_chart(make_stock(), make_reference(), name="Tern 100", reference_name="Marl 400")

    assert said == (
        "Mean gradient of Tern 100: 0.64 in the shadows, 0.68 in the middle tones and 0.65 in the highlights. "
        "Marl 400: 0.57 in the shadows, 0.62 in the middle tones and 0.61 in the highlights."
    )
