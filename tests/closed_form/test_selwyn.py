"""Selwyn's law: granularity times the square root of the aperture's area is constant where grain is far finer.

The law is E. W. H. Selwyn's (1935); the numbers are arithmetic. The 48 um aperture has the area of a square of
42.539 um, so that uncorrelated pixels of pitch p and deviation s give s p / 42.539.
"""

import math
from typing import Final

import numpy as np
import pytest

from basefog.picture.texture.apertures import average_through, measure_granularity
from basefog.records.content import FloatArray
from basefog.records.scan_figures import Granularity, NotSeen

SQUARE_UM: Final = 42.539
"""Side of the square that has the area of a circle of 48 um."""


def white(size: int, sigma: float) -> FloatArray:
    return np.asarray(np.random.default_rng(41).normal(1.0, sigma, (size, size)))


def test_white_noise_of_ten_um() -> None:
    """Pixels of 10 um that scatter by 0.040 scatter by 0.00940 through the aperture, within 3 % over 10,000 of them.

    At 10 um the aperture spans 4.8 pixels: the measure is refused, its arithmetic is not.
    """
    density = white(440, 0.040)

    assert 1000 * average_through(density, 4.8).std() == pytest.approx(9.403, rel=0.03)
    assert isinstance(measure_granularity(density, 10.0), NotSeen)


@pytest.mark.parametrize("pitch_um", [9.0, 6.0, 3.0])
def test_white_noise_at_other_pitches(pitch_um: float) -> None:
    """The same law at every pitch that is measured, within 3 %."""
    found = measure_granularity(white(420, 0.040), pitch_um)
    assert isinstance(found, Granularity)

    assert found.sigma == pytest.approx(0.040 * pitch_um / SQUARE_UM, rel=0.03)


def test_sigma_times_root_area_is_constant() -> None:
    """From 48 to 192 um the product stays within 4 %; doubling the diameter halves the deviation."""
    density = white(700, 0.040)
    products = []
    for aperture_um in (48.0, 96.0, 192.0):
        found = measure_granularity(density, 6.0, aperture_um)
        assert isinstance(found, Granularity)
        products.append(found.sigma * math.sqrt(math.pi) * aperture_um / 2)

    assert products == pytest.approx([0.040 * 6.0] * 3, rel=0.04)
