"""The sharing card of a stock: one picture of its name, verdict, curve, emblem and a view, for where it is linked.

Paper, ink and one accent as the site's light pages have them. The fonts are matplotlib's own DejaVu, set by Pillow's
own layout, so that the same card is the same bytes on every machine. The file holds pixels alone. It is a JPEG, for
programs that show cards read that and PNG (common practice, no source), and a PNG of a photograph is thrice as heavy;
grain can be judged from the views alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Final

import numpy as np

from basefog.picture.card_layout import CARD_PX, Box, CardLayout, lay_out_card
from basefog.picture.charts.pair import companion_of
from basefog.picture.charts.style import CHART_STYLE, REFERENCE_DASHES
from basefog.picture.cuts import SURROUND_GREY
from basefog.picture.strip import compute_strip_greys
from basefog.records.content import FloatArray
from basefog.records.findings import Curve, TestFindings
from basefog.records.numbers import round_to

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageFont import FreeTypeFont

JPEG_QUALITY: Final = 84
LINE_PX: Final = 6.5
REFERENCE_LINE_PX: Final = 4.0
DASH_SCALE: Final = 2.6
FINE: Final = 4
"""Curves are drawn this many times larger and averaged: Pillow draws hard edges."""

Points = list[tuple[float, float]]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Card:
    """What a card says and shows. `against` stands before the verdict; names are those of curve and emblem."""

    series: str
    name: str
    against: str
    verdict: str
    reference_name: str
    test: TestFindings
    reference: TestFindings | None


def draw_card(card: Card, view: bytes | None) -> bytes:
    """Return a card as JPEG, 1200 by 630 pixels.

    `view` is a published picture of the stock: a compressed one is brought down to its place, a lossless one (PNG) is
    cut round its middle, for it shows grain at 1:1. Raises ValueError where it is no picture.
    """
    from PIL import Image, ImageDraw

    layout = layout_of(card, with_view=view is not None)
    picture = Image.new("RGB", CARD_PX, _colour("--paper"))
    draw = ImageDraw.Draw(picture)
    for text in layout.texts:
        font = font_of(text.face, text.size_px)
        for number, line in enumerate(text.lines):
            at = (text.box[0], text.box[1] + number * text.line_px)
            draw.text(at, line, font=font, fill=_colour(text.colour), anchor="la")
    if view is not None and layout.view is not None:
        _place_view(picture, view, layout.view)
    for box, curve in zip(layout.strips, _strip_curves(card), strict=True):
        _draw_strip(picture, compute_strip_greys(curve), box)
    if layout.curve is not None:
        _draw_curves(picture, card, layout.curve)
    for kind, box in zip(("stock", "reference"), layout.keys, strict=False):
        middle = (box[1] + box[3]) / 2
        _draw_line(picture, [(box[0], middle), (box[2], middle)], kind)
    out = BytesIO()
    picture.save(out, "JPEG", quality=JPEG_QUALITY, subsampling=0, optimize=True)
    return out.getvalue()


def layout_of(card: Card, *, with_view: bool) -> CardLayout:
    """Return where everything of a card stands."""
    names = tuple(name for name, _ in zip((card.name, card.reference_name), _strip_curves(card), strict=False))
    return lay_out_card(
        series=card.series,
        name=card.name,
        against=card.against,
        verdict=card.verdict,
        strips=names,
        with_view=with_view,
        measure=measure_px,
    )


def measure_px(text: str, face: str, size_px: int) -> float:
    """Return how wide a text is set."""
    return float(font_of(face, size_px).getlength(text))


@cache
def font_of(face: str, size_px: int) -> "FreeTypeFont":
    """Return one of matplotlib's DejaVu faces (`DejaVuSerif`)."""
    from pathlib import Path

    import matplotlib as mpl
    from PIL import ImageFont

    path = Path(mpl.get_data_path()) / "fonts" / "ttf" / f"{face}.ttf"
    return ImageFont.truetype(str(path), size_px, layout_engine=ImageFont.Layout.BASIC)


def _strip_curves(card: Card) -> tuple[Curve, ...]:
    """Return the curves whose emblems are shown, the stock's own first; none where it has none."""
    if card.test.curve is None:
        return ()
    other = card.reference.curve if card.reference is not None and card.reference.key != card.test.key else None
    return (card.test.curve,) if other is None else (card.test.curve, other)


def _colour(name: str) -> str:
    return CHART_STYLE[name][0]


