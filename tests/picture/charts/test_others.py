"""Every chart of a test but its curve and tones, and the control strips, as they are drawn."""

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from basefog import picture
from basefog.records.findings import Quantity
from basefog.records.vocabulary import CHARTS, LOG10_2
from picture.charts import drawing
from picture.charts.test_curve import LONG_NAME
from picture.samples import (
    PATCH_NAMES,
    make_batches,
    make_findings,
    make_patch,
    make_whole_reference,
    make_whole_stock,
    with_measures,
)

NAMES = {"name": "Tern 100", "reference_name": "Marl 400"}
DRAW: dict[str, Callable[..., str]] = {
    "patches": picture.draw_patch_chart,
    "tone-reproduction": picture.draw_reproduction_chart,
    "frames": picture.draw_frame_chart,
    "contrast-time": picture.draw_contrast_time_chart,
    "spectrum": picture.draw_spectrum_chart,
    "edge-response": picture.draw_edge_chart,
}
DESCRIBE: dict[str, Callable[..., str]] = {
    "patches": picture.describe_patch_chart,
    "tone-reproduction": picture.describe_reproduction_chart,
    "frames": picture.describe_frame_chart,
    "contrast-time": picture.describe_contrast_time_chart,
    "spectrum": picture.describe_spectrum_chart,
    "edge-response": picture.describe_edge_chart,
}


def draw(chart: str) -> str:
    return DRAW[chart](make_whole_stock(), make_whole_reference(), **NAMES)


@pytest.mark.parametrize("chart", DRAW)
@pytest.mark.parametrize("name", ["Tern 100", LONG_NAME], ids=["short", "long"])
def test_words_stay_inside_and_apart(chart: str, name: str) -> None:
    """No text leaves the picture or runs into another, even in a wide face."""
    svg = DRAW[chart](make_whole_stock(), make_whole_reference(), name=name, reference_name=name)

    assert drawing.outside(svg) == []
    assert drawing.overlapping(svg) == []
    assert len(svg.encode()) < 16_000


@pytest.mark.parametrize("chart", DRAW)
def test_each_chart_says_what_it_is_and_names_no_colour(chart: str) -> None:
    """The chart's id, its test and its description stand in the picture; paints are custom properties."""
    svg = draw(chart)
    root = drawing.parse(svg)

    described = DESCRIBE[chart](make_whole_stock(), make_whole_reference(), **NAMES)
    found = root.find(f"{drawing.SVG}desc")
    assert root.get("data-chart") == chart
    assert root.get("data-test") == "tern-100/2026-03-14"
    assert found is not None
    assert found.text == described
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', svg)) <= {
        "none",
        *(f"var({key})" for key in picture.CHART_STYLE),
    }


@pytest.mark.parametrize("chart", DRAW)
def test_a_test_without_the_finding_gives_the_reason(chart: str) -> None:
    """Where nothing was measured the picture holds its description as a sentence."""
    bare = make_findings(None)
    svg = DRAW[chart](bare, make_whole_reference(), **NAMES)

    said = " ".join(words for _, words, _ in drawing.texts_of(svg))
    assert said == DESCRIBE[chart](bare, make_whole_reference(), **NAMES)
    assert said.startswith("Tern 100")


@pytest.mark.parametrize("chart", DRAW)
def test_the_reference_stands_alone(chart: str) -> None:
    """In the reference's own chart nothing is drawn as a reference."""
    reference = replace(make_whole_reference(), contrast_time=make_whole_stock().contrast_time)
    svg = DRAW[chart](reference, reference, name="Marl 400", reference_name="Marl 400")

    assert drawing.pixels_of(svg, "reference-curve") == []
    assert drawing.pixels_of(svg, "reference-point") == []


