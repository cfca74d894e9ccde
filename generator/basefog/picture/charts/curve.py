"""The characteristic curve: density against log exposure, both axes to one scale."""

from collections.abc import Sequence
from typing import Final

from basefog.picture.charts.labels import Spot, shorten
from basefog.picture.charts.pair import Companion, companion_of, empty_chart, reason_without_curve, speed_point_of
from basefog.picture.charts.plot import LEFT_PX, RIGHT_PX, TICK, TOP_PX, Plot, with_own_settings
from basefog.picture.charts.scale import Scale, equal_scale, outward, steps_up
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.records.findings import Curve, Quantity, TestFindings
from basefog.records.numbers import decimals_for, format_number

MAX_HEIGHT_PX: Final = 400.0
LABEL_WIDTH_PX: Final = 230.0

_FACTS: Final = (
    ("base plus fog", "base_plus_fog"),
    ("speed point", "speed_point"),
    ("average gradient", "average_gradient"),
)


@with_own_settings
def draw_curve_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return the characteristic curve of a test beside the reference's, as SVG for a page.

    Where the two have no exposure scale in common the reference is moved along until the speed points meet, and the
    chart says so; where that can't be done either it is left out, and the chart says so.
    """
    title = f"Characteristic curve of {name}"
    description = describe_curve_chart(test, reference, name=name, reference_name=reference_name)
    if test.curve is None:
        return empty_chart("curve", test, title=title, why=reason_without_curve(test, name))
    companion = companion_of(test, reference, name=reference_name)
    plot = Plot(_scale(test.curve, companion), notes=companion.notes)
    plot.grid(axis_label(test.curve), "density")
    if companion.curve is not None:
        x = companion.curve.log_exposure + companion.shift
        plot.band(x, companion.curve.low, companion.curve.high, "reference-band", of=reference_name)
    plot.band(test.curve.log_exposure, test.curve.low, test.curve.high, "stock-band", of=name)
    levels = _levels_of(test, companion)
    _draw_levels(plot, levels)
    if companion.curve is not None:
        x = companion.curve.log_exposure + companion.shift
        plot.curve(x, companion.curve.density, "reference-curve", of=reference_name)
    plot.curve(test.curve.log_exposure, test.curve.density, "stock-curve", of=name)
    steps = ([step.log_exposure for step in test.steps], [step.density for step in test.steps])
    plot.dots(*steps, "stock-step", "stock-step-core")
    _draw_speed_points(plot, test, companion)
    _label_levels(plot, levels)
    _label_curves(plot, test.curve, companion, name=name)
    return plot.render(chart="curve", test=test.key, title=title, description=description)


def describe_curve_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return what the curve chart shows, in a sentence or two, for those who don't see it."""
    if test.curve is None:
        return reason_without_curve(test, name)
    x, density = test.curve.log_exposure, test.curve.density
    reach = f"{axis_label(test.curve)} {format_number(x[0], 2)} to {format_number(x[-1], 2)}"
    rise = f"{format_number(density[0], 2)} to {format_number(density[-1], 2)}"
    said = [f"Over {reach} the density of {name} rises from {rise}."]
    companion = companion_of(test, reference, name=reference_name)
    other = None if companion.curve is None else companion.test
    facts = [(words, measure, format_value(test.measures.get(measure))) for words, measure in _FACTS]
    own = [f"{words} {value}" for words, _, value in facts if value is not None]
    if own:
        said.append(f"{join_words(own).capitalize()}{_beside_reference(other, facts, reference_name)}.")
    return " ".join([*said, *companion.notes])


def axis_label(curve: Curve) -> str:
    """Return what the exposure axis measures."""
    return "log exposure (log10 lux s)" if curve.absolute else "relative log exposure (log10)"


def format_value(quantity: Quantity | None) -> str | None:
    """Return a measure's value rounded by its own uncertainty, None where it has none."""
    if quantity is None or quantity.value is None:
        return None
    return format_number(quantity.value, min(decimals_for(quantity.half_width), 2))


def join_words(words: Sequence[str]) -> str:
    """Return words as a list in a sentence.

    >>> join_words(["toe", "straight line", "shoulder"])
    'toe, straight line and shoulder'
    """
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def _beside_reference(
    reference: TestFindings | None, facts: Sequence[tuple[str, str, str | None]], reference_name: str
) -> str:
    """Return the same figures of the reference, as the end of a sentence."""
    if reference is None:
        return ""
    values = [format_value(reference.measures.get(measure)) for _, measure, value in facts if value is not None]
    known = [value or "not measured" for value in values]
    return f", where {reference_name} has {join_words(known)}"


