"""Edge response: how much of an edge's contrast film and scanner keep at each spatial frequency."""

from typing import Final

import numpy as np

from basefog.picture.charts.curve import LABEL_WIDTH_PX, format_value
from basefog.picture.charts.labels import Spot, shorten
from basefog.picture.charts.pair import empty_chart, first_word
from basefog.picture.charts.plot import LEFT_PX, RIGHT_PX, TOP_PX, Entry, Plot, regular_ticks, with_own_settings
from basefog.picture.charts.scale import Scale, outward
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.records.findings import EdgeResponse, TestFindings
from basefog.records.numbers import fixed, settle

HEIGHT_PX: Final = 260.0
HALF: Final = 0.5
RESPONSE_STEP: Final = 0.1
_STEPS_CYCLES_PER_MM: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)


@with_own_settings
def draw_edge_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return the edge response of a test and the reference with their bands, the 50 % points marked, as SVG."""
    title = f"Edge response of {name}"
    description = describe_edge_chart(test, reference, name=name, reference_name=reference_name)
    stock = test.edge_response
    if stock is None:
        return empty_chart("edge-response", test, title=title, why=description)
    named = [(test, stock, name, "stock")]
    if reference is not None and reference.key != test.key and reference.edge_response is not None:
        named.append((reference, reference.edge_response, reference_name, "reference"))
    plot = Plot(_scale([response for _, response, _, _ in named]))
    step = _step(plot.scale.x1)
    plot.grid(
        "cycles/mm on the film",
        "response",
        x_ticks=[(x, f"{x:g}") for x, _ in regular_ticks(step, 0.0, plot.scale.x1)],
        y_step=RESPONSE_STEP,
    )
    plot.segment((plot.scale.x0, plot.scale.x1), (HALF, HALF), "range")
    for _, response, words, whose in reversed(named):
        low, high = (np.clip(edge, 0.0, plot.scale.y1) for edge in (response.low, response.high))
        plot.band(response.cycles_per_mm, low, high, f"{whose}-band", of=words)
    for _, response, words, whose in reversed(named):
        shown = np.clip(response.response, 0.0, plot.scale.y1)
        plot.curve(response.cycles_per_mm, shown, f"{whose}-curve", of=words)
    _mark_halves(plot, [(found, whose) for found, _, _, whose in named])
    for _, response, words, whose in named:
        plot.label(shorten(words, TEXT_PX, LABEL_WIDTH_PX), whose, _spots(plot, response))
    return plot.render(chart="edge-response", test=test.key, title=title, description=description)


def describe_edge_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return where half the contrast is left, in a sentence or two."""
    if test.edge_response is None:
        return f"{first_word(name)} has no edge response: {_why_not(test)}."
    own = format_value(test.measures.get("mtf50"))
    if own is None:
        last = float(test.edge_response.cycles_per_mm[-1])
        return f"The edge response of {name} does not come down to half of the contrast by {fixed(last, 0)} cycles/mm."
    said = f"Half of an edge’s contrast is left at {own} cycles/mm on {name}"
    if reference is not None and reference.key != test.key:
        other = format_value(reference.measures.get("mtf50"))
        if reference.edge_response is not None and other is not None:
            said += f", at {other} on {reference_name}"
    return f"{said}: film, taking lens and scanner together."


def _why_not(test: TestFindings) -> str:
    measure = test.measures.get("mtf50")
    return measure.why if measure is not None and measure.why else "it was not measured"


def _step(last: float) -> float:
    """Return a round step that gives an axis ten figures at most."""
    return next((step for step in _STEPS_CYCLES_PER_MM if settle(last / step, 3) <= 10), _STEPS_CYCLES_PER_MM[-1])


def _scale(responses: list[EdgeResponse]) -> Scale:
    last = max(float(response.cycles_per_mm[-1]) for response in responses)
    top = max(float(response.response.max()) for response in responses)
    return Scale(
        x0=0.0,
        x1=last,
        y0=0.0,
        # An overshoot, as sharpening in a scanner makes, is shown and not cut off.
        y1=max(outward(RESPONSE_STEP, 0.0, top)[1], 1.0),
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        bottom_px=TOP_PX + HEIGHT_PX,
    )


def _mark_halves(plot: Plot, named: list[tuple[TestFindings, str]]) -> None:
    """Mark where each response is a half, with a line down to the axis, and write the frequency there."""
    entries: list[Entry] = []
    places: list[float] = []
    for found, whose in reversed(named):
        half = found.measures.get("mtf50")
        if half is None or half.value is None:
            continue
        plot.segment((half.value, half.value), (0.0, HALF), f"{whose}-level")
        plot.points([(plot.scale.x_px(half.value), plot.scale.y_px(HALF))], f"{whose}-point")
        entries.insert(0, (f"{whose}-point", f"{whose}-label", str(format_value(half))))
        places.append(plot.scale.x_px(half.value))
    if not entries:
        return
    rows_px = [plot.scale.bottom_px - 8 - 6 * row for row in range(20)]
    spots = [
        *(Spot(x_px=min(places) - 8, y_px=row, anchor="end") for row in rows_px),
        *(Spot(x_px=max(places) + 8, y_px=row) for row in rows_px),
    ]
    plot.key("50 % at", entries, spots)


def _spots(plot: Plot, response: EdgeResponse) -> list[Spot]:
    """Return spots along a falling curve: right above it, then left below it."""
    spots = []
    for gap_px in (10.0, 18.0, 28.0, 44.0):
        for share in (0.35, 0.3, 0.4, 0.25, 0.5, 0.6, 0.7, 0.8):
            index = round(share * (len(response.cycles_per_mm) - 1))
            x_px = plot.scale.x_px(float(response.cycles_per_mm[index]))
            spots.append(Spot(x_px=x_px + gap_px, y_px=plot.scale.y_px(float(response.high[index])) - gap_px / 2))
            low_px = plot.scale.y_px(float(response.low[index]))
            spots.append(Spot(x_px=x_px - gap_px, y_px=low_px + gap_px / 2 + TEXT_PX, anchor="end"))
    return spots