def _place_view(picture: "Image", data: bytes, box: Box) -> None:
    from PIL import Image, ImageOps

    with Image.open(BytesIO(data)) as opened:
        lossless = opened.format == "PNG"
        view = opened.convert("L")
    width, height = box[2] - box[0], box[3] - box[1]
    if lossless:
        # Grain is shown pixel for pixel or not at all.
        across, down = min(width, view.width), min(height, view.height)
        left, top = (view.width - across) // 2, (view.height - down) // 2
        view = view.crop((left, top, left + across, top + down))
    else:
        view = ImageOps.contain(view, (width, height), Image.Resampling.LANCZOS)
    picture.paste((SURROUND_GREY,) * 3, box)
    picture.paste(view.convert("RGB"), (box[0] + (width - view.width) // 2, box[1] + (height - view.height) // 2))


def _draw_strip(picture: "Image", greys: Sequence[int], box: Box) -> None:
    from PIL import ImageDraw

    draw = ImageDraw.Draw(picture)
    edges = np.linspace(box[0], box[2], len(greys) + 1).round().astype(int).tolist()
    for grey, left, right in zip(greys, edges, edges[1:], strict=False):
        draw.rectangle((left, box[1], right - 1, box[3] - 1), fill=(grey,) * 3)
    draw.rectangle((box[0], box[1], box[2] - 1, box[3] - 1), outline=_colour("--rule"))


def _draw_curves(picture: "Image", card: Card, box: Box) -> None:
    """Draw the stock's curve over the reference's, one log unit as long across as down."""
    curve = card.test.curve
    if curve is None:
        return
    companion = companion_of(card.test, card.reference, name="")
    drawn: list[tuple[str, Curve, float]] = [("stock", curve, 0.0)]
    if companion.curve is not None:
        drawn.insert(0, ("reference", companion.curve, companion.shift))
    first = min(float(one.log_exposure[0]) + shift for _, one, shift in drawn)
    last = max(float(one.log_exposure[-1]) + shift for _, one, shift in drawn)
    top = max(float(one.density.max()) for _, one, _ in drawn)
    left, high, right, base = box
    unit_px = min((right - left) / (last - first), (base - high) / max(top, 0.01))
    # It ends where the rest of the card ends.
    start = right - unit_px * (last - first)
    _draw_line(picture, [(start, base), (right, base)], "axis")
    for kind, one, shift in drawn:
        x_px: FloatArray = start + (one.log_exposure + shift - first) * unit_px
        y_px: FloatArray = base - one.density * unit_px
        _draw_line(picture, list(zip(x_px.tolist(), y_px.tolist(), strict=True)), kind)


def _draw_line(picture: "Image", points: Points, kind: str) -> None:
    """Draw a line as charts have it: the stock solid in the accent, the reference dashed in ink."""
    from PIL import Image, ImageDraw

    colour, width = {
        "stock": ("--accent", LINE_PX),
        "reference": ("--ink", REFERENCE_LINE_PX),
        "axis": ("--ink", 1.6),
    }[kind]
    points = _settled(points)
    dashes = [DASH_SCALE * float(length) for length in REFERENCE_DASHES.split()] if kind == "reference" else []
    margin = 4
    left, top = (int(min(point[axis] for point in points)) - margin for axis in (0, 1))
    right, bottom = (int(max(point[axis] for point in points)) + margin + 1 for axis in (0, 1))
    mask = Image.new("L", ((right - left) * FINE, (bottom - top) * FINE))
    draw = ImageDraw.Draw(mask)
    for piece in cut_dashes(points, dashes):
        fine = [((x - left) * FINE, (y - top) * FINE) for x, y in _settled(piece)]
        draw.line(fine, fill=255, width=round(width * FINE), joint="curve")
    picture.paste(_colour(colour), (left, top), mask.reduce(FINE))


def _settled(points: Points) -> Points:
    """Return points to a thousandth of a pixel: the last bits of a sum must not turn a pixel."""
    return [(round_to(x, 3), round_to(y, 3)) for x, y in points]


def cut_dashes(points: Points, dashes: Sequence[float]) -> list[Points]:
    """Return the drawn pieces of a line; `dashes` are lengths drawn and left out in turn, none for a solid line.

    >>> cut_dashes([(0.0, 0.0), (10.0, 0.0)], [4.0, 2.0])
    [[(0.0, 0.0), (4.0, 0.0)], [(6.0, 0.0), (10.0, 0.0)]]
    """
    if not dashes:
        return [points]
    line = np.asarray(points, dtype=np.float64)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    pieces: list[Points] = []
    start, turn = 0.0, 0
    while start < along[-1]:
        end = min(start + dashes[turn % len(dashes)], float(along[-1]))
        if turn % 2 == 0:
            inner = along[(along > start) & (along < end)]
            places = np.concatenate([[start], inner, [end]])
            across, down = (np.interp(places, along, line[:, axis]).tolist() for axis in (0, 1))
            pieces.append(list(zip(across, down, strict=True)))
        start, turn = end, turn + 1
    return pieces