def test_patches_stand_at_their_stops() -> None:
    """Points, intervals and the eye's bars, read through the scale, are the findings."""
    stock, reference = make_whole_stock(), make_whole_reference()
    svg = picture.draw_patch_chart(stock, reference, patch_names=PATCH_NAMES, **NAMES)

    stops = [patch.stops_from_grey.value for patch in stock.patches.values()]
    drawn = [line[0][0] for line in drawing.points_of(svg, "stock-point")][:-1]  # the last is in the key
    assert drawn == pytest.approx(stops, abs=0.001)
    eyes = [line[0][0] for line in drawing.points_of(svg, "eye")][:-1]
    assert eyes == pytest.approx([-1.85, -0.05, -1.6], abs=0.001)
    intervals = [sorted(point[0] for point in line) for line in drawing.points_of(svg, "stock-error")]
    assert intervals == [pytest.approx([value - 0.09, value + 0.09], abs=0.001) for value in (-1.8, 0.4, -0.85)]
    assert {"Grey", "Deep grey", "Red", "Blue"} <= {words for _, words, _ in drawing.texts_of(svg)}


@pytest.mark.parametrize("count", [1, 24])
def test_any_number_of_patches_fits(count: int) -> None:
    """Rows are added below; words keep apart and the picture stays small."""
    patches = [make_patch(f"patch {index}", index / 4 - 3, eye=index / 5 - 3, reference=None) for index in range(count)]
    stock = replace(make_whole_stock(), patches={patch.patch: patch for patch in patches})
    svg = DRAW["patches"](stock, stock if count == 1 else make_whole_reference(), **NAMES)

    assert drawing.outside(svg) == []
    assert drawing.overlapping(svg) == []
    assert len(svg.encode()) < 16_000
    assert len(drawing.pixels_of(svg, "stock-point")) == count + 1  # one is in the key


def test_patches_are_told_by_what_is_beyond_error() -> None:
    """Only what the verdicts call higher or lower is named, with its size."""
    said = picture.describe_patch_chart(make_whole_stock(), make_whole_reference(), patch_names=PATCH_NAMES, **NAMES)

    assert said == (
        "Tern 100 against the eye: Red 0.5 and Blue 0.8 stops lighter. Against Marl 400: Blue 0.2 stops darker."
    )


def test_frames_stand_at_their_stops_and_densities() -> None:
    """Rings are the frames, and the round point is the chosen one."""
    stock = make_whole_stock()
    svg = draw("frames")

    rings = np.array([line[0] for line in drawing.points_of(svg, "stock-step")])
    expected = np.array([(frame.stops, frame.shadow_density) for frame in stock.frames])
    assert np.abs(rings - expected).max() < 0.002
    [chosen] = [frame for frame in stock.frames if frame.chosen]
    [point] = [line[0] for line in drawing.points_of(svg, "stock-point")]
    assert point == pytest.approx((chosen.stops, chosen.shadow_density), abs=0.002)
    aims = [line for line in drawing.points_of(svg, "reference-level") if len(line) == 2]
    assert aims[0][0][1] == pytest.approx(0.36, abs=0.001)


def test_a_stop_is_as_long_as_its_density() -> None:
    """In the frames' chart too a gradient of one is at 45 degrees: a stop is 0.301 of log exposure."""
    scale = drawing.scale_of(draw("frames"))

    per_stop = (scale["right"] - scale["left"]) / (scale["x1"] - scale["x0"])
    per_density = (scale["bottom"] - scale["top"]) / (scale["y1"] - scale["y0"])
    assert per_stop == pytest.approx(per_density * LOG10_2, rel=1e-3)


def test_frames_are_told_with_their_match() -> None:
    """The chosen frame, how near it comes, and the light the stock needs."""
    said = picture.describe_frame_chart(
        make_whole_stock(), make_whole_reference(), name=NAMES["name"], reference_name=NAMES["reference_name"]
    )

    assert said == (
        "13 frames of Tern 100 from −2.0 to +2.0 stops. Chosen is frame 8 at +0.33 stops, whose shadow density "
        "differs from that of Marl 400 by +0.02. For equal shadows Tern 100 needs 0.42 stops more light."
    )


def test_the_print_falls_as_the_subject_brightens_on_equal_axes() -> None:
    """The drawn curve is the tone reproduction, one unit as long across as down."""
    stock = make_whole_stock()
    svg = draw("tone-reproduction")

    scale = drawing.scale_of(svg)
    across = (scale["right"] - scale["left"]) / (scale["x1"] - scale["x0"])
    down = (scale["bottom"] - scale["top"]) / (scale["y1"] - scale["y0"])
    assert across == pytest.approx(down, rel=1e-3)
    drawn = np.array(drawing.points_of(svg, "stock-curve")[0])
    assert stock.tone_reproduction is not None
    read = np.interp(stock.tone_reproduction.subject_log_luminance, drawn[:, 0], drawn[:, 1])
    assert np.abs(read - stock.tone_reproduction.print_density).max() < 0.003


