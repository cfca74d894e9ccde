"""What a drawn chart tells a page's script, so that values can be read off its lines."""

from collections.abc import Mapping

import numpy as np
import pytest

from basefog import picture
from basefog.records.content import FloatArray
from basefog.records.findings import TestFindings
from picture.charts import drawing
from picture.samples import make_whole_reference, make_whole_stock

PLAIN = ('Tern 100 "first" & <last>', "Marl 400")
READABLE = ("curve", "tones", "tone-reproduction", "frames", "contrast-time", "spectrum", "edge-response")
WITH_BANDS = ("curve", "tones", "tone-reproduction", "edge-response")


def draw(chart: str) -> str:
    return picture.draw_chart(
        chart, make_whole_stock(), make_whole_reference(), name=f"{PLAIN[0]}\n", reference_name=PLAIN[1]
    )


def truth_of(chart: str, found: TestFindings) -> tuple[FloatArray, FloatArray]:
    """Return what a chart's line shows, as logarithms where its axis is logarithmic."""
    curve, tones, edge = found.curve, found.tone_reproduction, found.edge_response
    spectrum, family, speed = found.spectrum, found.contrast_time, found.measures["speed_point"].value
    assert curve is not None
    assert tones is not None
    assert edge is not None
    assert spectrum is not None
    assert speed is not None
    frames = sorted((frame.stops, frame.shadow_density) for frame in found.frames if frame.shadow_density is not None)
    truths = {
        "curve": (curve.log_exposure, curve.density),
        "tones": (curve.log_exposure - speed, curve.gradient),
        "tone-reproduction": (tones.subject_log_luminance, tones.print_density),
        "spectrum": (np.log10(spectrum.cycles_per_mm), np.log10(spectrum.power_um2)),
        "edge-response": (edge.cycles_per_mm, np.maximum(edge.response, 0.0)),
        "frames": (np.array([stops for stops, _ in frames]), np.array([density for _, density in frames])),
    }
    if family is not None:
        truths["contrast-time"] = (np.log10(family.time_min), family.average_gradient)
    return truths[chart]


def read_off(svg: str, line: list[tuple[float, float]]) -> tuple[FloatArray, FloatArray]:
    """Return a line's places and values by the axes that its chart tells."""
    scale, pixels = drawing.scale_of(svg), np.array(line)
    across = (pixels[:, 0] - scale["left"]) / (scale["right"] - scale["left"])
    up = (pixels[:, 1] - scale["bottom"]) / (scale["top"] - scale["bottom"])
    return (
        scale["x0"] + across * (scale["x1"] - scale["x0"]),
        scale["y0"] + up * (scale["y1"] - scale["y0"]),
    )


@pytest.mark.parametrize("chart", READABLE)
def test_a_line_tells_its_values_to_a_hundredth(chart: str) -> None:
    """By the axes' attributes alone, every line gives back the numbers that it was drawn from.

    A family of times is the stock's own; frames without a fit of them all stand alone, beside the reference's line.
    """
    named = {"contrast-time": {PLAIN[0]}, "frames": {PLAIN[1]}}
    svg = draw(chart)
    lines = drawing.named_of(svg, "line")
    tests: Mapping[str, TestFindings] = dict(zip(PLAIN, (make_whole_stock(), make_whole_reference()), strict=True))

    assert set(lines) == named.get(chart, set(PLAIN))
    for name, line in lines.items():
        places, values = read_off(svg, line)
        x, y = truth_of(chart, tests[name])
        inside = (places >= x[0]) & (places <= x[-1])
        assert inside.sum() > 5
        assert np.all(np.diff(places) > 0)
        assert np.abs(values - np.interp(places, x, y))[inside].max() < 0.01


@pytest.mark.parametrize("chart", WITH_BANDS)
def test_a_band_goes_round_its_line(chart: str) -> None:
    """A band leads along its upper edge and back along its lower one, both round the line of the same name."""
    svg = draw(chart)
    lines = drawing.named_of(svg, "line")
    bands = drawing.named_of(svg, "band")

    assert set(bands) == set(lines)
    for name, outline in bands.items():
        x = [place[0] for place in outline]
        turn = x.index(max(x))
        there, back = np.array(outline[: turn + 1]), np.array(outline[turn + 1 :][::-1])
        assert np.all(np.diff(there[:, 0]) > 0)
        assert np.all(np.diff(back[:, 0]) > 0)
        line = np.array(lines[name])
        # One tenth of a pixel is what coordinates are rounded to.
        assert np.all(np.interp(line[:, 0], there[:, 0], there[:, 1]) <= line[:, 1] + 0.2)
        assert np.all(np.interp(line[:, 0], back[:, 0], back[:, 1]) >= line[:, 1] - 0.2)


@pytest.mark.parametrize("chart", READABLE)
def test_axes_say_what_they_measure(chart: str) -> None:
    """The words of both axes go with the chart, the same as those that are drawn."""
    root = drawing.parse(draw(chart))
    drawn = [words for kind, words, _ in drawing.texts_of(draw(chart)) if kind == "mark-unit"]

    assert [root.get("data-x-name"), root.get("data-y-name")] == drawn


def test_logarithmic_axes_tell_plain_numbers() -> None:
    """The spectrum's axes are both logarithmic, and what they tell are cycles/mm and µm² all the same."""
    root = drawing.parse(draw("spectrum"))
    stock = make_whole_stock().spectrum
    assert stock is not None

    assert root.get("data-log") == "x y"
    _, first, _, last = (float(part) for part in (root.get("data-x") or "").split())
    assert 0.8 * stock.cycles_per_mm[0] < first <= stock.cycles_per_mm[0]
    assert stock.cycles_per_mm[-1] <= last < 1.2 * stock.cycles_per_mm[-1]


def test_samples_in_labels_are_no_lines() -> None:
    """The piece of line beside a name is not taken for the curve: one path a curve is named."""
    svg = draw("curve")

    assert svg.count("data-line=") == 2
    assert len(drawing.pixels_of(svg, "stock-curve")) > 1
