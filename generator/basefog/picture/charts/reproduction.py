"""Tone reproduction: how dark the print is at every luminance of the subject."""

from typing import Final

import numpy as np

from basefog.picture.charts.curve import LABEL_WIDTH_PX, MAX_HEIGHT_PX, format_value, join_words
from basefog.picture.charts.labels import Spot, shorten
from basefog.picture.charts.pair import empty_chart, first_word
from basefog.picture.charts.plot import LEFT_PX, RIGHT_PX, TICK, TOP_PX, Plot, with_own_settings
from basefog.picture.charts.scale import equal_scale, outward, steps_up
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.picture.charts.tones import STRIP_PX, draw_ranges
from basefog.records.findings import TestFindings, ToneReproduction

_CONTRASTS: Final = (
    ("shadows", "print_shadow_contrast"),
    ("middle tones", "print_middle_contrast"),
    ("highlights", "print_highlight_contrast"),
)


@with_own_settings
def draw_reproduction_chart(
    test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str
) -> str:
    """Return print density against subject log luminance, of a test and the reference, as SVG for a page.

    Both axes have one scale; the subject's is zero at each film's own speed point.
    """
    title = f"Tone reproduction of {name}"
    description = describe_reproduction_chart(test, reference, name=name, reference_name=reference_name)
    stock = test.tone_reproduction
    if stock is None:
        return empty_chart("tone-reproduction", test, title=title, why=description)
    named = [(stock, name, "stock")]
    other = _other(test, reference)
    if other is not None:
        named.append((other, reference_name, "reference"))
    x = outward(
        TICK,
        min(float(curve.subject_log_luminance[0]) for curve, _, _ in named),
        max(float(curve.subject_log_luminance[-1]) for curve, _, _ in named),
    )
    top = steps_up(TICK, max(float(np.nanmax(curve.high)) for curve, _, _ in named) + 0.02) * TICK
    scale = equal_scale(
        x,
        (0.0, top),
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        max_height_px=MAX_HEIGHT_PX,
    )
    plot = Plot(scale, strip_px=STRIP_PX)
    plot.grid("subject log luminance from the speed point", "print density")
    draw_ranges(plot)
    for curve, words, whose in reversed(named):
        plot.band(curve.subject_log_luminance, curve.low, curve.high, f"{whose}-band", of=words)
    for curve, words, whose in reversed(named):
        plot.curve(curve.subject_log_luminance, curve.print_density, f"{whose}-curve", of=words)
    for curve, words, whose in named:
        plot.label(shorten(words, TEXT_PX, LABEL_WIDTH_PX), whose, _spots(plot, curve))
    return plot.render(chart="tone-reproduction", test=test.key, title=title, description=description)


def describe_reproduction_chart(
    test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str
) -> str:
    """Return what the tone reproduction chart shows, in a sentence or two."""
    if test.tone_reproduction is None:
        return f"{first_word(name)} has no tone reproduction: {_why_not(test)}."
    said = f"Contrast of the print from {name}: {_contrast_words(test)}."
    if reference is not None and _other(test, reference) is not None:
        said += f" {first_word(reference_name)}: {_contrast_words(reference)}."
    return f"{said} Printed on {test.tone_reproduction.paper}."


def _other(test: TestFindings, reference: TestFindings | None) -> ToneReproduction | None:
    return None if reference is None or reference.key == test.key else reference.tone_reproduction


def _why_not(test: TestFindings) -> str:
    measure = test.measures.get("print_middle_contrast")
    return measure.why if measure is not None and measure.why else "it was not measured"


def _contrast_words(test: TestFindings) -> str:
    values = [(words, format_value(test.measures.get(measure))) for words, measure in _CONTRASTS]
    said = [f"{value} in the {words}" for words, value in values if value is not None]
    return join_words(said) if said else "not measured in any of the three ranges"


def _spots(plot: Plot, curve: ToneReproduction) -> list[Spot]:
    """Return spots along a falling curve: right above it, then left below it."""
    spots = []
    for gap_px in (8.0, 14.0, 24.0, 40.0):
        for share in (0.45, 0.5, 0.4, 0.55, 0.35, 0.6, 0.3, 0.66, 0.72, 0.8, 0.25, 0.2):
            index = round(share * (len(curve.subject_log_luminance) - 1))
            x_px = plot.scale.x_px(float(curve.subject_log_luminance[index]))
            y_px = plot.scale.y_px(float(curve.print_density[index]))
            spots.append(Spot(x_px=x_px + gap_px, y_px=y_px - gap_px / 2))
            spots.append(Spot(x_px=x_px - gap_px, y_px=y_px + gap_px / 2 + TEXT_PX, anchor="end"))
    return spots
