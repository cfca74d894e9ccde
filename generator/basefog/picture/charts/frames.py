"""The bracketed frames: every patch's density against stops, the lines through all frames, the frame that matches."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Unpack

import numpy as np

from basefog.picture.charts.curve import LABEL_WIDTH_PX, MAX_HEIGHT_PX, format_value
from basefog.picture.charts.labels import Spot, shorten
from basefog.picture.charts.pair import ChartNames, empty_chart, first_word
from basefog.picture.charts.plot import LEFT_PX, RIGHT_PX, TICK, TOP_PX, Plot, regular_ticks, with_own_settings
from basefog.picture.charts.scale import Scale, equal_scale, steps_up
from basefog.picture.charts.style import SMALL_TEXT_PX, TEXT_PX, WIDTH_PX
from basefog.records.content import FloatArray
from basefog.records.findings import BracketFit, FrameFinding, TestFindings
from basefog.records.numbers import MINUS, format_number, settle
from basefog.records.vocabulary import LOG10_2

_ROOM_STOPS: Final = 0.35
"""Space left of the first frame, in which lines run on."""

_NAMES_STOPS: Final = 1.35
"""Space right of the last frame, in which lines run on and have their names."""

_NOTE: Final = "Thin lines: the other patches, each on the line that all frames together give. Crosses: left out."
_NOTE_PLAIN: Final = "Thin lines: the other patches, each on the line that all frames together give."


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Line:
    """One line of net density over stops, with the readings that it goes through."""

    patch: str
    stops: FloatArray
    net: FloatArray


@with_own_settings
def draw_frame_chart(test: TestFindings, reference: TestFindings | None, **names: Unpack[ChartNames]) -> str:
    """Return the net density of every patch on every frame, with the fit of all frames.

    The shadow patch stands out, beside the reference's; the frame that matches it is marked. Both axes have one scale:
    a stop across is as long as a density of 0.301 up.
    """
    name, reference_name = names["name"], names["reference_name"]
    title = f"Bracketed frames of {name}"
    description = describe_frame_chart(test, reference, **names)
    frames = _read_frames(test)
    if not frames:
        return empty_chart("frames", test, title=title, why=description)
    lines = _lines_of(test.bracket)
    other = None if reference is None or reference.key == test.key else reference
    shadow_of_other = None if other is None else _shadow_line(other)
    left_out = _readings(test.bracket, used=False)
    scale = _scale_of(frames, lines, shadow_of_other, [*_readings(test.bracket, used=True), *left_out])
    notes = [] if not lines else [_NOTE if left_out else _NOTE_PLAIN]
    plot = Plot(scale, notes=notes)
    plot.grid(
        "stops from the metered frame",
        "net density",
        x_ticks=regular_ticks(0.5 if settle(scale.x1 - scale.x0, 3) < 4 else 1.0, scale.x0, scale.x1),
    )
    target = _target(test) if other is not None else None
    if target is not None:
        plot.segment((scale.x0, scale.x1), (target, target), "reference-level")
    if shadow_of_other is not None:
        plot.curve(*_inside(shadow_of_other, scale), "reference-curve", of=reference_name)
    _draw_lines(plot, lines, test.bracket, names.get("patch_names") or {}, name)
    _draw_readings(plot, test.bracket, frames)
    if left_out:
        plot.crosses([stops for stops, _ in left_out], [net for _, net in left_out], "left-out")
    for frame, density in frames:
        if frame.chosen:
            plot.points([(scale.x_px(frame.stops), scale.y_px(density))], "stock-point")
    if target is not None:
        _label_target(plot, target)
    plot.label(shorten(name, TEXT_PX, LABEL_WIDTH_PX), "stock", _spots(plot, [(f.stops, d) for f, d in frames]))
    if shadow_of_other is not None:
        along = list(zip(*_inside(shadow_of_other, scale), strict=True))[::6]
        plot.label(shorten(reference_name, TEXT_PX, LABEL_WIDTH_PX), "reference", _spots(plot, along))
    return plot.render(chart="frames", test=test.key, title=title, description=description)


def describe_frame_chart(test: TestFindings, reference: TestFindings | None, **names: Unpack[ChartNames]) -> str:
    """Return what the bracket gave, in a few sentences: the frames, the chosen one, what was left out."""
    name, reference_name = names["name"], names["reference_name"]
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
    return said + _say_misfits(test.bracket, names.get("patch_names") or {})


def _say_misfits(bracket: BracketFit | None, names: Mapping[str, str]) -> str:
    """Return which readings do not fit the others: those left out, and those that too few others would replace."""
    misfits = [] if bracket is None else [reading for reading in bracket.readings if reading.left_out]
    said = ""
    for kept, words in ((False, "Left out, not fitting the others"), (True, "Not fitting the others, but kept")):
        told = [f"{names.get(one.patch, one.patch)} on frame {one.frame}" for one in misfits if one.used == kept]
        said += f" {words}: {', '.join(told)}." if told else ""
    return said


def _read_frames(test: TestFindings) -> list[tuple[FrameFinding, float]]:
    """Return the frames whose shadow patch was read, by rising stops, each with its net density."""
    read = [(frame, frame.shadow_density) for frame in test.frames if frame.shadow_density is not None]
    return sorted(read, key=lambda pair: (pair[0].stops, pair[0].frame))


def _lines_of(bracket: BracketFit | None) -> list[_Line]:
    """Return the line of every patch, net of the curve's base plus fog; none where that isn't known."""
    if bracket is None or bracket.base is None:
        return []
    lines = []
    for line in bracket.lines:
        known = np.isfinite(line.density)
        if known.sum() > 1:
            lines.append(_Line(patch=line.patch, stops=line.stops[known], net=line.density[known] - bracket.base))
    return lines


def _shadow_line(test: TestFindings) -> _Line | None:
    """Return the line of a test's shadow patch; through its frames' own densities where there was no fit."""
    for line in _lines_of(test.bracket):
        if test.bracket is not None and line.patch == test.bracket.shadow_patch:
            return line
    frames = _read_frames(test)
    if not frames:
        return None
    stops, net = (np.array(column) for column in zip(*((f.stops, d) for f, d in frames), strict=True))
    return _Line(patch="", stops=stops, net=net)


def _readings(bracket: BracketFit | None, *, used: bool, patch: str | None = None) -> list[tuple[float, float]]:
    """Return the readings that served, or those that were left out, as stops and net density."""
    if bracket is None or bracket.base is None:
        return []
    return [
        (reading.stops, reading.density - bracket.base)
        for reading in bracket.readings
        if (reading.used if used else reading.left_out and not reading.used) and patch in {None, reading.patch}
    ]


def _scale_of(
    frames: list[tuple[FrameFinding, float]],
    lines: list[_Line],
    other: _Line | None,
    readings: list[tuple[float, float]],
) -> Scale:
    stops = [frame.stops for frame, _ in frames]
    low, high = min(stops) - _ROOM_STOPS, max(stops) + (_NAMES_STOPS if lines else _ROOM_STOPS)
    densities = [density for _, density in frames] + [net for _, net in readings]
    for line in [*lines, *([] if other is None else [other])]:
        inside = (line.stops >= low) & (line.stops <= high)
        densities += line.net[inside].tolist()
    return equal_scale(
        (low, high),
        (min(0.0, *densities), max(steps_up(TICK, max(densities) + 0.02), 1) * TICK),
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        max_height_px=MAX_HEIGHT_PX,
        x_unit=LOG10_2,
    )


def _inside(line: _Line, scale: Scale) -> tuple[FloatArray, FloatArray]:
    inside = (line.stops >= scale.x0) & (line.stops <= scale.x1)
    return line.stops[inside], line.net[inside]


def _draw_lines(
    plot: Plot, lines: list[_Line], bracket: BracketFit | None, names: Mapping[str, str], name: str
) -> None:
    """Draw the line of each patch, the shadow patch's heavy; each is named at its end where there is room."""
    shadow = None if bracket is None else bracket.shadow_patch
    for line in lines:
        x, y = _inside(line, plot.scale)
        if not x.size:
            continue
        words = names.get(line.patch, line.patch)
        kind = "stock-curve" if line.patch == shadow else "stock-line"
        plot.curve(x, y, kind, of=name if line.patch == shadow else f"{words} on {name}")
    for line in lines:
        x, y = _inside(line, plot.scale)
        if not x.size:
            continue
        words = names.get(line.patch, line.patch)
        x_px, y_px = plot.scale.x_px(float(x[-1])) + 5, plot.scale.y_px(float(y[-1])) + SMALL_TEXT_PX / 3
        beside = [Spot(x_px=x_px, y_px=y_px + aside) for aside in (0.0, -6.0, 6.0, -11.0, 11.0)]
        above = [Spot(x_px=plot.scale.x_px(float(x[at])), y_px=plot.scale.y_px(float(y[at])) - 9) for at in (0, 3, 8)]
        plot.name_line(words, [*beside, *above])


