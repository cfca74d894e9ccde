"""One chart in the making: data ranges, pixels, and the marks put into it in order."""

from collections.abc import Callable, Sequence
from functools import wraps
from itertools import chain, pairwise
from typing import TYPE_CHECKING, Any, Final, ParamSpec, TypeAlias

from basefog.picture.charts.labels import HEAVY_RATIO, Room, Spot, estimate_width_px, wrap
from basefog.picture.charts.scale import Scale, multiples, steps_up
from basefog.picture.charts.style import SMALL_TEXT_PX, TEXT_PX, WIDTH_PX
from basefog.picture.charts.svg import render_svg, tag_artist
from basefog.records.content import FloatArray
from basefog.records.numbers import format_number

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.transforms import Transform

Arguments = ParamSpec("Arguments")
Tick: TypeAlias = tuple[float, str]
"""A place on an axis and the figure that stands there."""

Entry: TypeAlias = tuple[str, str, str]
"""A piece of a key: the mark of its sample, the mark of its text, and the text."""

TICK: Final = 0.3
"""One stop in log exposure, to the accuracy of a tick (log10 2 = 0.3010)."""

LEFT_PX: Final = 36.0
RIGHT_PX: Final = 18.0
TOP_PX: Final = 28.0
BOTTOM_PX: Final = 44.0
NOTE_LINE_PX: Final = 17.0
GAP_PX: Final = 9.0
SAMPLE_PX: Final = 26.0
"""Length of the piece of line, or of the room for a point, that stands before a label."""


def with_own_settings(draw: Callable[Arguments, str]) -> Callable[Arguments, str]:
    """Draw by matplotlib's defaults, whatever settings file the machine has, and leave its settings as they were."""

    @wraps(draw)
    def drawn(*positional: Arguments.args, **named: Arguments.kwargs) -> str:
        import matplotlib as mpl

        with mpl.rc_context():
            mpl.rcdefaults()
            return draw(*positional, **named)

    return drawn


def regular_ticks(step: float, low: float, high: float) -> list[Tick]:
    """Return the multiples of a step in a range, each with its figure."""
    return [(x, _tick_text(x)) for x in multiples(step, low, high)]