def _scale(curve: Curve, companion: Companion) -> Scale:
    """Choose ranges and size so that one log unit measures the same across and down."""
    lows, highs, tops = [curve.log_exposure[0]], [curve.log_exposure[-1]], [curve.high.max()]
    if companion.curve is not None:
        lows.append(companion.curve.log_exposure[0] + companion.shift)
        highs.append(companion.curve.log_exposure[-1] + companion.shift)
        tops.append(companion.curve.high.max())
    return equal_scale(
        outward(TICK, float(min(lows)), float(max(highs))),
        (0.0, max(steps_up(TICK, float(max(tops)) + 0.02), 2) * TICK),
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        max_height_px=MAX_HEIGHT_PX,
    )


def _draw_levels(plot: Plot, levels: list[tuple[str, float, str]]) -> None:
    """Draw base plus fog as thin level lines, the reference's first."""
    for whose, value, _ in reversed(levels):
        plot.segment((plot.scale.x0, plot.scale.x1), (value, value), f"{whose}-level")


def _label_levels(plot: Plot, levels: list[tuple[str, float, str]]) -> None:
    """Write base plus fog over the right end of the higher line."""
    if not levels:
        return
    top_px = min(plot.scale.y_px(value) for _, value, _ in levels)
    spots = [
        Spot(x_px=plot.scale.right_px - 4 - aside, y_px=top_px - 7 - up, anchor="end")
        for up in range(0, 90, 6)
        for aside in range(0, 120, 12)
    ]
    entries = [(f"{whose}-level", f"{whose}-label", words) for whose, _, words in levels]
    plot.key("base plus fog", entries, spots)


def _levels_of(test: TestFindings, companion: Companion) -> list[tuple[str, float, str]]:
    """Return whose base plus fog, its density, and the same in words: the stock's, then the reference's."""
    levels = []
    for findings, whose in ((test, "stock"), (companion.test, "reference")):
        base = None if findings is None else findings.measures.get("base_plus_fog")
        if base is not None and base.value is not None:
            levels.append((whose, base.value, str(format_value(base))))
    return levels


def _draw_speed_points(plot: Plot, test: TestFindings, companion: Companion) -> None:
    """Mark both speed points, with a line down to the axis where the exposure is read off, and write it there."""
    entries: list[tuple[str, str, str]] = []
    marked: list[tuple[float, float, str]] = []
    for findings, whose, shift in ((companion.test, "reference", companion.shift), (test, "stock", 0.0)):
        place = None if findings is None else speed_point_of(findings)
        if findings is None or place is None:
            continue
        x, y = place[0] + shift, place[1]
        plot.segment((x, x), (0.0, y), f"{whose}-level")
        marked.append((plot.scale.x_px(x), plot.scale.y_px(y), f"{whose}-point"))
        if not shift:  # a curve that was moved along has no exposure of its own on this axis
            value = format_value(findings.measures.get("speed_point"))
            entries.insert(0, (f"{whose}-point", f"{whose}-label", str(value)))
    for x_px, y_px, kind in marked:
        plot.points([(x_px, y_px)], kind)
    if entries:
        furthest_px = max(x_px for x_px, _, _ in marked)
        first_px = min(x_px for x_px, _, _ in marked)
        rows_px = [plot.scale.bottom_px - 8 - 3 * row for row in range(30)]
        spots = [
            *(Spot(x_px=furthest_px + 8, y_px=row) for row in rows_px),
            *(Spot(x_px=first_px - 8, y_px=row, anchor="end") for row in rows_px),
        ]
        plot.key("speed point", entries, spots)


def _label_curves(plot: Plot, curve: Curve, companion: Companion, *, name: str) -> None:
    """Name each curve beside itself, from its top down."""
    plot.label(shorten(name, TEXT_PX, LABEL_WIDTH_PX), "stock", _beside(plot, curve, 0.0))
    if companion.curve is not None:
        words = shorten(companion.name, TEXT_PX, LABEL_WIDTH_PX)
        plot.label(words, "reference", _beside(plot, companion.curve, companion.shift))


def _beside(plot: Plot, curve: Curve, shift: float) -> list[Spot]:
    """Return spots along a curve from its top down: left above it, then right below it."""
    spots = []
    for gap_px in (8.0, 14.0, 24.0, 40.0):
        for share in (0.97, 0.92, 0.86, 0.8, 0.72, 0.64, 0.56, 0.48, 0.4):
            index = round(share * (len(curve.log_exposure) - 1))
            x_px = plot.scale.x_px(float(curve.log_exposure[index]) + shift)
            y_px = plot.scale.y_px(float(curve.density[index]))
            spots.append(Spot(x_px=x_px - gap_px, y_px=y_px - gap_px / 2, anchor="end"))
            spots.append(Spot(x_px=x_px + gap_px, y_px=y_px + gap_px / 2 + TEXT_PX))
    return spots
