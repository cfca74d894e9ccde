"""Where everything of a sharing card stands: texts are wrapped and set smaller until they keep to their places."""

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final, TypeAlias

Box: TypeAlias = tuple[int, int, int, int]
"""Left, top, right and bottom in pixels."""

Measure: TypeAlias = Callable[[str, str, int], float]
"""Width in pixels of a text in a face at a size."""

CARD_PX: Final = (1200, 630)
"""What programs that show cards ask for: 1.91 to 1 (common practice, no source)."""

LEFT, TOP, RIGHT, BOTTOM = 56, 52, 1144, 578
COLUMN_GAP_PX: Final = 52
SERIF, SANS = "DejaVuSerif", "DejaVuSans"
ELLIPSIS, NO_BREAK = "…", "\u00a0"
LINE_EM: Final = 1.34
EVEN_STEP_PX: Final = 8

CURVE_BOX: Final[Box] = (664, 56, 1144, 396)
VIEW_BOX: Final[Box] = (920, 428, 1144, 577)
LARGE_VIEW_BOX: Final[Box] = (600, 134, 1144, 497)
STRIPS_RIGHT_BESIDE_VIEW: Final = 872
STRIPS_TOP: Final = 482
STRIP_HEIGHTS_PX: Final = (42, 20)
KEY_PX: Final = 48
LABEL_SIZES_PX: Final = (22, 20, 18, 16)
"""A card is mostly seen on a phone, at less than a third of its size: nothing on it is small."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SetText:
    """A text as it is set: its lines from the top of its box, each `line_px` below the one before."""

    lines: tuple[str, ...]
    box: Box
    face: str
    size_px: int
    line_px: int
    colour: str


@dataclass(frozen=True, kw_only=True, slots=True)
class CardLayout:
    """The places of a card: texts, emblems and the line that tells each emblem's curve, curve and view."""

    texts: tuple[SetText, ...]
    strips: tuple[Box, ...]
    keys: tuple[Box, ...]
    curve: Box | None
    view: Box | None


def lay_out_card(
    *,
    series: str,
    name: str,
    against: str,
    verdict: str,
    strips: tuple[str, ...],
    with_view: bool,
    measure: Measure,
) -> CardLayout:
    """Return the layout of a card.

    `strips` are the names beside the emblems, the stock's first, none where it has no curve. What is missing leaves
    its place to the rest: without a view the emblems grow into it, without a curve the view grows.
    """
    with_curve = bool(strips)
    curve = CURVE_BOX if with_curve else None
    view = (VIEW_BOX if with_curve else LARGE_VIEW_BOX) if with_view else None
    beside = curve or view
    right = beside[0] - COLUMN_GAP_PX if beside else RIGHT
    boxes, keys, labels = _lay_out_strips(strips, STRIPS_RIGHT_BESIDE_VIEW if with_view else RIGHT, measure)
    bottom = STRIPS_TOP - 52 if with_curve else BOTTOM
    texts: list[SetText] = []
    top = TOP
    for text, face, colour, sizes, most_px, gap in (
        (series, SANS, "--muted", (24, 22, 20, 18), 34, 10),
        (name, SERIF, "--ink", (72, 66, 60, 54, 48, 42, 36, 30), 136, 8),
        (against, SANS, "--muted", (24, 22, 20, 18, 16), 60, 10),
        (verdict, SERIF, "--ink", (40, 38, 36, 34, 32, 30, 28, 26, 24, 22, 20, 18), BOTTOM, 0),
    ):
        if text:
            room = (LEFT, top, right, min(bottom, top + most_px))
            texts.append(fit_text(text, room, face=face, colour=colour, sizes=sizes, measure=measure))
            top = texts[-1].box[3] + gap
    return CardLayout(texts=(*texts, *labels), strips=boxes, keys=keys, curve=curve, view=view)


