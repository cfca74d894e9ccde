"""The card that stands in the still life: printed page, even tone, slanted edge, grey scale and control strip.

Lengths are in the scene's unit (100 mm); u runs right and v up from the card's lower left corner.
"""

from functools import cache
from pathlib import Path
from typing import Final

import matplotlib as mpl
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from simulation.spectra import REFLECTANCES, FloatArray

WIDTH, HEIGHT = 2.6, 3.4
PIXELS_PER_UNIT: Final = 800
BOARD, PAPER, INK, EVEN, DARK = 0.47, 0.80, 0.035, 0.42, 0.17
EDGE_DEGREES: Final = 5.0

Region = tuple[float, float, float, float]
PAGE: Final[Region] = (0.15, 1.28, 1.55, 3.25)
EVEN_TONE: Final[Region] = (1.70, 2.36, 2.46, 3.25)
SLANTED_EDGE: Final[Region] = (1.70, 1.28, 2.46, 2.24)
GREY_SCALE: Final[Region] = (0.15, 0.74, 2.46, 1.14)
STRIP: Final[Region] = (0.15, 0.16, 2.46, 0.60)
GREY_STEPS: Final = 10
STRIP_PATCHES: Final = ("grey", "red", "green", "blue", "yellow", "skin", "deep")

_HEADING: Final = "OSTREY MILL"
_LINES: Final = (
    (0.090, "A page to be read from the negative"),
    (0.078, "The race was cut in the dry summer,"),
    (0.078, "when nobody remembered so little water,"),
    (0.078, "and the wheel stood for eleven weeks."),
    (0.064, "The miller spent them counting the stones of"),
    (0.064, "the weir. He made it four thousand and nine,"),
    (0.064, "then four thousand and twelve, and wrote"),
    (0.064, "down neither."),
    (0.052, "When the rain came it took the upper course of the"),
    (0.052, "weir in one night and left it in the orchard, where it"),
    (0.052, "still is. The wheel turned again the same morning."),
    (0.042, "His daughter set these lines from a case of mixed letter with"),
    (0.042, "nine good capitals in it and pulled sixty sheets. Fifty went"),
    (0.042, "to the neighbours, who lit the stove with them."),
    (0.034, "Whoever reads this line without a loupe has either a very fine film or a"),
    (0.034, "very long memory, and should say which. The next line is no better."),
    (0.027, "Stones of the weir, counted a third time by lantern: four thousand and ten, one of them doubtful."),
)


@cache
def render_neutral() -> NDArray[np.float32]:
    """Return the card's neutral reflectance, row 0 at the top; the strip's coloured patches are left to `strip_at`."""
    card = Image.new("L", (round(WIDTH * PIXELS_PER_UNIT), round(HEIGHT * PIXELS_PER_UNIT)), _code(BOARD))
    draw = ImageDraw.Draw(card)
    _fill(draw, PAGE, PAPER)
    _set_page(draw)
    _fill(draw, EVEN_TONE, EVEN)
    _fill(draw, SLANTED_EDGE, EVEN)
    left, bottom, right, top = SLANTED_EDGE
    middle, lean = (left + right) / 2, (top - bottom) / 2 * np.tan(np.deg2rad(EDGE_DEGREES))
    corners = [(middle + lean, top), (right, top), (right, bottom), (middle - lean, bottom)]
    draw.polygon([_pixel(u, v) for u, v in corners], fill=_code(DARK))
    left, bottom, right, top = GREY_SCALE
    width = (right - left) / GREY_STEPS
    for step, reflectance in enumerate(compute_grey_scale()):
        _fill(draw, (left + step * width, bottom, left + (step + 1) * width, top), float(reflectance))
    _fill(draw, STRIP, 0.05)
    return (np.asarray(card, dtype=np.float32) / 255.0) ** 2


def compute_grey_scale() -> FloatArray:
    """Return the reflectances of the grey scale, white first, in equal steps of density."""
    return np.asarray(10.0 ** -np.linspace(0.06, 1.62, GREY_STEPS))


def strip_at(u: NDArray[np.float32], v: NDArray[np.float32]) -> NDArray[np.int64]:
    """Return the index of the strip's patch at each point of the card, -1 where there is none."""
    left, bottom, right, top = STRIP
    width = (right - left) / len(STRIP_PATCHES)
    index = np.floor((u - left) / width).astype(np.int64)
    within = (u - left) / width - index
    on = (u > left) & (u < right) & (v > bottom + 0.02) & (v < top - 0.02) & (within > 0.04) & (within < 0.96)
    return np.where(on, index, -1)


def strip_spectra() -> FloatArray:
    """Return the reflectance spectra of the strip's patches, one a row."""
    return np.array([REFLECTANCES[patch] for patch in STRIP_PATCHES])


def _set_page(draw: ImageDraw.ImageDraw) -> None:
    left, _, right, top = PAGE
    x, y = _pixel(left + 0.10, top - 0.10)
    draw.text((x, y), _HEADING, font=_font(0.145), fill=_code(INK))
    y += round(0.21 * PIXELS_PER_UNIT)
    draw.line([(x, y), (_pixel(right - 0.10, 0)[0], y)], fill=_code(INK), width=6)
    y += round(0.035 * PIXELS_PER_UNIT)
    for size, text in _LINES:
        font = _fitted(text, size, right - left - 0.20)
        draw.text((x, y), text, font=font, fill=_code(INK))
        y += round(size * 1.66 * PIXELS_PER_UNIT)


def _fitted(text: str, size: float, width: float) -> ImageFont.FreeTypeFont:
    """Return the face at the size asked for, or smaller where the line would run off the page."""
    font = _font(size)
    length = font.getlength(text)
    return font if length <= width * PIXELS_PER_UNIT else _font(size * width * PIXELS_PER_UNIT / length)


def _font(size: float) -> ImageFont.FreeTypeFont:
    # A free face that comes with the plotting library, so that every machine draws the same page.
    face = Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSerif.ttf"
    return ImageFont.truetype(str(face), size * PIXELS_PER_UNIT, layout_engine=ImageFont.Layout.BASIC)


def _fill(draw: ImageDraw.ImageDraw, region: Region, reflectance: float) -> None:
    left, bottom, right, top = region
    draw.rectangle([_pixel(left, top), _pixel(right, bottom)], fill=_code(reflectance))


def _pixel(u: float, v: float) -> tuple[int, int]:
    return round(u * PIXELS_PER_UNIT), round((HEIGHT - v) * PIXELS_PER_UNIT)


def _code(reflectance: float) -> int:
    # Square-root coded, so that eight bits are fine enough in the dark tones.
    return round(255.0 * float(np.sqrt(reflectance)))
