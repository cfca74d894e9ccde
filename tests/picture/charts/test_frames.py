"""The chart of the bracketed frames: the fit of all of them, every reading, and what was left out."""

from dataclasses import replace

import numpy as np
import pytest

from basefog import picture
from basefog.records.findings import BracketFit, TestFindings
from picture.charts import drawing
from picture.samples import PATCH_NAMES, make_bracket, make_whole_reference, make_whole_stock

NAMES = {"name": "Tern 100", "reference_name": "Marl 400"}


def fitted() -> tuple[TestFindings, TestFindings]:
    """Return a stock and the reference, the frames of both fitted."""
    return (
        replace(make_whole_stock(), bracket=make_bracket(slower=0.42)),
        replace(make_whole_reference(), bracket=make_bracket()),
    )


def bracket_of(test: TestFindings) -> BracketFit:
    assert test.bracket is not None
    return test.bracket


def draw(stock: TestFindings | None = None) -> str:
    own, reference = fitted()
    return picture.draw_frame_chart(stock or own, reference, patch_names=PATCH_NAMES, **NAMES)


def describe(stock: TestFindings) -> str:
    return picture.describe_frame_chart(stock, fitted()[1], patch_names=PATCH_NAMES, **NAMES)


def test_every_patch_has_its_line() -> None:
    """Read through the scale, each patch's line is the net density that the fit gives it, as far as the curve goes."""
    stock, svg = fitted()[0], draw()
    scale, lines = drawing.scale_of(svg), drawing.named_of(svg, "line")
    names = {"deep": "Tern 100", "grey": "Grey on Tern 100", "red": "Red on Tern 100"}

    assert set(lines) == {*names.values(), "Marl 400"}
    for fit in bracket_of(stock).lines:
        pixels = np.array(lines[names[fit.patch]])
        across = (pixels[:, 0] - scale["left"]) / (scale["right"] - scale["left"])
        up = (pixels[:, 1] - scale["bottom"]) / (scale["top"] - scale["bottom"])
        stops = scale["x0"] + across * (scale["x1"] - scale["x0"])
        net = scale["y0"] + up * (scale["y1"] - scale["y0"])
        known = np.isfinite(fit.density)
        expected = np.interp(stops, fit.stops[known], fit.density[known] - 0.28)
        assert np.abs(net - expected).max() < 0.004
        assert stops.max() <= fit.stops[known].max() + 0.01
    assert max(p[0] for p in lines["Red on Tern 100"]) < max(p[0] for p in lines["Tern 100"])


def test_the_shadow_patch_stands_out() -> None:
    """Its line is the stock's curve and the reference's the reference's; the other patches have thin lines."""
    svg = draw()

    assert len(drawing.pixels_of(svg, "stock-curve")) == 1 + 1  # one is the sample beside its name
    assert len(drawing.pixels_of(svg, "stock-line")) == 2
    words = {words for _, words, _ in drawing.texts_of(svg)}
    assert {"Grey", "Red"} <= words


def test_every_reading_that_served_is_drawn() -> None:
    """Rings are the shadow patch's readings and dots the others', each at its stops and net density."""
    stock, svg = fitted()[0], draw()
    served = [reading for reading in bracket_of(stock).readings if reading.used]

    for kind, of_shadow in (("stock-step", True), ("stock-reading", False)):
        drawn = np.array([line[0] for line in drawing.points_of(svg, kind)])
        places = np.array([(r.stops, r.density - 0.28) for r in served if (r.patch == "deep") == of_shadow])
        assert drawn == pytest.approx(places, abs=0.004)


def test_what_was_left_out_is_a_cross() -> None:
    """One reading was left out and has a cross at its place; one that does not fit either but served has none."""
    svg = draw()
    [out] = [one for one in bracket_of(fitted()[0]).readings if one.left_out and not one.used]
    crosses = np.array([point for line in drawing.points_of(svg, "left-out") for point in line])

    middle = (crosses.max(axis=0) + crosses.min(axis=0)) / 2
    assert middle == pytest.approx((out.stops, out.density - 0.28), abs=0.01)
    assert np.ptp(crosses[:, 0]) < 0.3
    assert "Crosses: left out." in svg


def test_misfits_are_told_with_what_became_of_them() -> None:
    """Words name what was left out by patch and frame, and apart from it what does not fit but had to stay."""
    said = describe(fitted()[0])

    assert said.endswith(
        " Left out, not fitting the others: Red on frame 9. Not fitting the others, but kept: Red on frame 1."
    )
    sound = replace(
        fitted()[0],
        bracket=replace(
            make_bracket(slower=0.42),
            readings=tuple(replace(one, left_out=False, used=True) for one in make_bracket().readings),
        ),
    )
    assert "fitting" not in describe(sound)
    assert "Crosses" not in draw(sound)


def test_the_words_keep_apart_with_many_patches() -> None:
    """Names of lines that end close together keep apart or are left out; nothing leaves the picture."""
    bracket = make_bracket(slower=0.42)
    [grey] = [line for line in bracket.lines if line.patch == "grey"]
    many = [replace(grey, patch=f"patch number {index}", density=grey.density + index / 40) for index in range(8)]
    svg = draw(replace(fitted()[0], bracket=replace(bracket, lines=(*bracket.lines, *many))))

    assert drawing.outside(svg) == []
    assert drawing.overlapping(svg) == []
    assert len(drawing.pixels_of(svg, "stock-line")) == 2 + 8


def test_a_line_outside_the_picture_is_left_out() -> None:
    """A patch whose line has no place over the frames is not drawn, and nothing fails."""
    bracket = make_bracket(slower=0.42)
    far = replace(bracket.lines[0], patch="far", stops=bracket.lines[0].stops + 40)
    svg = draw(replace(fitted()[0], bracket=replace(bracket, lines=(*bracket.lines, far))))

    assert set(drawing.named_of(svg, "line")) == {"Tern 100", "Grey on Tern 100", "Red on Tern 100", "Marl 400"}


def test_without_base_plus_fog_the_frames_stand_alone() -> None:
    """Where net densities of the fit can't be had, only the frames' own are drawn."""
    svg = draw(replace(fitted()[0], bracket=replace(make_bracket(), base=None)))

    assert drawing.pixels_of(svg, "stock-line") == []
    assert drawing.pixels_of(svg, "stock-reading") == []
    assert len(drawing.pixels_of(svg, "stock-step")) == 13
