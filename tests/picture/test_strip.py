"""The emblem: wedge steps as greys on a light table."""

import io
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image

from basefog.picture import compute_strip_greys, stack_strips
from basefog.picture.strip import grey_of_density
from picture.samples import make_curve


def test_a_strip_darkens_with_exposure() -> None:
    """A negative's densest step is its darkest grey, and greys never rise."""
    greys = compute_strip_greys(make_curve())

    assert len(greys) == 21
    assert all(first >= second for first, second in pairwise(greys))
    assert greys[0] > greys[-1]


def test_the_same_density_is_the_same_grey_in_every_strip() -> None:
    """Nothing is stretched: strips of two stocks compare by eye."""
    curve = make_curve()
    half = make_curve(last=-1.65)

    assert compute_strip_greys(half) == compute_strip_greys(curve)[:11]


def test_greys_are_transmittance_in_srgb() -> None:
    """Decoded by IEC 61966-2-1 (constants from memory), a grey gives back the density within half a level."""
    for density in np.linspace(0.0, 2.0, 41):
        level = grey_of_density(float(density))
        encoded = np.array([level - 0.5, level + 0.5]) / 255
        dark, light = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
        assert dark - 1e-9 <= 10.0**-density <= light + 1e-9


def test_given_steps_are_taken_and_none_beyond_the_curve() -> None:
    """Steps come in the order of exposure; where no density is known there is no step."""
    curve = make_curve()

    assert compute_strip_greys(curve, [-1.0, -2.0]) == compute_strip_greys(curve, [-2.0, -1.0, 0.5, -9.0])


@pytest.mark.parametrize("density", [-0.02, 0.0])
def test_no_grey_is_whiter_than_the_table(density: float) -> None:
    """A reading below zero, within its error, is the bare table."""
    assert grey_of_density(density) == 255


def test_many_strips_are_one_picture() -> None:
    """Each strip is a row of pixels, one a step; a shorter one ends in white, as the bare table is."""
    with Image.open(io.BytesIO(stack_strips([(200, 100, 7), (9,)]))) as picture:
        rows = np.asarray(picture).tolist()

    assert rows == [[200, 100, 7], [9, 255, 255]]
    with pytest.raises(ValueError, match="none has a step"):
        stack_strips([()])
