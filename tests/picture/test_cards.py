"""Sharing cards: size, bytes, and texts that keep to their places whatever they say."""

import io
import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from basefog.picture import CHART_STYLE, Card, compute_strip_greys, draw_card
from basefog.picture.card_layout import Box, CardLayout, lay_out_card
from basefog.picture.cards import layout_of, measure_px
from picture.samples import make_findings, make_reference, make_stock

LONG = (
    "Wrackenholme & Thistlethwaite's Extraordinarily Fine-Grained Panchromatic Cut Sheet Film No. 1250 (second coating)"
)
VERDICT = (
    "About one and two thirds stops slower; contrast, shadow separation and highlight separation: no measurable "
    "difference (95 % limits 0.047, 0.093 and 0.051)."
)


def make_card(**changed: object) -> Card:
    card = Card(
        series="Invented trials",
        name="Tern 100",
        against="Against Marl 400",
        verdict=VERDICT,
        reference_name="Marl 400",
        test=make_stock(),
        reference=make_reference(),
    )
    return replace(card, **changed)  # type: ignore[arg-type]  # names are checked by the record


def make_view(kind: str, size: tuple[int, int]) -> bytes:
    """Return a picture of noise about a middle grey."""
    noise = np.random.default_rng(7).normal(128, 20, (size[1], size[0]))
    out = io.BytesIO()
    Image.fromarray(noise.clip(0, 255).astype(np.uint8)).save(out, kind, quality=90)
    return out.getvalue()


def open_card(data: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(data))
    picture.load()
    return picture


def meets(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def faults_of(layout: CardLayout) -> list[str]:
    """Return what reaches out of the card or over something else, texts by the ink of their lines."""
    things = [("strip", box) for box in layout.strips] + [("key", box) for box in layout.keys]
    things += [(name, box) for name, box in (("curve", layout.curve), ("view", layout.view)) if box is not None]
    for text in layout.texts:
        for number, line in enumerate(text.lines):
            top = text.box[1] + number * text.line_px
            width = measure_px(line, text.face, text.size_px)
            # DejaVu's letters with their accents and descenders: 1.17 of the size, from the font's own tables.
            box = (text.box[0], top, round(text.box[0] + width), top + round(1.17 * text.size_px))
            things.append((line, box))
    faults = [name for name, box in things if box[0] < 0 or box[1] < 0 or box[2] > 1200 or box[3] > 630]
    faults += [
        f"{name} / {other}"
        for index, (name, one) in enumerate(things)
        for other, two in things[index + 1 :]
        if meets(one, two)
    ]
    return faults


@pytest.mark.parametrize("kind", ["WEBP", "PNG", None])
@pytest.mark.parametrize("curve", [True, False])
def test_a_card_is_of_the_size_that_programs_ask_for(*, kind: str | None, curve: bool) -> None:
    """1200 by 630 in RGB with nothing but pixels and their scale in the file, with or without view and curve."""
    card = make_card() if curve else make_card(test=make_findings(None, curve_why="no wedge was read"))

    picture = open_card(draw_card(card, None if kind is None else make_view(kind, (640, 480))))

    assert (picture.format, picture.size, picture.mode) == ("JPEG", (1200, 630), "RGB")
    assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert len(picture.getexif()) == 0


def test_the_same_card_is_the_same_bytes_in_any_process() -> None:
    """Two fresh processes with other hash seeds, locales and matplotlib settings."""
    code = (
        "import hashlib, picture.test_cards as t\n"
        "print(hashlib.sha256(t.draw_card(t.make_card(), t.make_view('WEBP', (640, 427)))).hexdigest())"
    )
    paths = os.pathsep.join(sys.path)
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONPATH": paths, "PYTHONHASHSEED": seed, "LC_ALL": locale},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed, locale in (("1", "C"), ("2", "C.UTF-8"))
    }

    assert len(said) == 1