class Plot:
    """A chart that is being drawn: marks are seen in the order in which they are put in.

    Labels go where `room` has a place; curves and points put in before them take theirs.
    """

    def __init__(self, scale: Scale, *, notes: Sequence[str] = (), strip_px: float = 0.0) -> None:
        """Take the scale, the sentences that stand beneath the chart, and the height of a strip below its axis."""
        from matplotlib.backend_bases import FigureCanvasBase
        from matplotlib.figure import Figure
        from matplotlib.transforms import Affine2D

        self.scale = scale
        lines = [line for note in notes for line in wrap(note, SMALL_TEXT_PX, WIDTH_PX - LEFT_PX - RIGHT_PX)]
        self._axis_px = scale.bottom_px + strip_px
        self.height_px = self._axis_px + BOTTOM_PX + NOTE_LINE_PX * len(lines) + (8 if lines else 0)
        self.room = Room(
            (scale.left_px + 4, scale.top_px + 4, scale.right_px - 2, scale.bottom_px - 4),
            width_px=WIDTH_PX,
            height_px=self.height_px,
        )
        self._figure = Figure(figsize=(WIDTH_PX / 100, self.height_px / 100), dpi=100)
        FigureCanvasBase(self._figure)
        axes = self._figure.add_axes(
            (
                scale.left_px / WIDTH_PX,
                1 - scale.bottom_px / self.height_px,
                (scale.right_px - scale.left_px) / WIDTH_PX,
                (scale.bottom_px - scale.top_px) / self.height_px,
            )
        )
        axes.set_axis_off()
        axes.set_xlim(scale.x0, scale.x1)
        axes.set_ylim(scale.y0, scale.y1)
        self._data = axes.transData
        self._pixels = Affine2D().scale(1, -1).translate(0, self.height_px)
        self._order = 0
        self._told: dict[str, str] = {}
        for index, line in enumerate(lines):
            self.write("note", Spot(x_px=LEFT_PX, y_px=self._axis_px + BOTTOM_PX + 12 + NOTE_LINE_PX * index), line)

    def grid(
        self,
        x_label: str,
        y_label: str,
        *,
        x_ticks: Sequence[Tick] | None = None,
        y_step: float = TICK,
        y_ticks: Sequence[Tick] | None = None,
    ) -> None:
        """Draw grid, axes, their figures (as many as fit) and what they measure; `y_ticks` overrule `y_step`."""
        scale = self.scale
        self._told = {"x-name": x_label, "y-name": y_label}
        self.rule_across(x_ticks or regular_ticks(TICK, scale.x0, scale.x1), x_label)
        every = max(1, steps_up(scale.y_px(0.0) - scale.y_px(y_step), 16))
        lines = [y for y, _ in y_ticks] if y_ticks else multiples(y_step, scale.y0, scale.y1)
        for y in lines:
            self._line((scale.x0, scale.x1), (y, y), "grid")
        self._line((scale.x0, scale.x0, scale.x1), (scale.y1, scale.y0, scale.y0), "axis")
        for y, text in y_ticks or regular_ticks(y_step * every, scale.y0, scale.y1):
            self.write("tick", Spot(x_px=scale.left_px - 6, y_px=scale.y_px(y) + 4.5, anchor="end"), text)
        self.write("unit", Spot(x_px=4, y_px=16), y_label)

    def rule_across(self, ticks: Sequence[Tick], label: str) -> None:
        """Draw the grid lines of the axis across, the figures of as many as fit, and what it measures."""
        scale = self.scale
        for x, _ in ticks:
            self.pixel_line([(scale.x_px(x), self._axis_px), (scale.x_px(x), scale.top_px)], "grid")
        widths = [estimate_width_px(text, SMALL_TEXT_PX) for _, text in ticks]
        gaps = [scale.x_px(b) - scale.x_px(a) for (a, _), (b, _) in pairwise(ticks)]
        every = steps_up(min(gaps), max(widths) + 8) if gaps else 1
        # Figures are counted from zero where there is one, so that it keeps its own.
        zero = next((index for index, (x, _) in enumerate(ticks) if x == 0), 0)
        for index, (x, text) in enumerate(ticks):
            if (index - zero) % every == 0:
                self.write("tick", Spot(x_px=scale.x_px(x), y_px=self._axis_px + 18, anchor="middle"), text)
        self.write("unit", Spot(x_px=scale.right_px, y_px=self._axis_px + 36, anchor="end"), label)

    def curve(self, x: FloatArray | Sequence[float], y: FloatArray | Sequence[float], kind: str, *, of: str) -> None:
        """Draw the curve of what is called `of`, which a page lets read off; labels keep off it."""
        self.room.take_line(self._in_pixels(x, y))
        self._line(x, y, tag_artist(kind, line=of))

    def band(self, x: FloatArray, low: FloatArray, high: FloatArray, kind: str, *, of: str) -> None:
        """Fill the space round the curve of `of` in which the truth lies; labels may lie in it."""
        from matplotlib.patches import Polygon

        outline = [*zip(x, high, strict=True), *zip(x[::-1], low[::-1], strict=True)]
        self._add(Polygon(outline), tag_artist(kind, band=of), self._data)

    def segment(self, x: tuple[float, float], y: tuple[float, float], kind: str) -> None:
        """Draw a straight piece of line; labels keep off it."""
        self.room.take_line(self._in_pixels(x, y), reach_px=2.0)
        self._line(x, y, kind)

    def dots(self, x: Sequence[float], y: Sequence[float], *kinds: str) -> None:
        """Draw dots, once in each class: a smaller one over a larger makes a ring."""
        for x_px, y_px in self._in_pixels(x, y):
            self.room.take_box((x_px - 4, y_px - 4, x_px + 4, y_px + 4))
        for kind in kinds:
            self._dots(x, y, kind, self._data)

    def points(self, places: Sequence[tuple[float, float]], kind: str) -> None:
        """Draw points of the stock (round) or of the reference (diamonds) at places given in pixels."""
        from matplotlib.patches import Polygon

        for x_px, y_px in places:
            self.room.take_box((x_px - 6, y_px - 6, x_px + 6, y_px + 6))
        if kind == "stock-point":
            x, y = [place[0] for place in places], [place[1] for place in places]
            self._dots(x, y, "stock-point-rim", self._pixels)
            self._dots(x, y, "stock-point", self._pixels)
            return
        reach = 5.6
        for x_px, y_px in places:
            corners = [(x_px + reach, y_px), (x_px, y_px + reach), (x_px - reach, y_px), (x_px, y_px - reach)]
            self._add(Polygon(corners), kind, self._pixels)

    def rings(self, points: Sequence[tuple[float, float]], kind: str) -> None:
        """Draw rings, as the steps of a curve have them, at places given in pixels."""
        x, y = [point[0] for point in points], [point[1] for point in points]
        self._dots(x, y, kind, self._pixels)
        self._dots(x, y, "stock-step-core", self._pixels)

    def pixel_area(self, corners: Sequence[tuple[float, float]], kind: str) -> None:
        """Fill an area between corners given in pixels."""
        from matplotlib.patches import Polygon

        self._add(Polygon(corners), kind, self._pixels)

    def label(self, text: str, whose: str, spots: Sequence[Spot]) -> None:
        """Name a curve at the first free spot, with a piece of the curve on the side that faces it.

        Where all spots are taken, any free place serves; where there is none, the label is left out.
        """
        width_px = SAMPLE_PX + 6 + _text_width_px(text, f"{whose}-label")
        spot = self._place(spots, width_px)
        if spot is None:
            return
        left_px, _, right_px, _ = spot.box(width_px, TEXT_PX)
        # The text's own end that faces the sample is fixed, whatever font draws it.
        at_end = spot.anchor == "end"
        sample_px = right_px - SAMPLE_PX if at_end else left_px
        text_px = sample_px - 6 if at_end else left_px + SAMPLE_PX + 6
        self._sample(sample_px, spot.y_px, f"{whose}-curve")
        self.write(f"{whose}-label", Spot(x_px=text_px, y_px=spot.y_px, anchor="end" if at_end else "start"), text)

    def key(self, words: str, entries: Sequence[Entry], spots: Sequence[Spot]) -> None:
        """Write what a kind of mark means and, for each owner, the mark and its value, in one row."""
        width_px = _text_width_px(words, "key") + GAP_PX + _row_width_px(entries)
        spot = self._place(spots, width_px) if entries else None
        if spot is None:
            return
        left_px = spot.box(width_px, TEXT_PX)[0]
        self.write("key", Spot(x_px=left_px, y_px=spot.y_px), words)
        self._row(entries, left_px + _text_width_px(words, "key") + GAP_PX, spot.y_px)

    def name_line(self, text: str, spots: Sequence[Spot]) -> None:
        """Write the name of one of many like lines at its first free spot; it is left out where none is free."""
        spot = self.room.place(spots, width_px=_text_width_px(text, "key"), size_px=SMALL_TEXT_PX)
        if spot is not None:
            self.write("key", spot, text)

    def crosses(self, x: Sequence[float], y: Sequence[float], kind: str) -> None:
        """Draw a cross at each place: readings that were left out."""
        reach = 4.5
        for x_px, y_px in self._in_pixels(x, y):
            self.room.take_box((x_px - 6, y_px - 6, x_px + 6, y_px + 6))
            for tilt in (1, -1):
                self.pixel_line([(x_px - reach, y_px - tilt * reach), (x_px + reach, y_px + tilt * reach)], kind)

    def legend(self, entries: Sequence[Entry], *, y_px: float) -> None:
        """Write what the marks mean in a row above the plot: for charts that have no line to write it beside."""
        self._row(entries, 8.0, y_px)

    def _row(self, entries: Sequence[Entry], left_px: float, y_px: float) -> None:
        for sample, kind, text in entries:
            self._sample(left_px, y_px, sample)
            self.write(kind, Spot(x_px=left_px + _sample_width_px(sample) + 5, y_px=y_px), text)
            left_px += _row_width_px([(sample, kind, text)]) + GAP_PX

    def _place(self, spots: Sequence[Spot], width_px: float) -> Spot | None:
        anywhere = self.room.anywhere(width_px=width_px, size_px=TEXT_PX)
        return self.room.place(chain(spots, anywhere), width_px=width_px, size_px=TEXT_PX)

    def _sample(self, left_px: float, baseline_px: float, kind: str) -> None:
        middle_px, width_px = baseline_px - 5, _sample_width_px(kind)
        centre_px = left_px + width_px / 2
        if "point" in kind:
            self.points([(centre_px, middle_px)], kind)
        elif kind == "other-step":
            self.rings([(centre_px, middle_px)], kind)
        elif kind == "eye":
            self.pixel_line([(centre_px, middle_px - 8), (centre_px, middle_px + 8)], kind)
        elif kind == "limit":
            right_px, high_px, low_px = left_px + width_px, middle_px - 5, middle_px + 5
            self.pixel_area([(left_px, high_px), (right_px, high_px), (right_px, low_px), (left_px, low_px)], kind)
        else:
            self.pixel_line([(left_px, middle_px), (left_px + width_px, middle_px)], kind)

    def write(self, kind: str, spot: Spot, text: str) -> None:
        """Write a text where it is told to, free or not."""
        from matplotlib.text import Text

        align: Any = {"start": "left", "middle": "center", "end": "right"}[spot.anchor]
        self._add(Text(spot.x_px, spot.y_px, text, horizontalalignment=align, parse_math=False), kind, self._pixels)

    def render(self, *, chart: str, test: str, title: str, description: str) -> str:
        """Return the chart as SVG."""
        from basefog.picture.charts.renderer import MarkRenderer

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
            data=self.scale.as_data() | self._told,
            text_px=TEXT_PX,
        )

    def pixel_line(self, points: Sequence[tuple[float, float]], kind: str) -> None:
        """Draw a line through points given in pixels; labels may cross it."""
        from matplotlib.lines import Line2D

        self._add(Line2D(*zip(*points, strict=True)), kind, self._pixels)

    def _in_pixels(self, x: Any, y: Any) -> list[tuple[float, float]]:
        return [(self.scale.x_px(float(a)), self.scale.y_px(float(b))) for a, b in zip(x, y, strict=True)]

    def _line(self, x: Any, y: Any, kind: str) -> None:
        from matplotlib.lines import Line2D

        self._add(Line2D(x, y), kind, self._data)

    def _dots(self, x: Sequence[float], y: Sequence[float], kind: str, transform: "Transform") -> None:
        from matplotlib.lines import Line2D

        self._add(Line2D(x, y, marker="o", linestyle="none"), kind, transform)

    def _add(self, artist: "Artist", kind: str, transform: "Transform") -> None:
        self._order += 1
        artist.set_gid(kind)
        artist.set_zorder(self._order)
        artist.set_transform(transform)
        self._figure.add_artist(artist)


def _sample_width_px(kind: str) -> float:
    return 11.0 if "point" in kind or kind in {"eye", "other-step"} else SAMPLE_PX


def _row_width_px(entries: Sequence[Entry]) -> float:
    widths = [_sample_width_px(sample) + 5 + _text_width_px(text, kind) for sample, kind, text in entries]
    return sum(widths) + GAP_PX * (len(entries) - 1)


def _text_width_px(text: str, kind: str) -> float:
    """Return the estimated width of a text; the stock's is set in a heavier weight and runs wider."""
    return estimate_width_px(text, TEXT_PX) * (HEAVY_RATIO if kind.startswith("stock") else 1.0)


def _tick_text(value: float) -> str:
    return format_number(value, 1)
