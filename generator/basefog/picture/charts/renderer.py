"""A matplotlib renderer that writes the compact SVG of this project: classes for colours, one path for many lines.

matplotlib's own SVG writer draws letters' outlines or fixed fonts, writes colours into every element and takes five
times the bytes. What a mark is, its artist says by `gid`; artists without one (frames, empty axes) are not drawn.
Import this module only where a chart is drawn: it loads matplotlib.
"""

from typing import Any

from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Transform

from basefog.picture.charts.labels import ASCENT_EM, DESCENT_EM, estimate_width_px
from basefog.picture.charts.svg import Mark, dots, polyline, read_tag, thin
from basefog.records.numbers import settle


class MarkRenderer(RendererBase):
    """Collects what a figure draws as marks, in pixels with the origin at the top left."""

    def __init__(self, width_px: float, height_px: float) -> None:
        """Take the size of the figure in pixels."""
        super().__init__()
        self.marks: list[Mark] = []
        self._size = (width_px, height_px)
        self._tags: list[str | None] = []

    def open_group(self, s: str, gid: str | None = None) -> None:  # noqa: ARG002 (matplotlib names it)
        """Note which class of mark the next artist is."""
        self._tags.append(gid)

    def close_group(self, s: str) -> None:  # noqa: ARG002 (matplotlib names it)
        """Leave an artist."""
        self._tags.pop()

    def draw_path(
        self,
        gc: GraphicsContextBase,  # noqa: ARG002 (matplotlib's signature; colours come from the class)
        path: Path,
        transform: Transform,
        rgbFace: Any = None,  # noqa: ARG002, N803
    ) -> None:
        """Draw a path of straight pieces, in as few points as show no difference."""
        if self._tag is None:
            return
        kind, data = read_tag(self._tag)
        outline = "".join(
            polyline(thin(_unclosed(flipped) if closed else flipped), closed=closed)
            for flipped, closed in (
                ([self._flip(x, y) for x, y in points], closed) for points, closed in _pieces(path, transform)
            )
        )
        if outline:
            self.marks.append(Mark(kind=kind, path=outline, data=data))

    def draw_markers(  # noqa: PLR0917 (matplotlib's signature)
        self,
        gc: GraphicsContextBase,  # noqa: ARG002 (matplotlib's signature)
        marker_path: Path,  # noqa: ARG002
        marker_trans: Transform,  # noqa: ARG002
        path: Path,
        trans: Transform,
        rgbFace: Any = None,  # noqa: ARG002, N803
    ) -> None:
        """Draw a dot at every vertex; its size is the class's line width."""
        if self._tag is not None:
            points = [self._flip(x, y) for x, y in trans.transform(path.vertices)]
            self.marks.append(Mark(kind=self._tag, path=dots(points)))

    def draw_text(  # noqa: PLR0917 (matplotlib's signature)
        self,
        gc: GraphicsContextBase,  # noqa: ARG002 (matplotlib's signature)
        x: float,  # noqa: ARG002
        y: float,  # noqa: ARG002
        s: str,
        prop: FontProperties,  # noqa: ARG002
        angle: float,  # noqa: ARG002
        ismath: Any = False,  # noqa: ARG002
        mtext: Text | None = None,
    ) -> None:
        """Write a text at its own anchor: where it starts then depends on the reader's font alone."""
        if self._tag is None or mtext is None:
            return
        x_px, y_px = self._flip(*mtext.get_transform().transform(mtext.get_unitless_position()))
        anchor = {"left": "start", "center": "middle", "right": "end"}[mtext.get_horizontalalignment()]
        self.marks.append(Mark(kind=self._tag, text=s, x_px=x_px, y_px=y_px, anchor=anchor))

    def get_text_width_height_descent(self, s: str, prop: FontProperties, ismath: Any) -> tuple[float, float, float]:  # noqa: ARG002
        """Return the estimated size of a text; no font is opened for it."""
        size_px = prop.get_size_in_points()
        return estimate_width_px(s, size_px), (ASCENT_EM + DESCENT_EM) * size_px, DESCENT_EM * size_px

    def get_canvas_width_height(self) -> tuple[float, float]:
        """Return the size of the figure in pixels."""
        return self._size

    @property
    def _tag(self) -> str | None:
        return next((tag for tag in reversed(self._tags) if tag is not None), None)

    def _flip(self, x: float, y: float) -> tuple[float, float]:
        return float(x), self._size[1] - float(y)


def _unclosed(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return a polygon without a last point that lies on its first: a band may begin and end without any width."""
    same = len(points) > 1 and all(settle(a - b, 1) == 0 for a, b in zip(points[0], points[-1], strict=True))
    return points[:-1] if same else points


def _pieces(path: Path, transform: Transform) -> list[tuple[list[tuple[float, float]], bool]]:
    """Return the polygons and polylines of a path in pixels, and whether each is closed."""
    pieces: list[tuple[list[tuple[float, float]], bool]] = []
    for vertices, code in path.iter_segments(transform, simplify=False, curves=True):
        if code == Path.MOVETO:
            pieces.append(([], False))
        if code == Path.CLOSEPOLY:
            pieces[-1] = (pieces[-1][0], True)
        else:
            pieces[-1][0].append((float(vertices[-2]), float(vertices[-1])))
    return pieces