def test_development_times_are_drawn_in_proportion() -> None:
    """On the axis of time equal ratios are equal lengths, and the matching time falls where the level meets it."""
    stock = make_whole_stock()
    svg = draw("contrast-time")

    assert stock.contrast_time is not None
    rings = np.array([line[0] for line in drawing.points_of(svg, "stock-step")])
    times = [point.time_min for point in stock.contrast_time.points]
    assert 10 ** rings[:, 0] == pytest.approx(times, rel=0.001)
    [point, _] = [line[0] for line in drawing.points_of(svg, "stock-point")]
    assert 10 ** point[0] == pytest.approx(7.3, rel=0.002)
    assert point[1] == pytest.approx(0.62, abs=0.001)
    assert "7.3 minutes would give the gradient of Marl 400" in DESCRIBE["contrast-time"](
        stock, make_whole_reference(), **NAMES
    ).replace("7.30", "7.3")


def test_the_spectrum_is_drawn_on_logarithmic_axes() -> None:
    """The drawn lines, read through the scale, are the logarithms of both spectra."""
    stock, reference = make_whole_stock(), make_whole_reference()
    svg = draw("spectrum")

    for whose, found in (("stock", stock), ("reference", reference)):
        assert found.spectrum is not None
        drawn = np.array(drawing.points_of(svg, f"{whose}-curve")[0])
        read = np.interp(np.log10(found.spectrum.cycles_per_mm), drawn[:, 0], drawn[:, 1])
        assert np.abs(read - np.log10(found.spectrum.power_um2)).max() < 0.01


def test_the_spectrum_is_told_at_round_frequencies() -> None:
    """A bell of 0.1 square micrometres that is half at 30: 0.1 x 0.5^(f/30)^2, at what density, and the reference's."""
    stock = make_whole_stock()

    assert DESCRIBE["spectrum"](stock, make_whole_reference(), **NAMES) == (
        "Wiener spectrum of the grain of Tern 100: 0.093 µm² at 10, 0.073 µm² at 20 and 0.015 µm² at 50 cycles/mm. "
        "Marl 400: 0.19 µm² at 10, 0.15 µm² at 20 and 0.029 µm² at 50 cycles/mm."
    )
    assert "Marl 400 at density 1.20, base and fog included." in draw("spectrum")


def test_a_frequency_without_power_is_left_out() -> None:
    """Zero has no logarithm: the line goes on at its neighbours."""
    stock = make_whole_stock()
    assert stock.spectrum is not None
    power = stock.spectrum.power_um2.copy()
    power[10] = 0.0
    bare = replace(stock, spectrum=replace(stock.spectrum, power_um2=power))
    svg = picture.draw_spectrum_chart(bare, None, **NAMES)

    assert "nan" not in svg
    assert "inf" not in svg
    assert len(drawing.pixels_of(svg, "stock-curve")) == 2  # one is the sample beside its name


def test_half_of_the_contrast_is_marked() -> None:
    """The round point and the diamond lie at 50 % and at each film's own frequency."""
    svg = draw("edge-response")

    point = drawing.points_of(svg, "stock-point")[0][0]
    corners = np.array(drawing.points_of(svg, "reference-point")[0])
    assert point == pytest.approx((33.0, 0.5), abs=0.06)
    assert (corners[:, 0].max() + corners[:, 0].min()) / 2 == pytest.approx(28.0, abs=0.06)
    assert (corners[:, 1].max() + corners[:, 1].min()) / 2 == pytest.approx(0.5, abs=0.002)
    assert DESCRIBE["edge-response"](make_whole_stock(), make_whole_reference(), **NAMES) == (
        "Half of an edge’s contrast is left at 33.0 cycles/mm on Tern 100, at 28.0 on Marl 400: "
        "film, taking lens and scanner together."
    )


