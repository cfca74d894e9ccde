"""The demo's scans against the simulation that made them: it knows every film's grain and sharpness."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from basefog.measure import measure_series
from basefog.picture import register_series
from basefog.picture.texture import measure_scans
from basefog.read import read_series
from basefog.records.findings import Findings
from simulation.expected import compute_expected
from simulation.grain import compute_scatter
from simulation.truths import TESTS, TestTruth

CONTENT = Path(__file__).parents[3] / "content"
SCANNED = [test for test in TESTS if test.negative]


@cache
def found() -> Findings:
    reading = read_series(CONTENT)
    assert reading.series is not None
    series = register_series(reading.series, CONTENT)
    return measure_scans(series, measure_series(series), CONTENT)


@pytest.mark.parametrize("truth", SCANNED, ids=lambda truth: truth.stock)
def test_granularity_is_true(truth: TestTruth) -> None:
    """Every film's granularity is what it was grown with at that density, within 6 %.

    The invented scanner takes the density of points, not of squares; the aperture divides the squares out all the
    same, which makes 2 to 4 %. The rest is sampling.
    """
    grain = found().tests[truth.key].measures["rms_granularity"]
    aim = compute_expected(truth).rms_granularity
    assert grain.value is not None, grain.why
    assert grain.at_density is not None
    assert aim is not None

    assert grain.value == pytest.approx(aim * float(compute_scatter(np.array([grain.at_density]))[0]), rel=0.06)


def test_finer_films_are_told_from_coarser_ones() -> None:
    """The order of the films by granularity is the true one, where they differ by more than a tenth."""
    measured = {test.key: found().tests[test.key].measures["rms_granularity"].value or 0.0 for test in SCANNED}
    wrong = [
        (finer.key, coarser.key)
        for finer in SCANNED
        for coarser in SCANNED
        if finer.film.granularity * 1.1 < coarser.film.granularity and measured[finer.key] >= measured[coarser.key]
    ]

    assert wrong == []
    assert {test.reference for test in found().tests.values()} == {"corvane-200/2026-03-07"}


def test_every_film_has_a_spectrum_and_a_response() -> None:
    """Where there is a negative, the curves are there; where there is none, they are not."""
    for test in TESTS:
        findings = found().tests[test.key]

        assert (findings.spectrum is not None) == test.negative
        assert (findings.edge_response is not None) == test.negative
