"""One chart in the making: data ranges, pixels, and the marks put into it in order."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from basefog.picture.charts.labels import Box, Room, Spot, estimate_width_px, wrap
from basefog.picture.charts.style import SMALL_TEXT_PX, TEXT_PX, WIDTH_PX
from basefog.picture.charts.svg import render_svg
from basefog.records.content import FloatArray
from basefog.records.numbers import format_number

if TYPE_CHECKING:
    from matplotlib.artist import Artist

TICK: Final = 0.3
"""One stop in log exposure, to the accuracy of a tick (log10 2 = 0.3010)."""

LEFT_PX: Final = 36.0
RIGHT_PX: Final = 14.0
TOP_PX: Final = 28.0
BOTTOM_PX: Final = 44.0
NOTE_LINE_PX: Final = 17.0
SAMPLE_PX: Final = 26.0
"""Length of the piece of line, or of the room for a point, that stands before a label."""

THIN_TOLERANCE_PX: Final = 0.08


@dataclass(frozen=True, kw_only=True, slots=True)
class Scale:
    """A data range and the pixels it covers; `y_px` grows downwards."""

    x0: float
    x1: float
    y0: float
    y1: float
    left_px: float
    right_px: float
    top_px: float
    bottom_px: float

    def x_px(self, x: float) -> float:
        """Return where a value stands across."""
        return self.left_px + (x - self.x0) / (self.x1 - self.x0) * (self.right_px - self.left_px)

    def y_px(self, y: float) -> float:
        """Return where a value stands down."""
        return self.bottom_px - (y - self.y0) / (self.y1 - self.y0) * (self.bottom_px - self.top_px)

    @property
    def box(self) -> Box:
        """The plot area in pixels."""
        return self.left_px, self.top_px, self.right_px, self.bottom_px

    def as_data(self) -> dict[str, str]:
        """Return the scale as a page's script reads it: plot area in pixels of the view box, data range."""
        pixels = {"left": self.left_px, "right": self.right_px, "top": self.top_px, "bottom": self.bottom_px}
        ranges = {"x0": self.x0, "x1": self.x1, "y0": self.y0, "y1": self.y1}
        return {name: f"{value:.4f}".rstrip("0").rstrip(".") for name, value in (pixels | ranges).items()}


def multiples(step: float, low: float, high: float) -> list[float]:
    """Return the multiples of a step from low to high, both included.

    >>> multiples(0.3, -0.31, 0.6)
    [-0.3, 0.0, 0.3, 0.6]
    """
    first, last = math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6)
    return [round(index * step, 10) + 0.0 for index in range(first, last + 1)]


