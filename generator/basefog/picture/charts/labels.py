"""Where words go in a chart: an estimate of their size, and a free place near what they name.

The page's own font draws the words, so that their true width is unknown here: the estimate is on the wide side.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from basefog.picture.charts.svg import plain
from basefog.records.numbers import round_to, settle

Box: TypeAlias = tuple[float, float, float, float]
"""Left, top, right, bottom in pixels of the chart."""

ASCENT_EM: Final = 0.80
DESCENT_EM: Final = 0.24
CELL_PX: Final = 2
ELLIPSIS: Final = "…"

_EM_BY_LETTERS: Final = {
    "ijlIJ' .,·’|": 0.32,
    "f/:;\\t()[]!-": 0.40,
    'rsz*_`°"“”?': 0.53,
    "cLkFvxyP": 0.60,
    "abdeghnopquTYES0123456789": 0.64,
    "ABCKRVXZ": 0.70,
    "DGHNOQU&": 0.79,
    "w#+<=>^~−±M": 0.87,
}
_EM_BY_LETTER: Final = {letter: em for letters, em in _EM_BY_LETTERS.items() for letter in letters}
_EM_OTHERWISE: Final = 1.0
"""Advance widths rounded up from a wide sans serif face (DejaVu Sans); what is not listed counts as a full square."""

HEAVY_RATIO: Final = 1.13
"""How much wider the same text runs in the heavy weight of that face."""


def estimate_width_px(text: str, size_px: float) -> float:
    """Return about how wide a text runs in a wide sans serif face.

    >>> estimate_width_px("density", 10.0)
    37.7
    """
    return round_to(sum(_EM_BY_LETTER.get(letter, _EM_OTHERWISE) for letter in text) * size_px, 1)


def shorten(text: str, size_px: float, width_px: float) -> str:
    """Cut a text to a width at the end, with an ellipsis.

    >>> shorten("Tern 100", 14.0, 200.0), shorten("An exceedingly long name", 14.0, 100.0)
    ('Tern 100', 'An exceedi…')
    """
    text = plain(text)
    if estimate_width_px(text, size_px) <= width_px:
        return text
    while text and estimate_width_px(text + ELLIPSIS, size_px) > width_px:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS


def wrap(text: str, size_px: float, width_px: float) -> list[str]:
    """Break a sentence into lines of a width, at blanks."""
    lines: list[str] = []
    for word in text.split():
        if lines and estimate_width_px(f"{lines[-1]} {word}", size_px) <= width_px:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


@dataclass(frozen=True, kw_only=True, slots=True)
class Spot:
    """A place for a text: its anchor point on the baseline, and which end of the text stands there."""

    x_px: float
    y_px: float
    anchor: str = "start"

    def box(self, width_px: float, size_px: float) -> Box:
        """Return the box that a text of that width takes here."""
        left = self.x_px - {"start": 0.0, "middle": width_px / 2, "end": width_px}[self.anchor]
        return left, self.y_px - ASCENT_EM * size_px, left + width_px, self.y_px + DESCENT_EM * size_px


class Room:
    """What is taken and what is free in a chart, in cells of two pixels."""

    def __init__(self, inside: Box, *, width_px: float, height_px: float) -> None:
        """Take a chart's size, and the box that all labels must stay in."""
        self._inside = inside
        self._taken: NDArray[np.bool_] = np.zeros((int(height_px / CELL_PX) + 2, int(width_px / CELL_PX) + 2), bool)

    def take_box(self, box: Box) -> None:
        """Mark a box as taken."""
        self._taken[self._cells(box)] = True

    def take_line(self, points: Sequence[tuple[float, float]], *, reach_px: float = 3.0) -> None:
        """Mark a line and what lies within reach of it as taken."""
        for (x1, y1), (x2, y2) in pairwise(points):
            steps = max(1, int(settle(max(abs(x2 - x1), abs(y2 - y1)), 1) / CELL_PX))
            for step in range(steps + 1):
                x, y = x1 + (x2 - x1) * step / steps, y1 + (y2 - y1) * step / steps
                self.take_box((x - reach_px, y - reach_px, x + reach_px, y + reach_px))

    def is_free(self, box: Box) -> bool:
        """Say whether a box lies inside and over nothing that is taken."""
        left, top, right, bottom = self._inside
        # Labels are often tried right at the edge.
        past = max(left - box[0], top - box[1], box[2] - right, box[3] - bottom)
        inside = settle(past, 1) <= 0
        return inside and not self._taken[self._cells(box)].any()

    def place(self, spots: Iterable[Spot], *, width_px: float, size_px: float) -> Spot | None:
        """Return the first free spot and take it; None where every spot is taken."""
        for spot in spots:
            box = spot.box(width_px, size_px)
            if self.is_free(box):
                self.take_box(box)
                return spot
        return None

    def anywhere(self, *, width_px: float, size_px: float) -> Iterable[Spot]:
        """Yield spots over the whole room, row by row from the top left: the last resort."""
        left, top, right, bottom = self._inside
        for y in np.arange(top + size_px, bottom, size_px / 2):
            for x in np.arange(left, right - width_px, 8.0):
                yield Spot(x_px=float(x), y_px=float(y))

    def _cells(self, box: Box) -> tuple[slice, slice]:
        left, top, right, bottom = (int(settle(max(edge, 0.0), 1) / CELL_PX) for edge in box)
        return slice(top, bottom + 1), slice(left, right + 1)
