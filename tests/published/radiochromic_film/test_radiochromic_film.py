"""A film measured by others: net density against dose, two pieces a dose, three channels.

Source: SOURCES.md beside this file. Radiochromic film is no silver film, but its densities are readings of a smooth
rising curve with replicates, and nobody here made them up.
"""

import csv
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.measure.noise import pool_reading_error
from basefog.records.content import FloatArray, StepReadings
from basefog.records.problem import Place

TABLE = Path(__file__).with_name("net_density_vs_dose.csv")
CHANNELS = ("netOD_red", "netOD_green", "netOD_blue")
REPEATABILITY = 0.006
"""About the scatter of the two pieces of a dose, red channel: see the first test."""


def read_channel(channel: str) -> dict[float, list[float]]:
    """Return the net densities of each dose in gray, ascending, without the unexposed piece."""
    by_dose: dict[float, list[float]] = defaultdict(list)
    with TABLE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            by_dose[float(row["dose_Gy"])].append(float(row[channel]))
    return {dose: by_dose[dose] for dose in sorted(by_dose) if dose > 0}


def fit_channel(channel: str) -> tuple[FittedCurve, FloatArray, FloatArray]:
    """Return the fitted curve with the log doses and the mean densities it was fitted to."""
    readings = read_channel(channel)
    steps = [
        StepReadings(
            step=str(dose),
            log_exposure=float(np.log10(dose)),
            u_log_exposure=0.0,
            readings=tuple(sorted(densities)),
            place=Place(path=TABLE.name),
        )
        for dose, densities in readings.items()
    ]
    curve = fit_curve(
        steps, (0.0,), repeatability=REPEATABILITY, key=f"radiochromic/{channel}", absolute=False, axis="dose"
    )
    assert isinstance(curve, FittedCurve)
    return curve, np.log10(list(readings)), np.array([np.mean(densities) for densities in readings.values()])


def test_the_pieces_of_a_dose_scatter_as_stated_here() -> None:
    """Ten doses, two pieces each: a repeatability stated as large as the pairs scatter is confirmed, and is 0.006."""
    pairs = list(read_channel("netOD_red").values())
    scatter = float(np.sqrt(np.mean([np.var(pair, ddof=1) for pair in pairs])))

    assert [len(pair) for pair in pairs] == [2] * 10
    assert pool_reading_error(pairs, scatter) == pytest.approx(scatter, rel=1e-12)
    # Ten pairs tell a standard deviation to a quarter; the stated figure has one digit.
    assert pool_reading_error(pairs, REPEATABILITY) == pytest.approx(REPEATABILITY, rel=0.15)


@pytest.mark.parametrize("channel", CHANNELS)
def test_curve_rises_and_keeps_to_the_measured_means(channel: str) -> None:
    """Every mean lies within three of its errors of the curve, and the curve never falls."""
    curve, log_dose, means = fit_channel(channel)

    fitted = curve.densities_at(log_dose)[0]

    assert (np.diff(curve.density, axis=1) >= 0).all()
    assert np.abs(fitted - means).max() < 3 * REPEATABILITY / np.sqrt(2)


@pytest.mark.parametrize("channel", CHANNELS)
def test_between_the_doses_a_monotone_interpolant_agrees(channel: str) -> None:
    """An independent curve through the same means differs by no more than a mean's 95 % interval and the doses' gap."""
    curve, log_dose, means = fit_channel(channel)
    interpolant = PchipInterpolator(log_dose, means)(curve.log_exposure)

    assert np.abs(curve.density[0] - interpolant).max() < 0.012


@pytest.mark.parametrize("channel", CHANNELS)
def test_a_dose_left_out_is_foretold(channel: str) -> None:
    """Without the pieces of 8 Gy, their mean is within the curve's interval there, widened by their own error."""
    readings = read_channel(channel)
    steps = [
        StepReadings(
            step=str(dose),
            log_exposure=float(np.log10(dose)),
            u_log_exposure=0.0,
            readings=tuple(sorted(densities)),
            place=Place(path=TABLE.name),
        )
        for dose, densities in readings.items()
        if dose != 8
    ]
    curve = fit_curve(steps, (0.0,), repeatability=REPEATABILITY, key="radiochromic", absolute=False, axis="dose")
    assert isinstance(curve, FittedCurve)

    draws = curve.density_at(float(np.log10(8)))

    allowed = 3 * np.hypot(draws[1:].std(), REPEATABILITY / np.sqrt(2))
    assert abs(float(draws[0]) - np.mean(readings[8.0])) < allowed
