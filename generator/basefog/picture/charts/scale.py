"""Data ranges and the pixels they cover: what ties a place in a chart to the numbers it stands for."""

import math
from dataclasses import dataclass

from basefog.picture.charts.labels import Box
from basefog.records.numbers import round_to_digits, settle


@dataclass(frozen=True, kw_only=True, slots=True)
class Scale:
    """A data range and the pixels it covers; `y_px` grows downwards.

    On a logarithmic axis the range is that of the common logarithms.
    """

    x0: float
    x1: float
    y0: float
    y1: float
    left_px: float
    right_px: float
    top_px: float
    bottom_px: float
    log_x: bool = False
    log_y: bool = False

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
        """Return the scale as a page's script reads it.

        `x` and `y` are two places of each axis in the view box, each followed by its value; `log` names the axes that
        are logarithmic, whose values are the plain numbers.
        """
        data = {
            "x": _ends((self.left_px, self.x0), (self.right_px, self.x1), log=self.log_x),
            "y": _ends((self.bottom_px, self.y0), (self.top_px, self.y1), log=self.log_y),
        }
        logs = [name for name, log in (("x", self.log_x), ("y", self.log_y)) if log]
        return data | ({"log": " ".join(logs)} if logs else {})


def _ends(*ends: tuple[float, float], log: bool) -> str:
    """Return places and values of an axis in a row, to a hundredth of a pixel or better."""
    figures = [
        (f"{round_to_digits(place_px, 5):.5g}", f"{round_to_digits(10**value if log else value, 6):.6g}")
        for place_px, value in ends
    ]
    return " ".join(figure for pair in figures for figure in pair)


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
    return math.floor(settle(low / step + 0.02, 3)) * step, steps_up(step, high - 0.02 * step) * step


def steps_up(step: float, value: float) -> int:
    """Return how many steps reach a value.

    >>> steps_up(0.1, 0.3), steps_up(0.1, 0.1 + 0.2), steps_up(0.1, 0.31)
    (3, 3, 4)
    """
    return math.ceil(settle(value / step, 3))


def multiples(step: float, low: float, high: float) -> list[float]:
    """Return the multiples of a step from low to high, both included.

    >>> multiples(0.3, -0.31, 0.6)
    [-0.3, 0.0, 0.3, 0.6]
    """
    first, last = math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6)
    return [round(index * step, 10) + 0.0 for index in range(first, last + 1)]