def _lay_out_strips(
    names: tuple[str, ...], right: int, measure: Measure
) -> tuple[tuple[Box, ...], tuple[Box, ...], tuple[SetText, ...]]:
    """Return the emblems one below the other, the stock's name above its own, the reference's below."""
    boxes: list[Box] = []
    keys: list[Box] = []
    labels: list[SetText] = []
    top = STRIPS_TOP
    for number, name in enumerate(names):
        boxes.append((LEFT, top, right, top + STRIP_HEIGHTS_PX[number]))
        top = boxes[-1][3] + 3
        label_top = STRIPS_TOP - 34 if number == 0 else boxes[-1][3] + 6
        room = (LEFT + KEY_PX + 12, label_top, right, label_top + 30)
        colour = "--accent" if number == 0 else "--ink"
        labels.append(fit_text(name, room, face=SANS, colour=colour, sizes=LABEL_SIZES_PX, measure=measure))
        keys.append((LEFT, label_top, LEFT + KEY_PX, label_top + 27))
    return tuple(boxes), tuple(keys), tuple(labels)


def fit_text(text: str, room: Box, *, face: str, colour: str, sizes: tuple[int, ...], measure: Measure) -> SetText:
    """Set a text into a box at the largest size that holds it; at the smallest it ends in an ellipsis if it must."""
    width, height = room[2] - room[0], room[3] - room[1]
    shown = (letter if letter.isprintable() or letter == NO_BREAK else " " for letter in text)
    plain = " ".join(word for word in "".join(shown).split(" ") if word)
    for size in sizes:
        line_px = round(size * LINE_EM)
        most = max(1, height // line_px)
        lines = wrap(plain, width, partial(_width, measure, face, size))
        if len(lines) <= most or size == sizes[-1]:
            break
    if len(lines) > most:
        lines = [*lines[: most - 1], _shorten(" ".join(lines[most - 1 :]), width, face, size, measure)]
    elif " ".join(lines) == plain:
        lines = _even_out(lines, width, partial(_width, measure, face, size))
    box = (room[0], room[1], room[2], room[1] + len(lines) * line_px)
    return SetText(lines=tuple(lines), box=box, face=face, size_px=size, line_px=line_px, colour=colour)


def wrap(text: str, width_px: float, measure: Callable[[str], float]) -> list[str]:
    """Break a text into lines between words; a word wider than a line is broken where it must.

    >>> wrap("one two three", 7, len)
    ['one two', 'three']
    >>> wrap("abcdefgh ij", 5, len)
    ['abcde', 'fgh', 'ij']
    """
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        rest = word
        if line and measure(f"{line} {rest}") <= width_px:
            line = f"{line} {rest}"
            continue
        if line:
            lines.append(line)
        while measure(rest) > width_px and len(rest) > 1:
            cut = max(1, _longest(rest, width_px, measure))
            lines.append(rest[:cut])
            rest = rest[cut:]
        line = rest
    return [*lines, line] if line else lines


def _even_out(lines: list[str], width_px: int, measure: Callable[[str], float]) -> list[str]:
    """Return the same words on as many lines in the least width that holds them: no last line of one word."""
    text = " ".join(lines)
    for narrower in range(width_px - EVEN_STEP_PX, 0, -EVEN_STEP_PX):
        evener = wrap(text, narrower, measure)
        if len(evener) > len(lines) or " ".join(evener) != text:
            break
        lines = evener
    return lines


def _longest(text: str, width_px: float, measure: Callable[[str], float]) -> int:
    """Return how many letters from a text's start fit a width."""
    return bisect_right(range(1, len(text) + 1), width_px, key=lambda end: measure(text[:end]))


def _width(measure: Measure, face: str, size_px: int, text: str) -> float:
    return measure(text, face, size_px)


def _shorten(text: str, width_px: float, face: str, size: int, measure: Measure) -> str:
    cut = _longest(text, width_px - measure(ELLIPSIS, face, size), partial(_width, measure, face, size))
    # Between words where it can be: half a word may read as another.
    whole = text.rfind(" ", 0, cut + 1)
    return text[: whole if whole > 0 else cut].rstrip(" ;,.(") + ELLIPSIS
