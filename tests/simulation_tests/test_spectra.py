"""The simulated light, eye and sensitisings against the standards' tables."""

import numpy as np
import pytest

from simulation.spectra import (
    EYE,
    REFLECTANCES,
    TUNGSTEN,
    WAVELENGTH_NM,
    Sensitivity,
    compute_eye_reflectance,
    compute_film_reflectance,
)
from simulation.truths import FILMS

# CIE illuminant A by 20 nm from 400 nm, as carried by the colour-science package 0.4.7 (BSD-3-Clause).
ILLUMINANT_A_20_NM = [14.708, 20.995, 28.703, 37.812, 48.242, 59.861, 72.496, 85.947]
ILLUMINANT_A_20_NM += [100.0, 114.436, 129.043, 143.618, 157.979, 171.963, 185.429, 198.261]


def test_tungsten_is_illuminant_a() -> None:
    """The closed formula gives the CIE table to half its last digit and the formula's known 0.0005."""
    assert WAVELENGTH_NM[::2][0] == 400.0
    assert TUNGSTEN[::2] == pytest.approx(ILLUMINANT_A_20_NM, abs=0.001)


def test_the_eye_sums_to_the_photopic_total() -> None:
    """Ten-nanometre sums of V(lambda) come to the 1 nm total of 106.856 over ten, but for what lies beyond 700."""
    assert float(EYE.sum()) == pytest.approx(10.6856, abs=0.005)


@pytest.mark.parametrize("slug", sorted(FILMS))
def test_a_grey_is_the_same_grey_to_every_film(slug: str) -> None:
    """A neutral keeps its reflectance whatever the sensitising."""
    assert compute_film_reflectance("grey", FILMS[slug].sensitivity) == pytest.approx(0.18, abs=1e-12)


def test_the_film_weak_in_red_sees_red_dark() -> None:
    """The film sold as nearly blind to red sees the red patch more than a stop darker than the eye does."""
    red = compute_film_reflectance("red", FILMS["fennick-80"].sensitivity)

    assert np.log2(red / compute_eye_reflectance("red")) < -1.0


def test_an_eye_like_film_would_agree_with_the_eye() -> None:
    """A sensitivity peaked where the eye's is brings every patch within a third of a stop of the eye."""
    film = Sensitivity(blue=0.0, green=1.0, red=0.36)
    differ = [np.log2(compute_film_reflectance(p, film) / compute_eye_reflectance(p)) for p in REFLECTANCES]

    assert np.abs(differ).max() < 0.35
