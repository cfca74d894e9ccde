"""The text of an SVG: compact numbers, grouped marks, and the file that stands alone."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from itertools import groupby
from typing import Final

import numpy as np

from basefog.picture.charts.style import CHART_STYLE, MARKS
from basefog.records.numbers import fixed, round_to

THIN_TOLERANCE_PX: Final = 0.08
_VARIABLE: Final = re.compile(r"var\((--[a-z-]+)\)")


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """One drawn thing: a mark class and either path data or a text at a place."""

    kind: str
    path: str = ""
    text: str = ""
    x_px: float = 0.0
    y_px: float = 0.0
    anchor: str = "start"
    data: Mapping[str, str] = field(default_factory=dict)


def tag_artist(kind: str, **data: str) -> str:
    r"""Return the tag of a drawn thing: its mark class, and one thing that a page's script is to know of it.

    >>> read_tag(tag_artist("stock-curve", line="Tern 100")), read_tag("grid")
    (('stock-curve', {'line': 'Tern 100'}), ('grid', {}))
    """
    return "\n".join([kind, *(f"{name}\n{plain(text)}" for name, text in data.items())])


def read_tag(tag: str) -> tuple[str, dict[str, str]]:
    """Return the mark class and the data of a tag."""
    kind, *rest = tag.split("\n")
    return kind, dict(zip(rest[::2], rest[1::2], strict=True))


def plain(text: str) -> str:
    r"""Return a text on one line: what XML can't hold or nobody can see becomes a blank, runs of blanks one.

    >>> plain("Tern\x1b 100\n")
    'Tern 100'
    """
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


def number(value: float) -> str:
    """Return a coordinate to a tenth of a pixel in the fewest characters.

    >>> number(12.04), number(-0.04), number(0.25), number(-3.5)
    ('12', '0', '.2', '-3.5')
    """
    text = fixed(value, 1).removesuffix(".0")
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def polyline(points: Iterable[tuple[float, float]], *, closed: bool = False) -> str:
    """Return path data through points, in steps from one rounded point to the next, so that nothing adds up.

    >>> polyline([(1, 2), (3.04, 2), (3, 4.5)])
    'M1 2h2v2.5'
    """
    out: list[str] = []
    last: tuple[float, float] | None = None
    for x, y in points:
        here = (round_to(x, 1), round_to(y, 1))
        if last is None:
            out.append(f"M{number(here[0])} {number(here[1])}")
        else:
            right, down = round_to(here[0] - last[0], 1), round_to(here[1] - last[1], 1)
            if right and down:
                first, second = number(right), number(down)
                needless = second.startswith("-") or (second.startswith(".") and "." in first)
                out.append(f"l{first}{'' if needless else ' '}{second}")
            elif right:
                out.append(f"h{number(right)}")
            elif down:
                out.append(f"v{number(down)}")
        last = here
    return "".join(out) + ("z" if closed else "")


def dots(points: Iterable[tuple[float, float]]) -> str:
    """Return path data of points without length; round line caps make them dots.

    >>> dots([(1, 2), (3, 4)])
    'M1 2h0M3 4h0'
    """
    return "".join(f"M{number(x)} {number(y)}h0" for x, y in points)


def thin(
    points: Sequence[tuple[float, float]], *, tolerance_px: float = THIN_TOLERANCE_PX
) -> list[tuple[float, float]]:
    """Leave out points of a line that lie within a hair of what remains (Ramer 1972, Douglas and Peucker 1973).

    It reckons in whole thousandths of a pixel: of points equally far away the first stays, on any processor. Where a
    line comes back to where it began, the distance is that to the point.

    >>> thin([(0, 0), (1, 0.01), (2, 0), (3, 5)])
    [(0, 0), (2, 0), (3, 5)]
    >>> thin([(0, 0), (3, 4), (0, 0)])
    [(0, 0), (3, 4), (0, 0)]
    """
    if len(points) < 3:
        return list(points)
    places = np.array([[round(1000 * round_to(value, 3)) for value in point] for point in points], dtype=np.int64)
    nearest = round(1000 * tolerance_px)
    keep = {0, len(points) - 1}
    spans = [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        across, down = (places[last] - places[first]).tolist()
        right, low = (places[first + 1 : last] - places[first]).T
        chord = across**2 + down**2
        # Squares, or without a chord the squares of distances, over the square of what they are compared with.
        away = np.abs(across * low - down * right) if chord else right**2 + low**2
        worst = int(np.argmax(away))
        if int(away[worst]) ** 2 > nearest**2 * chord if chord else away[worst] > nearest**2:
            middle = first + 1 + worst
            keep.add(middle)
            spans += [(first, middle), (middle, last)]
    return [points[index] for index in sorted(keep)]


def render_marks(marks: Sequence[Mark]) -> str:
    """Return the marks in their order; neighbours of one kind share a group of class `mark-...`, its lines one path."""
    groups = []
    for kind, same in groupby(marks, key=lambda mark: mark.kind):
        attributes = "".join(f' {name}="{value}"' for name, value in MARKS[kind].items())
        inner = []
        for plain_path, run in groupby(same, key=lambda mark: bool(mark.path) and not mark.data):
            if plain_path:
                inner.append(f'<path d="{"".join(mark.path for mark in run)}"/>')
            else:
                inner.extend(_one_mark(mark) for mark in run)
        groups.append(f'<g class="mark-{kind}"{attributes}>{"".join(inner)}</g>')
    return "\n".join(groups)


def _one_mark(mark: Mark) -> str:
    data = "".join(f' data-{name}="{escape(value)}"' for name, value in mark.data.items())
    if mark.path:
        return f'<path d="{mark.path}"{data}/>'
    anchor = "" if mark.anchor == "start" else f' text-anchor="{mark.anchor}"'
    place = f'x="{number(mark.x_px)}" y="{number(mark.y_px)}"'
    return f"<text {place}{anchor}{data}>{escape(plain(mark.text), quote=False)}</text>"


def render_svg(
    *,
    chart: str,
    test: str,
    width_px: float,
    height_px: float,
    title: str,
    description: str,
    marks: Sequence[Mark],
    data: Mapping[str, str],
    text_px: float,
) -> str:
    """Return a whole chart; its ids carry chart and test, so that no two charts on a page share one."""
    name = re.sub(r"[^a-z0-9-]+", "-", f"chart-{chart}-{test}".lower())
    size = f"{number(width_px)} {number(height_px)}"
    extra = "".join(f' data-{key}="{escape(value)}"' for key, value in data.items())
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart chart-{chart}" role="img" id="{name}"'
        f' aria-labelledby="{name}-title" aria-describedby="{name}-desc" viewBox="0 0 {size}"'
        f' width="{number(width_px)}" height="{number(height_px)}" font-size="{text_px:g}"'
        f' data-chart="{chart}" data-test="{escape(test)}"{extra}>'
        f'\n<title id="{name}-title">{escape(plain(title), quote=False)}</title>'
        f'\n<desc id="{name}-desc">{escape(plain(description), quote=False)}</desc>'
        f"\n{render_marks(marks)}\n</svg>\n"
    )


def standalone_svg(svg: str) -> bytes:
    """Return a chart as a file of its own: light colours written out, dark ones by the reader's preference.

    Colours are written out, for many viewers of SVG files know no custom properties.
    """
    light = _VARIABLE.sub(lambda match: CHART_STYLE[match.group(1)][0], svg)
    dark = "".join(
        f'[{attribute}="{day}"]{{{attribute}:{night}}}'
        for day, night in CHART_STYLE.values()
        for attribute in ("fill", "stroke")
    )
    style = (
        "<style>svg{font-family:system-ui,sans-serif;font-variant-numeric:tabular-nums}"
        f"@media (prefers-color-scheme:dark){{svg{{background:{CHART_STYLE['--paper'][1]}}}{dark}}}</style>"
        f'\n<rect width="100%" height="100%" fill="{CHART_STYLE["--paper"][0]}"/>'
    )
    head, end, rest = light.partition("</desc>")
    if not end:
        head, end, rest = light.partition(">")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}{end}\n{style}{rest}'.encode()