def test_a_response_that_stays_above_half_says_so() -> None:
    """Without a 50 % point there is no mark, and the words say how far the scan told."""
    missing = Quantity(value=None, low=None, high=None, unit="cycles/mm", why="the scan ends first")
    stock = with_measures(make_whole_stock(), mtf50=missing)
    svg = picture.draw_edge_chart(stock, None, **NAMES)

    assert drawing.pixels_of(svg, "stock-point") == []
    assert "does not come down to half of the contrast by 56 cycles/mm" in DESCRIBE["edge-response"](
        stock, None, **NAMES
    )


def test_an_overshoot_is_shown() -> None:
    """A response above one, as a scanner that sharpens gives it, stays inside the picture."""
    stock = make_whole_stock()
    assert stock.edge_response is not None
    sharpened = replace(stock.edge_response, response=stock.edge_response.response * 1.25)
    svg = picture.draw_edge_chart(replace(stock, edge_response=sharpened), None, **NAMES)

    assert drawing.scale_of(svg)["y1"] == pytest.approx(1.3)
    assert drawing.outside(svg) == []


@pytest.mark.parametrize("chart", ["curve", "tones", *DRAW])
def test_a_test_that_goes_by_its_day_reads_as_a_test(chart: str) -> None:
    """Sentences call it the test of that day, with a capital where one begins with it."""
    name, other = "the test of 17 January 2026", "the test of 3 October 2026"
    said, bare = (
        picture.describe_chart(chart, test, make_whole_reference(), name=name, reference_name=other)
        for test in (make_whole_stock(), make_findings(None))
    )

    assert "the test of 17 January 2026" in said.replace("The test", "the test")
    for text in (said, bare):
        assert re.search(r"(?:^|[.:!?] )the test", text) is None


@pytest.mark.parametrize("count", [1, 3, 7, 22])
def test_control_strips_keep_their_words_apart(count: int) -> None:
    """However many batches, words stay inside and apart and the picture small."""
    svg = picture.draw_control_strip_chart(make_batches(count), batch="2026-01-14-tank")

    assert drawing.outside(svg) == []
    assert drawing.overlapping(svg) == []
    assert len(svg.encode()) < 16_000
    rings = drawing.pixels_of(svg, "other-step")
    assert len(rings) == 4 * (count - 1) + 1  # one ring is in the key
    assert len(drawing.pixels_of(svg, "stock-point")) == 5


def test_limits_are_drawn_from_seven_batches_on() -> None:
    """Before that there are none, and the words say so; after it, what is beyond them is named."""
    few, many = make_batches(6), make_batches(8)

    assert drawing.pixels_of(picture.draw_control_strip_chart(few), "far-limit") == []
    assert "limits are drawn from seven batches on" in picture.describe_control_strip_chart(few)
    limits = drawing.pixels_of(picture.draw_control_strip_chart(many), "far-limit")
    assert len(limits) == 2 * 4 + 1
    assert picture.describe_control_strip_chart(many, batch="2026-01-14-tank") == (
        "Control strips of 8 batches; beyond 3 sigma of the others: 2026-05-14-tank. "
        "Batch 2026-01-14-tank reads base 0.23, low 0.40, mid 0.96 and high 1.59."
    )
    assert picture.describe_control_strip_chart(()) == "No control strip was read."
    assert "No control strip was read." in picture.draw_control_strip_chart(())


def test_all_charts_of_a_test_are_behind_one_door() -> None:
    """A test's charts are listed by the vocabulary's ids, in its order, and drawn and described by them."""
    stock, reference = make_whole_stock(), make_whole_reference()

    listed = picture.list_charts(stock)
    assert listed == tuple(chart for chart in CHARTS if chart in listed)
    assert listed == ("curve", "tones", *DRAW)
    for chart, drawn in DRAW.items():
        named = {**NAMES, **({"patch_names": PATCH_NAMES} if chart == "patches" else {})}
        assert picture.draw_chart(chart, stock, reference, patch_names=PATCH_NAMES, **NAMES) == drawn(
            stock, reference, **named
        )
        assert picture.describe_chart(chart, stock, reference, patch_names=PATCH_NAMES, **NAMES) == DESCRIBE[chart](
            stock, reference, **named
        )
    assert picture.list_charts(make_findings(None)) == ()
