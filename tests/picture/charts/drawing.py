"""Reads a drawn chart back: its texts with the boxes they take, its paths, its scale."""

import math
import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import matplotlib as mpl
from PIL import ImageFont

SVG = "{http://www.w3.org/2000/svg}"
Box = tuple[float, float, float, float]


@cache
def wide_font(name: str) -> ImageFont.FreeTypeFont:
    """Return DejaVu Sans, which comes with matplotlib and is among the widest faces that serve as a system font."""
    return ImageFont.truetype(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / name), 100)


def text_width_px(text: str, size_px: float, *, heavy: bool = False) -> float:
    font = wide_font("DejaVuSans-Bold.ttf" if heavy else "DejaVuSans.ttf")
    return font.getlength(text) * size_px / 100


def parse(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 (our own output)


def texts_of(svg: str) -> list[tuple[str, str, Box]]:
    """Return the class, words and box of every text of a chart, as DejaVu Sans would set it."""
    root = parse(svg)
    found = []
    for group in root.iter(f"{SVG}g"):
        size_px = float(group.get("font-size", root.get("font-size", "14")))
        for text in group.iter(f"{SVG}text"):
            words = "".join(text.itertext())
            width = text_width_px(words, size_px, heavy=group.get("font-weight") == "600")
            left = float(text.get("x", "0")) - {"end": 1.0, "middle": 0.5}.get(text.get("text-anchor", ""), 0.0) * width
            base = float(text.get("y", "0"))
            box = (left, base - 0.76 * size_px, left + width, base + 0.22 * size_px)
            found.append((group.get("class", ""), words, box))
    return found


def overlapping(svg: str) -> list[tuple[str, str]]:
    """Return every pair of texts whose boxes overlap."""
    texts = texts_of(svg)
    return [
        (one, other)
        for index, (_, one, a) in enumerate(texts)
        for _, other, b in texts[index + 1 :]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]


def outside(svg: str) -> list[str]:
    """Return every text that reaches out of the view box."""
    _, _, width, height = (float(part) for part in parse(svg).get("viewBox", "").split())
    return [
        words for _, words, box in texts_of(svg) if box[0] < 0 or box[1] < 0 or box[2] > width + 0.05 or box[3] > height
    ]


def scale_of(svg: str) -> dict[str, float]:
    """Return the scale a page's script reads: plot area in pixels, data range (logarithms on a logarithmic axis)."""
    root = parse(svg)
    left, x0, right, x1 = (float(part) for part in root.get("data-x", "").split())
    bottom, y0, top, y1 = (float(part) for part in root.get("data-y", "").split())
    logs = root.get("data-log", "").split()
    if "x" in logs:
        x0, x1 = math.log10(x0), math.log10(x1)
    if "y" in logs:
        y0, y1 = math.log10(y0), math.log10(y1)
    return {"left": left, "right": right, "top": top, "bottom": bottom, "x0": x0, "x1": x1, "y0": y0, "y1": y1}


def named_of(svg: str, what: str) -> dict[str, list[tuple[float, float]]]:
    """Return the lines (`line`) or the outlines of the bands (`band`) that can be read off, by name, in pixels."""
    return {
        path.get(f"data-{what}", ""): _follow(path.get("d", ""))[0]
        for path in parse(svg).iter(f"{SVG}path")
        if path.get(f"data-{what}") is not None
    }


def points_of(svg: str, kind: str) -> list[list[tuple[float, float]]]:
    """Return the polylines of a kind of mark in the chart's own data, read through its embedded scale."""
    scale = scale_of(svg)
    across = (scale["x1"] - scale["x0"]) / (scale["right"] - scale["left"])
    up = (scale["y1"] - scale["y0"]) / (scale["bottom"] - scale["top"])
    return [
        [(scale["x0"] + (x - scale["left"]) * across, scale["y0"] + (scale["bottom"] - y) * up) for x, y in line]
        for line in pixels_of(svg, kind)
    ]


def pixels_of(svg: str, kind: str) -> list[list[tuple[float, float]]]:
    """Return the polylines of a kind of mark in pixels, in drawing order."""
    lines: list[list[tuple[float, float]]] = []
    for group in parse(svg).iter(f"{SVG}g"):
        if group.get("class") == f"mark-{kind}":
            for path in group.iter(f"{SVG}path"):
                lines += _follow(path.get("d", ""))
    return lines


def _follow(data: str) -> list[list[tuple[float, float]]]:
    lines: list[list[tuple[float, float]]] = []
    x = y = 0.0
    for letter, rest in re.findall(r"([MlhvHz])([^MlhvHz]*)", data):
        figures = [float(part) for part in re.findall(r"-?(?:\d+\.\d+|\.\d+|\d+)", rest)]
        if letter == "M":
            x, y = figures
            lines.append([(x, y)])
            continue
        if letter == "l":
            x, y = x + figures[0], y + figures[1]
        elif letter == "h":
            x += figures[0]
        elif letter == "v":
            y += figures[0]
        elif letter == "H":
            x = figures[0]
        if letter != "z":
            lines[-1].append((x, y))
    return lines