def thin(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Leave out points of a line that lie within a hair of what remains (Ramer 1972, Douglas and Peucker 1973).

    >>> thin([(0, 0), (1, 0.01), (2, 0), (3, 5)])
    [(0, 0), (2, 0), (3, 5)]
    """
    keep = {0, len(points) - 1}
    spans = [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        (x1, y1), (x2, y2) = points[first], points[last]
        length = math.hypot(x2 - x1, y2 - y1) or 1.0
        inner = np.asarray(points[first + 1 : last])
        away = np.abs((x2 - x1) * (inner[:, 1] - y1) - (y2 - y1) * (inner[:, 0] - x1)) / length
        worst = int(np.argmax(away))
        if away[worst] > THIN_TOLERANCE_PX:
            middle = first + 1 + worst
            keep.add(middle)
            spans += [(first, middle), (middle, last)]
    return [points[index] for index in sorted(keep)]


class Plot:
    """A chart that is being drawn: marks are seen in the order in which they are put in.

    Labels go where `room` has a place; curves and points put in before them take theirs.
    """

    def __init__(self, scale: Scale, *, notes: Sequence[str] = ()) -> None:
        """Take the scale, and the sentences that stand beneath the chart."""
        import matplotlib as mpl
        from matplotlib.backend_bases import FigureCanvasBase
        from matplotlib.figure import Figure

        self.scale = scale
        lines = [line for note in notes for line in wrap(note, SMALL_TEXT_PX, WIDTH_PX - LEFT_PX - RIGHT_PX)]
        self.height_px = scale.bottom_px + BOTTOM_PX + NOTE_LINE_PX * len(lines) + (4 if lines else 0)
        self.room = Room(
            (scale.left_px + 4, scale.top_px + 4, scale.right_px - 2, scale.bottom_px - 4),
            width_px=WIDTH_PX,
            height_px=self.height_px,
        )
        # A reader's own settings file must not reach the chart.
        with mpl.rc_context():
            mpl.rcdefaults()
            self._figure = Figure(figsize=(WIDTH_PX / 100, self.height_px / 100), dpi=100)
        FigureCanvasBase(self._figure)
        self._axes = self._figure.add_axes(
            (
                scale.left_px / WIDTH_PX,
                1 - scale.bottom_px / self.height_px,
                (scale.right_px - scale.left_px) / WIDTH_PX,
                (scale.bottom_px - scale.top_px) / self.height_px,
            )
        )
        self._axes.set_axis_off()
        self._axes.set_xlim(scale.x0, scale.x1)
        self._axes.set_ylim(scale.y0, scale.y1)
        self._order = 0
        for index, line in enumerate(lines):
            self.write("note", Spot(x_px=LEFT_PX, y_px=scale.bottom_px + BOTTOM_PX + 8 + NOTE_LINE_PX * index), line)

    def grid(self, x_label: str, y_label: str, *, x_step: float = TICK, y_step: float = TICK) -> None:
        """Draw grid, axes, their figures (as many as fit) and what they measure."""
        scale = self.scale
        xs, ys = multiples(x_step, scale.x0, scale.x1), multiples(y_step, scale.y0, scale.y1)
        for x in xs:
            self._line([x, x], [scale.y0, scale.y1], "grid")
        for y in ys:
            self._line([scale.x0, scale.x1], [y, y], "grid")
        self._line([scale.x0, scale.x0, scale.x1], [scale.y1, scale.y0, scale.y0], "axis")
        widest = max(estimate_width_px(_tick_text(x), SMALL_TEXT_PX) for x in xs)
        every = max(1, math.ceil((widest + 8) / (scale.x_px(x_step) - scale.x_px(0.0))))
        for x in xs:
            if round(x / x_step) % every == 0:
                self.write("tick", Spot(x_px=scale.x_px(x), y_px=scale.bottom_px + 17, anchor="middle"), _tick_text(x))
        every = max(1, math.ceil(16 / (scale.y_px(0.0) - scale.y_px(y_step))))
        for y in ys:
            if round(y / y_step) % every == 0:
                self.write("tick", Spot(x_px=scale.left_px - 6, y_px=scale.y_px(y) + 4.5, anchor="end"), _tick_text(y))
        self.write("unit", Spot(x_px=scale.right_px, y_px=scale.bottom_px + 36, anchor="end"), x_label)
        self.write("unit", Spot(x_px=4, y_px=16), y_label)

    def curve(self, x: FloatArray, y: FloatArray, kind: str) -> None:
        """Draw a curve; labels keep off it."""
        points = self._points(x, y)
        self.room.take_line(points)
        self._pixel_line(thin(points), kind)

    def band(self, x: FloatArray, low: FloatArray, high: FloatArray, kind: str) -> None:
        """Fill the space between two curves."""
        from matplotlib.patches import Polygon

        outline = [*thin(self._points(x, high)), *reversed(thin(self._points(x, low)))]
        self._add(Polygon([self._unflip(point) for point in outline], transform=None), kind)

    def segment(self, x: tuple[float, float], y: tuple[float, float], kind: str, *, reach_px: float = 2.0) -> None:
        """Draw a straight piece of line; labels keep off it."""
        self.room.take_line(self._points(x, y), reach_px=reach_px)
        self._line(x, y, kind)

    def bracket(self, left_px: float, right_px: float, y_px: float, kind: str) -> None:
        """Draw a level line with a foot at each end, over what a word below it names."""
        feet = [(left_px, y_px + 4), (left_px, y_px), (right_px, y_px), (right_px, y_px + 4)]
        self.room.take_box((left_px, y_px - 2, right_px, y_px + 4))
        self._pixel_line(feet, kind)

    def dots(self, x: Sequence[float], y: Sequence[float], *kinds: str) -> None:
        """Draw dots, once in each class: a smaller one over a larger makes a ring."""
        for point in self._points(x, y):
            self.room.take_box((point[0] - 4, point[1] - 4, point[0] + 4, point[1] + 4))
        for kind in kinds:
            (artist,) = self._axes.plot(x, y, marker="o", linestyle="none")
            self._add(artist, kind)

    def point(self, x_px: float, y_px: float, kind: str) -> None:
        """Draw a point of the stock (round) or of the reference and others (diamond)."""
        from matplotlib.patches import Polygon

        corners, radius_px = (24, 4.6) if kind.startswith("stock") else (4, 5.6)
        angles = 2 * np.pi * np.arange(corners) / corners
        outline = [
            self._unflip((x_px + radius_px * math.cos(a), y_px + radius_px * math.sin(a))) for a in angles.tolist()
        ]
        self.room.take_box((x_px - 6, y_px - 6, x_px + 6, y_px + 6))
        self._add(Polygon(outline, transform=None), kind)

    def label(self, text: str, kind: str, spots: Sequence[Spot], *, sample: str | None = None) -> None:
        """Write a label at the first free spot, its sample (a piece of its curve, its point) before it.

        A spot is where the whole label stands, sample included. Where all are taken, any free place serves.
        """
        lead_px = 0.0 if sample is None else (SAMPLE_PX + 6 if "point" not in sample else 17.0)
        width_px = lead_px + estimate_width_px(text, TEXT_PX) * (1.06 if kind.startswith("stock") else 1.0)
        spot = self.room.place(spots, width_px=width_px, size_px=TEXT_PX) or self.room.place(
            self.room.anywhere(width_px=width_px, size_px=TEXT_PX), width_px=width_px, size_px=TEXT_PX
        )
        if spot is None:
            return
        left_px = spot.box(width_px, TEXT_PX)[0]
        # The sample stands at the side that holds its distance to the text whatever font draws it.
        at_end = spot.anchor == "end"
        sample_px = spot.x_px - lead_px if at_end else left_px
        if sample is not None and "point" in sample:
            self.point(sample_px + (lead_px - 6 if at_end else 6), spot.y_px - 5, sample)
        elif sample is not None:
            start = sample_px + (6 if at_end else 0)
            self._pixel_line([(start, spot.y_px - 5), (start + SAMPLE_PX, spot.y_px - 5)], sample)
        place = spot.x_px - lead_px if at_end else left_px + lead_px
        self.write(kind, Spot(x_px=place, y_px=spot.y_px, anchor="end" if at_end else "start"), text)

    def write(self, kind: str, spot: Spot, text: str) -> None:
        """Write a text where it is told to, free or not."""
        from matplotlib.text import Text

        x, y = self._unflip((spot.x_px, spot.y_px))
        align: Any = {"start": "left", "middle": "center", "end": "right"}[spot.anchor]
        self._add(Text(x, y, text, horizontalalignment=align, parse_math=False, transform=None), kind)

    def render(self, *, chart: str, test: str, title: str, description: str) -> str:
        """Return the chart as SVG."""
        import matplotlib as mpl

        from basefog.picture.charts.renderer import MarkRenderer

        with mpl.rc_context():
            mpl.rcdefaults()
            renderer = MarkRenderer(WIDTH_PX, self.height_px)
            self._figure.draw(renderer)
        return render_svg(
            chart=chart,
            test=test,
            width_px=WIDTH_PX,
            height_px=self.height_px,
            title=title,
            description=description,
            marks=renderer.marks,
            data=self.scale.as_data(),
            text_px=TEXT_PX,
        )

    def _points(self, x: Any, y: Any) -> list[tuple[float, float]]:
        return [(self.scale.x_px(float(a)), self.scale.y_px(float(b))) for a, b in zip(x, y, strict=True)]

    def _unflip(self, point: tuple[float, float]) -> tuple[float, float]:
        return point[0], self.height_px - point[1]

    def _line(self, x: Sequence[float], y: Sequence[float], kind: str) -> None:
        self._pixel_line(self._points(x, y), kind)

    def _pixel_line(self, points: Sequence[tuple[float, float]], kind: str) -> None:
        from matplotlib.lines import Line2D

        flipped = [self._unflip(point) for point in points]
        self._add(Line2D([p[0] for p in flipped], [p[1] for p in flipped], transform=None), kind)

    def _add(self, artist: "Artist", kind: str) -> None:
        from matplotlib.transforms import IdentityTransform

        self._order += 1
        artist.set_gid(kind)
        artist.set_zorder(self._order)
        artist.set_clip_on(False)
        if artist.axes is None:
            artist.set_transform(IdentityTransform())
            self._axes.add_artist(artist)
            artist.set_transform(IdentityTransform())


def _tick_text(value: float) -> str:
    return format_number(value, 1)