@settings(max_examples=25)
@given(
    series=st.sampled_from(["", "Trials", LONG]) | st.text(max_size=90),
    name=st.sampled_from(["X", "W" * 90, LONG]) | st.text(min_size=1, max_size=120),
    verdict=st.sampled_from([VERDICT, VERDICT * 6, "W" * 700]) | st.text(max_size=300),
    reference=st.sampled_from(["Marl 400", LONG]),
    strips=st.integers(min_value=0, max_value=2),
    with_view=st.booleans(),
)
def test_texts_keep_to_their_places(
    *, series: str, name: str, verdict: str, reference: str, strips: int, with_view: bool
) -> None:
    """No text reaches out of the card or over another thing, whatever it says and whatever is missing."""
    layout = lay_out_card(
        series=series,
        name=name,
        against=f"Against {reference}",
        verdict=verdict,
        strips=(name, reference)[:strips],
        with_view=with_view,
        measure=measure_px,
    )

    assert faults_of(layout) == []


@pytest.mark.parametrize("with_view", [True, False])
@pytest.mark.parametrize("curve", [True, False])
def test_a_usual_name_and_verdict_are_said_whole(*, with_view: bool, curve: bool) -> None:
    """Nothing of them is cut off, and no line of the verdict is a single word."""
    card = make_card() if curve else make_card(test=make_findings(None))

    layout = layout_of(card, with_view=with_view)

    said = [" ".join(text.lines) for text in layout.texts]
    assert said[:4] == ["Invented trials", "Tern 100", "Against Marl 400", VERDICT]
    assert all(" " in line for line in layout.texts[3].lines)


def test_a_text_too_long_ends_in_an_ellipsis() -> None:
    """What does not fit at the smallest size is cut, and says so."""
    layout = layout_of(make_card(verdict=VERDICT * 9), with_view=True)

    assert layout.texts[3].lines[-1].endswith("…")
    assert layout.texts[3].size_px == 18


def test_the_emblem_is_shown_in_its_greys() -> None:
    """The middle of each step has the grey computed from the curve, to what JPEG does (2 of 255)."""
    card = make_card()
    picture = open_card(draw_card(card, None)).convert("L")
    left, top, right, bottom = layout_of(card, with_view=False).strips[0]
    assert card.test.curve is not None
    expected = compute_strip_greys(card.test.curve)

    step = (right - left) / len(expected)
    middles = [int(left + (index + 0.5) * step) for index in range(len(expected))]
    seen = np.asarray(picture)[(top + bottom) // 2, middles].astype(int)

    assert np.abs(np.subtract(expected, seen)).max() <= 2


def test_the_curve_is_the_accent_and_the_reference_ink_in_dashes() -> None:
    """A pixel at the end of the stock's curve; the reference itself has no companion and no ink line."""
    accent = np.array([int(CHART_STYLE["--accent"][0][at : at + 2], 16) for at in (1, 3, 5)])

    def count(card: Card) -> tuple[int, int]:
        box = layout_of(card, with_view=False).curve
        assert box is not None
        inside = (box[0], box[1], box[2], box[3] - 8)
        pixels = np.asarray(open_card(draw_card(card, None)).crop(inside), dtype=np.int64)
        return int((np.abs(pixels - accent).max(axis=2) < 40).sum()), int((pixels.max(axis=2) < 60).sum())

    both, alone = count(make_card()), count(make_card(reference=None))

    assert both[0] > 800
    assert alone[0] > 800
    assert both[1] > 200
    assert alone[1] == 0


def test_grain_is_shown_pixel_for_pixel() -> None:
    """The middle of a 1:1 view stands in the card, to what JPEG does to noise.

    White noise of 20 codes, the worst for it, comes back to 4 on average; a pixel aside it would be off by 22.
    """
    view = make_view("PNG", (640, 480))
    card = make_card()
    box = layout_of(card, with_view=True).view
    assert box is not None
    width, height = box[2] - box[0], box[3] - box[1]
    left, top = (640 - width) // 2, (480 - height) // 2
    expected = np.asarray(Image.open(io.BytesIO(view)).crop((left, top, left + width, top + height)), dtype=np.float64)

    seen = np.asarray(open_card(draw_card(card, view)).convert("L").crop(box), dtype=np.float64)

    assert np.abs(expected - seen).mean() < 5


def test_a_view_of_another_shape_lies_whole_on_the_neutral_surround() -> None:
    """A panorama keeps its shape; above and below it is the grey of the pages' surround."""
    card = make_card()
    box = layout_of(card, with_view=True).view
    assert box is not None

    picture = open_card(draw_card(card, make_view("WEBP", (900, 200)))).convert("L")

    assert abs(int(picture.getpixel(((box[0] + box[2]) // 2, box[1] + 20))) - 118) <= 1  # type: ignore[arg-type]