def _draw_readings(plot: Plot, bracket: BracketFit | None, frames: list[tuple[FrameFinding, float]]) -> None:
    """Draw every reading that served as a dot, those of the shadow patch as rings; without a fit the frames alone."""
    shadow = None if bracket is None else bracket.shadow_patch
    of_shadow = _readings(bracket, used=True, patch=shadow) if shadow else []
    others = [place for place in _readings(bracket, used=True) if place not in of_shadow]
    if others:
        plot.dots([stops for stops, _ in others], [net for _, net in others], "stock-reading")
    rings = of_shadow or [(frame.stops, density) for frame, density in frames]
    plot.dots([stops for stops, _ in rings], [net for _, net in rings], "stock-step", "stock-step-core")


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


def _spots(plot: Plot, places: list[tuple[float, float]]) -> list[Spot]:
    """Return spots along a line from the most exposed down: left above, then right below."""
    spots = []
    for gap_px in (8.0, 14.0, 24.0):
        for stops, density in reversed(places):
            x_px, y_px = plot.scale.x_px(float(stops)), plot.scale.y_px(float(density))
            spots.append(Spot(x_px=x_px - gap_px, y_px=y_px - gap_px / 2, anchor="end"))
            spots.append(Spot(x_px=x_px + gap_px, y_px=y_px + gap_px / 2 + TEXT_PX))
    return spots
