"""The useful log exposure range of paper, and the 90 % of black that a negative's base plus fog is printed to.

Source: The Focal Encyclopedia of Photography, 4th edition, p. 679: useful shadow density is 90 % of the maximum
density, useful highlight density 0.04 above base plus fog, the useful log exposure range lies between them. That the
90 % is taken of the density as read is this project's own choice: the text seen doesn't say.
"""

import numpy as np
import pytest

from basefog.measure.tone_reproduction import PaperCurve, fit_paper, reproduce_tones
from basefog.records.content import FloatArray, Paper
from measure.bench_content import PLACE, make_curve

BASE, MAXIMUM, RANGE = 0.06, 2.10, 1.05
HIGHLIGHT, SHADOW = BASE + 0.04, 0.90 * MAXIMUM
SLOPE = (SHADOW - HIGHLIGHT) / RANGE


def straight_paper() -> PaperCurve:
    """Return a paper that runs straight from base to maximum, so that its useful range is 1.05."""
    sites = np.linspace(0.0, (MAXIMUM - BASE) / SLOPE, 25)
    paper = fit_paper(
        Paper(id="grade-2", log_exposure=sites, density=BASE + SLOPE * sites, place=PLACE), repeatability=0.01
    )
    assert isinstance(paper, PaperCurve)
    return paper


def test_useful_range_lies_between_the_two_aims() -> None:
    """From 0.04 above base to 90 % of black the paper's range is 1.05: 0.10 to 1.89 in density."""
    paper = straight_paper()
    highlight = float(np.interp(HIGHLIGHT, paper.density, paper.log_exposure))

    assert paper.density_at(np.array([paper.black_log_exposure]))[0] == pytest.approx(1.89, abs=1e-6)
    assert paper.black_log_exposure - highlight == pytest.approx(RANGE, abs=1e-6)


def test_negative_of_that_range_fills_the_paper() -> None:
    """A negative's tone 1.05 above base plus fog prints to the useful highlight where its base prints to the black."""

    def film(log_exposure: FloatArray) -> FloatArray:
        return np.asarray(0.10 + 0.60 * (np.asarray(log_exposure) + 1.0))

    curve = make_curve(film)
    # The speed point, 0.10 above base plus fog, is the zero of the subject's axis; 1.05 lies 0.95 / 0.60 above it.
    place = (RANGE - 0.10) / 0.60

    found = reproduce_tones(curve, straight_paper())

    assert found is not None
    assert np.interp(place, found.subject_log_luminance, found.print_density) == pytest.approx(HIGHLIGHT, abs=0.002)
