"""Tone separation: how steep the curve is at every exposure, counted from the speed point."""

from typing import Final

import numpy as np

from basefog.picture.charts.curve import LABEL_WIDTH_PX, format_value, join_words
from basefog.picture.charts.labels import Spot, shorten
from basefog.picture.charts.pair import empty_chart, first_word, reason_without_curve, speed_point_of
from basefog.picture.charts.plot import LEFT_PX, RIGHT_PX, TOP_PX, Plot, with_own_settings
from basefog.picture.charts.scale import Scale, steps_up
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.records.content import FloatArray
from basefog.records.findings import TestFindings
from basefog.records.numbers import settle

TONE_RANGES: Final = (
    ("shadows", 0.0, 0.60, "shadow_gradient"),
    ("middle tones", 0.60, 1.40, "middle_gradient"),
    ("highlights", 1.40, 2.00, "highlight_gradient"),
)
"""The three ranges of measures.md, in log exposure above the speed point (project)."""

FIRST, LAST = -0.3, 2.4
GRADIENT_STEP: Final = 0.2
HEIGHT_PX: Final = 250.0
STRIP_PX: Final = 24.0


@with_own_settings
def draw_tone_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return the local gradient of a test and the reference against log exposure from the speed point, as SVG."""
    title = f"Tone separation of {name}"
    description = describe_tone_chart(test, reference, name=name, reference_name=reference_name)
    stock = _gradient(test)
    if stock is None:
        return empty_chart("tones", test, title=title, why=_why_not(test, name))
    other = None if reference is None or reference.key == test.key else _gradient(reference)
    tops = [curve[3].max() for curve in (stock, other) if curve is not None]
    # Room above the highest band for a name.
    y1 = max(steps_up(GRADIENT_STEP, float(max(tops)) * HEIGHT_PX / (HEIGHT_PX - 40)), 4) * GRADIENT_STEP
    scale = Scale(
        x0=FIRST,
        x1=LAST,
        y0=0.0,
        y1=y1,
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        bottom_px=TOP_PX + HEIGHT_PX,
    )
    plot = Plot(scale, notes=_notes(test, reference, reference_name), strip_px=STRIP_PX)
    plot.grid("log exposure from the speed point", "gradient, mean over 0.30", y_step=GRADIENT_STEP)
    draw_ranges(plot)
    named = [(stock, name, "stock")] + ([] if other is None else [(other, reference_name, "reference")])
    for curve, words, whose in reversed(named):
        plot.band(curve[0], curve[2], curve[3], f"{whose}-band", of=words)
    for curve, words, whose in reversed(named):
        plot.curve(curve[0], curve[1], f"{whose}-curve", of=words)
    for curve, words, whose in named:
        rivals = [rival for rival, _, _ in named if rival is not curve]
        spots = _spots(plot, curve, rivals[0] if rivals else None)
        plot.label(shorten(words, TEXT_PX, LABEL_WIDTH_PX), whose, spots)
    return plot.render(chart="tones", test=test.key, title=title, description=description)


def describe_tone_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return what the tone chart shows, in a sentence or two, for those who don't see it."""
    if _gradient(test) is None:
        return _why_not(test, name)
    said = f"Mean gradient of {name}: {_range_words(test)}."
    if reference is not None and reference.key != test.key and _gradient(reference) is not None:
        said += f" {first_word(reference_name)}: {_range_words(reference)}."
    return " ".join([said, *_notes(test, reference, reference_name)])


GradientCurve = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


def _gradient(test: TestFindings) -> GradientCurve | None:
    """Return x from the speed point, gradient, low and high, cut to the chart's exposures; None where impossible."""
    place = speed_point_of(test)
    if place is None or test.curve is None:
        return None
    x = test.curve.log_exposure - place[0]
    inside = np.unique(np.concatenate([x[(x > FIRST) & (x < LAST)], [max(FIRST, x[0]), min(LAST, x[-1])]]))
    values = (test.curve.gradient, test.curve.gradient_low, test.curve.gradient_high)
    middle, low, high = (np.interp(inside, x, value) for value in values)
    return inside, middle, np.maximum(low, 0.0), high


def _why_not(test: TestFindings, name: str) -> str:
    if test.curve is None:
        return reason_without_curve(test, name)
    speed = test.measures.get("speed_point")
    why = speed.why if speed is not None and speed.why else "it was not measured"
    return f"{first_word(name)} has no speed point to count from: {why}."


def _notes(test: TestFindings, reference: TestFindings | None, reference_name: str) -> tuple[str, ...]:
    if reference is None or reference.key == test.key or _gradient(reference) is not None:
        return ()
    return (f"{first_word(reference_name)} is left out: it has no speed point to count from.",)


def _range_words(test: TestFindings) -> str:
    values = [(words, format_value(test.measures.get(measure))) for words, _, _, measure in TONE_RANGES]
    said = [f"{value} in the {words}" for words, value in values if value is not None]
    return join_words(said) if said else "not measured in any of the three ranges"


def draw_ranges(plot: Plot) -> None:
    """Part the three ranges by lines and name them in the strip below the axis."""
    scale = plot.scale
    for x in sorted({edge for _, first, last, _ in TONE_RANGES for edge in (first, last)}):
        plot.pixel_line([(scale.x_px(x), scale.bottom_px + STRIP_PX), (scale.x_px(x), scale.top_px)], "range")
    for words, first, last, _ in TONE_RANGES:
        middle_px = scale.x_px((first + last) / 2)
        plot.write("tick", Spot(x_px=middle_px, y_px=scale.bottom_px + 17, anchor="middle"), words)


def _spots(plot: Plot, curve: GradientCurve, rival: GradientCurve | None) -> list[Spot]:
    """Return spots along a curve, on the side away from the other curve where it can be."""
    spots: list[tuple[float, Spot]] = []
    for gap_px in (9.0, 16.0, 26.0):
        for share in (0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.9, 0.2):
            index = round(share * (len(curve[0]) - 1))
            x, y = float(curve[0][index]), float(curve[1][index])
            above = rival is None or settle(y - float(np.interp(x, rival[0], rival[1])), 3) >= 0
            x_px, high_px, low_px = (
                plot.scale.x_px(x),
                plot.scale.y_px(curve[3][index]),
                plot.scale.y_px(curve[2][index]),
            )
            up = Spot(x_px=x_px, y_px=high_px - gap_px, anchor="middle")
            down = Spot(x_px=x_px, y_px=low_px + gap_px + TEXT_PX, anchor="middle")
            spots.append((0.0 if above else 1.0, up))
            spots.append((1.0 if above else 0.0, down))
    return [spot for _, spot in sorted(spots, key=lambda ranked: ranked[0])]
