"""Grey rendering of 24 colour patches by a film that sees exactly as the eye does (ISO 17321-1, CIE 1924).

Such a film renders every patch as light as it looks, so that its stops from grey are known from the patches'
reflectances alone: as densities printed in the names of the neutral patches, and as luminance factors under daylight
(D55) and tungsten (A). The film here has a soft toe and is read back through its own fitted curve.
"""

import csv
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from basefog.judge import compare, rule_of
from basefog.judge.patches import compare_with_eye
from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.measure.frames_fit import fit_frames
from basefog.measure.patch_stops import measure_patch_stops
from basefog.records.content import FloatArray, Patch, StepReadings
from basefog.records.findings import Comparison, Quantity
from measure.bench_content import PLACE, make_frames, make_test, soft_toe

HERE = Path(__file__).parent
GREY = "neutral 5 (.70 d)"
WAVELENGTHS_NM = np.arange(400, 701, 10)
REPEATABILITY = 0.001

PUBLISHED_DENSITY = {
    "white 9.5 (.05 d)": 0.05,
    "neutral 8 (.23 d)": 0.23,
    "neutral 6.5 (.44 d)": 0.44,
    "neutral 5 (.70 d)": 0.70,
    "neutral 3.5 (1.05 d)": 1.05,
    "black 2 (1.5 d)": 1.50,
}
"""Densities as printed in the names of the neutral patches."""

SHIFT_TO_TUNGSTEN = {
    "dark skin": 0.046,
    "light skin": 0.032,
    "blue sky": -0.030,
    "foliage": -0.010,
    "blue flower": -0.009,
    "bluish green": -0.040,
    "orange": 0.075,
    "purplish blue": -0.044,
    "moderate red": 0.090,
    "purple": 0.026,
    "yellow green": -0.003,
    "orange yellow": 0.051,
    "blue": -0.070,
    "green": -0.036,
    "red": 0.127,
    "yellow": 0.031,
    "magenta": 0.074,
    "cyan": -0.083,
    **dict.fromkeys(PUBLISHED_DENSITY, 0.0),
}
"""log10 of luminance factor under A less under D55, computed apart from this program from the same spectra."""


@cache
def read_table(name: str) -> dict[str, FloatArray]:
    """Return every column of a table at 400 to 700 nm by 10 nm, by its name."""
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    at_nm = {float(row["nm"]): row for row in rows}
    columns = [column for column in rows[0] if column != "nm"]
    return {column.lower(): np.array([float(at_nm[float(nm)][column]) for nm in WAVELENGTHS_NM]) for column in columns}


def luminance_factors(illuminant: str) -> dict[str, float]:
    """Return Y of every patch, 0 to 1: the film's exposure where it sees V(lambda)."""
    (power,) = read_table(f"illuminant_{illuminant}.csv").values()
    (eye,) = read_table("cie1924_photopic_V_1nm.csv").values()
    reflectances = read_table("iso17321-1_ohta_24_reflectance_380-780.csv")
    weights = power * eye / (power * eye).sum()
    return {patch: float((weights * reflectance).sum()) for patch, reflectance in reflectances.items()}


@cache
def photograph(illuminant: str) -> dict[str, Quantity]:
    """Return stops from grey of the 24 patches on an ideal film, without errors of reading."""
    density, key = soft_toe(0.62, 0.15), f"ideal-{illuminant.lower()}/2026-03-14"
    steps = [
        StepReadings(
            step=str(number),
            log_exposure=float(site),
            u_log_exposure=0.0,
            readings=(0.25 + float(density(site)),),
            place=PLACE,
        )
        for number, site in enumerate(-0.6 + 0.15 * np.arange(21))
    ]
    curve = fit_curve(steps, (0.25,), repeatability=REPEATABILITY, key=key, absolute=False, axis="contact-21")
    assert isinstance(curve, FittedCurve)
    factors = luminance_factors(illuminant)
    places = {patch: 1.2 + math.log10(factor / factors[GREY]) for patch, factor in factors.items()}
    frames = make_frames(lambda log_exposure: float(density(np.array(log_exposure))), places, stops=[0.0])
    fit = fit_frames(make_test(key, frames=frames), curve, grey_patch=GREY, repeatability=REPEATABILITY, quantum=0.0)
    return {patch: found.stops_from_grey for patch, found in measure_patch_stops(fit, tuple(factors)).items()}


def against_eye(illuminant: str) -> dict[str, Comparison]:
    """Return how the film renders every patch but the grey under a light, against the eye under D55."""
    patches = {
        patch: Patch(id=patch, name=patch, luminous_reflectance=y) for patch, y in luminance_factors("D55").items()
    }
    return {
        patch: compare_with_eye(rule_of(patch, None, firm=None), found, patches[patch], patches[GREY])
        for patch, found in photograph(illuminant).items()
        if patch != GREY
    }


@pytest.mark.parametrize("illuminant", ["D55", "A"])
@pytest.mark.parametrize(("patch", "density"), PUBLISHED_DENSITY.items())
def test_neutral_scale_comes_back(illuminant: str, patch: str, density: float) -> None:
    """The neutral patches stand as many stops from the middle one as their printed densities say.

    Tolerance: each printed density is rounded to 0.01 and was measured on another chart; 0.03 holds for both.
    """
    expected = (PUBLISHED_DENSITY[GREY] - density) / math.log10(2)

    found = photograph(illuminant)[patch]

    assert found.value == pytest.approx(expected, abs=0.03 / math.log10(2))


@pytest.mark.parametrize(("patch", "shift"), SHIFT_TO_TUNGSTEN.items())
def test_tungsten_renders_red_lighter_and_blue_darker(patch: str, shift: float) -> None:
    """From daylight to tungsten the patches move as their spectra say: red +0.127 log, cyan -0.083, blue -0.070.

    Tolerance: half a unit of the last digit, and 0.0015 for the neutral patch that both are counted from and for the
    curve's own fit.
    """
    if patch == GREY:
        return
    expected = shift / math.log10(2)

    found = compare(rule_of(patch, None, firm=None), photograph("A")[patch], photograph("D55")[patch])

    assert found.difference == pytest.approx(expected, abs=0.002 / math.log10(2))


def test_film_that_sees_as_the_eye_renders_as_the_eye() -> None:
    """Under the light that the reflectances were taken for, no patch is lighter or darker than it looks."""
    for found in against_eye("D55").values():
        assert found.difference == pytest.approx(0.0, abs=0.005)
        assert found.verdict == "no measurable difference"


def test_red_under_tungsten_is_seen_as_lighter() -> None:
    """The same film under tungsten renders red 0.42 stops lighter than the eye sees it by day, and that is told."""
    red = against_eye("A")["red"]

    assert red.verdict == "higher"
    assert red.difference == pytest.approx(0.127 / math.log10(2), abs=0.01)
