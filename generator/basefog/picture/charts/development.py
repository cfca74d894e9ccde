"""Contrast against time: what the average gradient becomes with longer development."""

import math
from typing import Final

import numpy as np

from basefog.picture.charts.curve import LABEL_WIDTH_PX, format_value
from basefog.picture.charts.labels import Spot, shorten
from basefog.picture.charts.pair import empty_chart, first_word
from basefog.picture.charts.plot import LEFT_PX, RIGHT_PX, TOP_PX, Plot, Tick, with_own_settings
from basefog.picture.charts.scale import Scale, outward
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.records.findings import ContrastTime, TestFindings
from basefog.records.numbers import format_number

HEIGHT_PX: Final = 260.0
GRADIENT_STEP: Final = 0.1
_MINUTES: Final = (0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 25, 30, 40, 50, 60, 90, 120)


@with_own_settings
def draw_contrast_time_chart(
    test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str
) -> str:
    """Return average gradient against development time (on a logarithmic axis), the reference's as a level."""
    title = f"Contrast against time of {name}"
    description = describe_contrast_time_chart(test, reference, name=name, reference_name=reference_name)
    family = test.contrast_time
    if family is None or not family.points:
        return empty_chart("contrast-time", test, title=title, why=description)
    plot = Plot(_scale(family))
    plot.grid("development time (min)", "average gradient", x_ticks=_ticks(plot.scale), y_step=GRADIENT_STEP)
    matching = test.measures.get("matching_time")
    level = family.reference_average_gradient
    if level is not None:
        plot.segment((plot.scale.x0, plot.scale.x1), (level, level), "reference-level")
    if matching is not None and matching.value is not None and level is not None:
        there = math.log10(matching.value)
        plot.segment((there, there), (plot.scale.y0, level), "stock-level")
    plot.curve(np.log10(family.time_min), family.average_gradient, "stock-curve", of=name)
    _draw_points(plot, family)
    if matching is not None and matching.value is not None and level is not None:
        plot.points([(plot.scale.x_px(math.log10(matching.value)), plot.scale.y_px(level))], "stock-point")
        _label_matching(plot, math.log10(matching.value), str(format_value(matching)))
    if level is not None:
        _label_level(plot, level, shorten(reference_name, TEXT_PX, LABEL_WIDTH_PX))
    plot.label(shorten(name, TEXT_PX, LABEL_WIDTH_PX), "stock", _spots(plot, family))
    return plot.render(chart="contrast-time", test=test.key, title=title, description=description)


def describe_contrast_time_chart(
    test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str
) -> str:
    """Return the range of times and gradients, and the time that matches the reference, in a sentence or two."""
    family = test.contrast_time
    if family is None or not family.points:
        return f"{first_word(name)} was developed for one time only."
    first, last = family.points[0], family.points[-1]
    said = (
        f"From {first.time_min:g} to {last.time_min:g} minutes the average gradient of {name} rises from "
        f"{format_value(first.average_gradient)} to {format_value(last.average_gradient)}."
    )
    matching = format_value(test.measures.get("matching_time"))
    if matching is not None and reference is not None:
        said += f" {matching} minutes would give the gradient of {reference_name}."
    return said


def _scale(family: ContrastTime) -> Scale:
    times = [point.time_min for point in family.points]
    values = [
        value
        for point in family.points
        for value in (point.average_gradient.value, point.average_gradient.low, point.average_gradient.high)
        if value is not None
    ]
    if family.reference_average_gradient is not None:
        values.append(family.reference_average_gradient)
    y0, y1 = outward(GRADIENT_STEP, min(values) - 0.05, max(values) + 0.05)
    margin = 0.08 * (math.log10(times[-1]) - math.log10(times[0])) or 0.05
    return Scale(
        x0=math.log10(times[0]) - margin,
        x1=math.log10(times[-1]) + margin,
        y0=max(y0, 0.0),
        y1=y1,
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        bottom_px=TOP_PX + HEIGHT_PX,
        log_x=True,
    )


def _ticks(scale: Scale) -> list[Tick]:
    """Return the usual minutes that lie on the axis."""
    inside = [(math.log10(time), f"{time:g}") for time in _MINUTES if scale.x0 <= math.log10(time) <= scale.x1]
    return inside or [(scale.x0, format_number(10**scale.x0, 1))]


def _draw_points(plot: Plot, family: ContrastTime) -> None:
    """Draw each test of the family as a ring in its 95 % interval."""
    places = []
    for point in family.points:
        x, gradient = math.log10(point.time_min), point.average_gradient
        if gradient.low is not None and gradient.high is not None:
            plot.segment((x, x), (gradient.low, gradient.high), "stock-error")
        if gradient.value is not None:
            places.append((x, gradient.value))
    plot.dots([x for x, _ in places], [y for _, y in places], "stock-step", "stock-step-core")


def _label_matching(plot: Plot, x: float, words: str) -> None:
    x_px = plot.scale.x_px(x)
    rows_px = [plot.scale.bottom_px - 8 - 6 * row for row in range(10)]
    spots = [
        *(Spot(x_px=x_px + 8, y_px=row) for row in rows_px),
        *(Spot(x_px=x_px - 8, y_px=row, anchor="end") for row in rows_px),
    ]
    plot.key("matching time", [("stock-point", "stock-label", f"{words} min")], spots)


def _label_level(plot: Plot, level: float, name: str) -> None:
    y_px = plot.scale.y_px(level)
    spots = [
        Spot(x_px=x_px, y_px=y_px + aside, anchor=anchor)
        for aside in (-7, 18)
        for x_px, anchor in ((plot.scale.left_px + 6, "start"), (plot.scale.right_px - 4, "end"))
    ]
    plot.key(name, [("reference-level", "reference-label", format_number(level, 2))], spots)


def _spots(plot: Plot, family: ContrastTime) -> list[Spot]:
    spots = []
    for gap_px in (10.0, 18.0, 28.0):
        for share in (0.9, 0.8, 0.7, 0.6, 0.5, 0.95):
            index = round(share * (len(family.time_min) - 1))
            x_px = plot.scale.x_px(math.log10(float(family.time_min[index])))
            y_px = plot.scale.y_px(float(family.average_gradient[index]))
            spots.append(Spot(x_px=x_px - gap_px, y_px=y_px - gap_px / 2, anchor="end"))
            spots.append(Spot(x_px=x_px + gap_px, y_px=y_px + gap_px / 2 + TEXT_PX))
    return spots
