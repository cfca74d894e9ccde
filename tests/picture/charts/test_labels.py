"""Places for words: estimates on the wide side, and no two words in one place."""

import string

import pytest

from basefog.picture.charts.labels import Room, Spot, estimate_width_px, shorten, wrap
from picture.charts.drawing import text_width_px


@pytest.mark.parametrize("letter", [*string.ascii_letters, *string.digits, *"−+.,()·:/ &-'"])
def test_no_letter_is_taken_for_narrower_than_it_is(letter: str) -> None:
    """Each letter's estimate is at least its width in DejaVu Sans, a wide system face, to a hundredth of an em."""
    assert estimate_width_px(letter * 10, 10.0) >= text_width_px(letter * 10, 10.0) - 1.0


def test_estimates_are_not_wild() -> None:
    """Words of the charts come out between their true width in DejaVu Sans and a tenth more."""
    for words in ("base plus fog", "speed point", "log exposure (log10 lux s)", "Tern 100", "−2.19"):
        true_px = text_width_px(words, 14.0)
        assert true_px <= estimate_width_px(words, 14.0) <= 1.1 * true_px


def test_a_short_name_stays_and_a_long_one_ends_in_an_ellipsis() -> None:
    """Names are cut to the room they have and never lose their beginning."""
    assert shorten("Tern 100", 14.0, 120.0) == "Tern 100"
    cut = shorten("Heron & Daughters copying film", 14.0, 120.0)
    assert cut.startswith("Heron")
    assert cut.endswith("…")
    assert estimate_width_px(cut, 14.0) <= 120.0


def test_sentences_are_broken_at_blanks() -> None:
    """Lines keep to their width and hold all words in order."""
    sentence = "Marl 400 is moved along until the speed points meet: the two have no exposure scale in common."
    lines = wrap(sentence, 13.0, 300.0)

    assert " ".join(lines) == sentence
    assert len(lines) > 1
    assert all(estimate_width_px(line, 13.0) <= 300.0 for line in lines)


def test_a_place_once_taken_is_not_given_again() -> None:
    """The first free spot is taken; the next label gets the next; a full room gives none."""
    room = Room((0, 0, 100, 20), width_px=100, height_px=20)
    spots = [Spot(x_px=2, y_px=15), Spot(x_px=50, y_px=15), Spot(x_px=98, y_px=15, anchor="end")]

    assert room.place(spots, width_px=40, size_px=10) == spots[0]
    assert room.place(spots, width_px=40, size_px=10) == spots[1]
    assert room.place(spots, width_px=40, size_px=10) is None


def test_a_line_keeps_labels_off() -> None:
    """A spot across a line is not free, one beside it is."""
    room = Room((0, 0, 200, 200), width_px=200, height_px=200)
    room.take_line([(0, 100), (200, 100)])

    assert not room.is_free(Spot(x_px=20, y_px=103).box(60, 14))
    assert room.is_free(Spot(x_px=20, y_px=90).box(60, 14))
