"""The plates of Experiments 21 and 22, measured from the folder of readings beside this file.

Source: F. Hurter and V. C. Driffield, "Photo-chemical investigations and a new method of determination of the
sensitiveness of photographic plates", J. Soc. Chem. Ind. 9(5), 31 May 1890, 455-469. The tables and the results quoted
below were seen in one modern transcription only, which calls them the authors' printed tables; they were not checked
against the 1890 print. Exposures are in candle-metre-seconds, taken as lux seconds; densities are net, the fog strip
subtracted by the authors, which the folder states as a base of 0.000.
"""

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from basefog.judge import find_findings
from basefog.measure.asked import Terms
from basefog.measure.curve_fit import FittedCurve, fit_test_curve
from basefog.measure.curve_measures import tabulate_curve
from basefog.read import read_series
from basefog.records.content import FloatArray, Series
from basefog.records.findings import Findings

FOLDER = Path(__file__).parent / "series"
SLOW, FAST, TEST = "experiment-21", "experiment-22", "1890-05-31"

EXPERIMENT_21 = {
    0.625: 0.045,
    1.25: 0.055,
    2.5: 0.085,
    5: 0.175,
    10: 0.250,
    20: 0.460,
    40: 0.755,
    80: 1.010,
    160: 1.270,
    320: 1.555,
    640: 1.885,
    1280: 2.088,
    2560: 2.262,
    5120: 2.352,
}
"""Exposure in candle-metre-seconds, net density."""


@pytest.fixture(scope="module")
def series() -> Series:
    reading = read_series(FOLDER)
    assert reading.problems == ()
    assert reading.series is not None
    return reading.series


@pytest.fixture(scope="module")
def findings(series: Series) -> Findings:
    return find_findings(series, {})


def curve_of(series: Series, slug: str) -> FittedCurve:
    curve = fit_test_curve(series.stock(slug).test(TEST), Terms.of(series))
    assert isinstance(curve, FittedCurve)
    return curve


def readings_of(series: Series, slug: str) -> tuple[FloatArray, FloatArray]:
    """Return log exposures and densities of a plate."""
    wedge = series.stock(slug).test(TEST).wedge
    assert wedge is not None
    return (
        np.array([step.log_exposure for step in wedge.steps]),
        np.array([step.readings[0] for step in wedge.steps]),
    )


def find_inertia(log_exposure: FloatArray, density: FloatArray) -> tuple[float, float]:
    """Return the slope of the least-squares line and the exposure at which it meets density zero."""
    slope, level = np.polyfit(log_exposure, density, 1)
    return float(slope), float(10 ** (-level / slope))


def test_the_folder_holds_the_printed_table(series: Series) -> None:
    """Every pair is read as typed, with the exposures' logarithms rounded to six digits."""
    log_exposure, density = readings_of(series, SLOW)

    assert 10**log_exposure == pytest.approx(np.array(list(EXPERIMENT_21)), rel=2e-6)
    assert density.tolist() == list(EXPERIMENT_21.values())


def test_straight_part_of_experiment_21(series: Series) -> None:
    """Printed: inertia 6.12, speed 34/i = 5.6, slope 0.89 to 0.91; the fitted curve's line over 40 to 1280 has them.

    The slope and 34/i may be the transcriber's arithmetic; 6.12 is given as a fact of the experiment. The range is
    chosen after the fact, of seven tried: hence 4 % for the inertia.
    """
    curve = curve_of(series, SLOW)
    places = np.log10([40.0, 80.0, 160.0, 320.0, 640.0, 1280.0])

    slope, inertia = find_inertia(places, curve.densities_at(places)[0])

    assert 0.88 <= slope <= 0.93
    assert inertia == pytest.approx(6.12, rel=0.04)
    assert 34 / inertia == pytest.approx(5.6, abs=0.2)


def test_gamma_and_inertia_of_experiment_21_as_measured_here(series: Series, findings: Findings) -> None:
    """The program picks its own straight part; over all ranges tried the slope runs 0.884 to 0.932, and so may gamma.

    Inertia: the straight part is where the curve is at least 0.9 as steep as gamma. Over the same ranges the inertia
    runs from 7 % below 6.12 to 6.5 % above: 8 % are allowed.
    """
    gamma = findings.of(SLOW, TEST).measures["gamma"]
    assert gamma.value is not None
    assert gamma.low is not None
    assert gamma.high is not None
    curve = tabulate_curve(curve_of(series, SLOW))
    straight = curve.gradient >= 0.9 * gamma.value

    _, inertia = find_inertia(curve.log_exposure[straight], curve.density[straight])

    assert 0.88 <= gamma.value <= 0.94
    assert gamma.low <= 0.90 <= gamma.high
    assert inertia == pytest.approx(6.12, rel=0.08)


def test_experiment_21_is_still_rising_at_its_end(series: Series) -> None:
    """The top density, 2.352, is "still rising": from the last reading but one the curve gains about 0.09."""
    curve = curve_of(series, SLOW)

    gain = float(curve.density[0, -1] - curve.density_at(math.log10(2560))[0])

    # Each of the two densities is fitted to within the 0.02 by which the readings scatter.
    assert gain == pytest.approx(2.352 - 2.262, abs=0.03)


def test_chord_of_the_fitted_curve_of_experiment_22(series: Series) -> None:
    """From 64 to 2048 the readings' chord is 1.1760; the fitted curve's is that within the readings' scatter."""
    curve = curve_of(series, FAST)
    rise = curve.density_at(math.log10(2048)) - curve.density_at(math.log10(64))

    # Two readings with 0.02 each over 1.505: 0.019.
    assert float(rise[0]) / math.log10(2048 / 64) == pytest.approx(1.176, abs=0.02)


def test_the_faster_plate_is_faster(findings: Findings) -> None:
    """By inertia Experiment 22 is 8.96 / 5.6, 0.7 stop faster; by the speed point the interval holds that."""
    stops = findings.of(FAST, TEST).measures["speed_from_reference"]

    assert stops.low is not None
    assert stops.high is not None
    assert stops.low <= math.log2(8.96 / 5.6) <= stops.high
    assert stops.low > 0


@pytest.mark.parametrize("slug", [SLOW, FAST])
def test_readings_rise_and_a_monotone_interpolant_agrees(series: Series, slug: str) -> None:
    """A shape-preserving cubic passes through all 14 points; the fitted curve keeps near it."""
    log_exposure, density = readings_of(series, slug)
    curve = curve_of(series, slug)
    interpolant = PchipInterpolator(log_exposure, density)(curve.log_exposure)

    assert (np.diff(density) > 0).all()
    assert (np.diff(curve.density[0]) >= 0).all()
    # Three times the 0.02 of one reading; Experiment 22 has a few rougher ones.
    assert np.abs(curve.density[0] - interpolant).max() < 0.06
