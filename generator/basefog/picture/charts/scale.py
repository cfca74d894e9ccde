"""Data ranges and the pixels they cover: what ties a place in a chart to the numbers it stands for."""

import math
from dataclasses import dataclass

from basefog.picture.charts.labels import Box


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


def equal_scale(
    x: tuple[float, float],
    y: tuple[float, float],
    *,
    left_px: float,
    right_px: float,
    top_px: float,
    max_height_px: float,
    x_unit: float = 1.0,
) -> Scale:
    """Return a scale on which one unit measures the same across and down, over the whole width.

    Where the height would become too large, the range across is widened on both sides. `x_unit` is how long a unit
    of the axis across is in units of the axis down: a stop is 0.301 of a density.
    """
    unit_px = min((right_px - left_px) / (x[1] - x[0]) / x_unit, max_height_px / (y[1] - y[0]))
    spare = (right_px - left_px) / unit_px / x_unit - (x[1] - x[0])
    return Scale(
        x0=x[0] - spare / 2,
        x1=x[1] + spare / 2,
        y0=y[0],
        y1=y[1],
        left_px=left_px,
        right_px=right_px,
        top_px=top_px,
        bottom_px=top_px + unit_px * (y[1] - y[0]),
    )


def outward(step: float, low: float, high: float) -> tuple[float, float]:
    """Return the multiples of a step that enclose a range; an end that lies on one, to a fiftieth, keeps it.

    >>> outward(0.5, -1.2, 2.005)
    (-1.5, 2.0)
    """
    return math.floor(low / step + 0.02) * step, math.ceil(high / step - 0.02) * step


def multiples(step: float, low: float, high: float) -> list[float]:
    """Return the multiples of a step from low to high, both included.

    >>> multiples(0.3, -0.31, 0.6)
    [-0.3, 0.0, 0.3, 0.6]
    """
    first, last = math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6)
    return [round(index * step, 10) + 0.0 for index in range(first, last + 1)]
