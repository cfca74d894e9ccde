"""The bracketed frames: net shadow density against stops, and which frame matches the reference."""

from typing import Final

from basefog.picture.charts.curve import LABEL_WIDTH_PX, MAX_HEIGHT_PX, format_value
from basefog.picture.charts.labels import Spot, shorten
from basefog.picture.charts.pair import empty_chart, first_word
from basefog.picture.charts.plot import LEFT_PX, RIGHT_PX, TICK, TOP_PX, Plot, regular_ticks, with_own_settings
from basefog.picture.charts.scale import equal_scale, steps_up
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.records.findings import FrameFinding, TestFindings
from basefog.records.numbers import MINUS, format_number, settle
from basefog.records.vocabulary import LOG10_2

_ROOM_STOPS: Final = 0.25
"""Space left of the first frame and right of the last."""


@with_own_settings
def draw_frame_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return the shadow density of every frame of a bracket, the reference's beside it, the chosen frame marked.

    Both axes have one scale: a stop across is as long as a density of 0.301 up.
    """
    title = f"Bracketed frames of {name}"
    description = describe_frame_chart(test, reference, name=name, reference_name=reference_name)
    stock = _read_frames(test)
    if not stock:
        return empty_chart("frames", test, title=title, why=description)
    others = [] if reference is None or reference.key == test.key else _read_frames(reference)
    read = [*stock, *others]
    top = max(density for _, density in read)
    scale = equal_scale(
        (min(frame.stops for frame, _ in read) - _ROOM_STOPS, max(frame.stops for frame, _ in read) + _ROOM_STOPS),
        (min(0.0, *(density for _, density in read)), max(steps_up(TICK, top + 0.02), 1) * TICK),
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        max_height_px=MAX_HEIGHT_PX,
        x_unit=LOG10_2,
    )
    plot = Plot(scale)
    plot.grid(
        "stops from the metered frame",
        "net density of the shadow patch",
        x_ticks=regular_ticks(0.5 if settle(scale.x1 - scale.x0, 3) < 4 else 1.0, scale.x0, scale.x1),
    )
    target = _target(test) if others else None
    if target is not None:
        plot.segment((scale.x0, scale.x1), (target, target), "reference-level")
    named = [(stock, name, "stock")]
    if others:
        named.append((others, reference_name, "reference"))
    for frames, words, whose in reversed(named):
        _draw_frames(plot, frames, whose, words)
    if target is not None:
        _label_target(plot, target)
    for frames, words, whose in named:
        plot.label(shorten(words, TEXT_PX, LABEL_WIDTH_PX), whose, _spots(plot, frames))
    return plot.render(chart="frames", test=test.key, title=title, description=description)


def describe_frame_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return which frame was chosen and how near it comes to the reference, in a sentence or two."""
    stock = _read_frames(test)
    if not stock:
        return f"{first_word(name)} has no bracketed frames with a reading of the shadow patch."
    chosen = next((frame for frame, _ in stock if frame.chosen), None)
    first, last = (format_number(stock[index][0].stops, 1, signed=True) for index in (0, -1))
    said = f"{len(stock)} frames of {name} from {first} to {last} stops."
    if chosen is not None:
        said += f" Chosen is frame {chosen.frame} at {format_number(chosen.stops, 2, signed=True)} stops"
        if chosen.residual_density is not None and reference is not None and reference.key != test.key:
            residual = format_number(chosen.residual_density, 2, signed=True)
            said += f", whose shadow density differs from that of {reference_name} by {residual}"
        said += "."
    match = test.measures.get("shadow_match")
    if match is not None and match.value is not None and reference is not None and reference.key != test.key:
        stops = str(format_value(match)).removeprefix(MINUS)
        said += f" For equal shadows {name} needs {stops} stops {'more' if match.value > 0 else 'less'} light."
    return said


def _read_frames(test: TestFindings) -> list[tuple[FrameFinding, float]]:
    """Return the frames whose shadow patch was read, by rising stops, each with its net density."""
    read = [(frame, frame.shadow_density) for frame in test.frames if frame.shadow_density is not None]
    return sorted(read, key=lambda pair: (pair[0].stops, pair[0].frame))


def _target(test: TestFindings) -> float | None:
    """Return the shadow density that a frame of the test was chosen to come nearest to."""
    chosen = next((frame for frame in test.frames if frame.chosen), None)
    if chosen is None or chosen.shadow_density is None or chosen.residual_density is None:
        return None
    return chosen.shadow_density - chosen.residual_density


def _label_target(plot: Plot, target: float) -> None:
    y_px = plot.scale.y_px(target)
    spots = [
        Spot(x_px=x_px, y_px=y_px + aside, anchor=anchor)
        for aside in (-7, 18)
        for x_px, anchor in ((plot.scale.left_px + 6, "start"), (plot.scale.right_px - 4, "end"))
    ]
    plot.key("aim", [("reference-level", "reference-label", format_number(target, 2))], spots)


def _draw_frames(plot: Plot, frames: list[tuple[FrameFinding, float]], whose: str, words: str) -> None:
    stops, densities = [frame.stops for frame, _ in frames], [density for _, density in frames]
    plot.curve(stops, densities, f"{whose}-curve", of=words)
    if whose == "stock":
        plot.dots(stops, densities, "stock-step", "stock-step-core")
    for frame, density in frames:
        if frame.chosen:
            plot.points([(plot.scale.x_px(frame.stops), plot.scale.y_px(density))], f"{whose}-point")


def _spots(plot: Plot, frames: list[tuple[FrameFinding, float]]) -> list[Spot]:
    """Return spots along the frames from the most exposed down: left above, then right below."""
    spots = []
    for gap_px in (8.0, 14.0, 24.0):
        for frame, density in reversed(frames):
            x_px, y_px = plot.scale.x_px(frame.stops), plot.scale.y_px(density)
            spots.append(Spot(x_px=x_px - gap_px, y_px=y_px - gap_px / 2, anchor="end"))
            spots.append(Spot(x_px=x_px + gap_px, y_px=y_px + gap_px / 2 + TEXT_PX))
    return spots
