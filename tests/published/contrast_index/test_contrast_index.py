"""Contrast index by its construction.

Source: C. J. Niederpruem, C. N. Nelson and J. A. C. Yule, Phot. Sci. Eng. 10 (1966) 35 (pages from memory). The
construction, a line from the base-plus-fog level that cuts the curve 0.2 and again 2.2 along itself on equal axes, was
seen in secondary places. The points below are derived from it.
"""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from basefog.measure.contrast import measure_contrast_index
from measure.bench_content import make_curve
from measure.wedge_films import fit, straight

ORIGIN = -2.3
INNER, OUTER = (0.17150, 0.10290), (1.88648, 1.13189)
"""Log units and net density from the origin, for a slope of 0.6."""


def test_any_curve_through_the_two_points() -> None:
    """A curve through both points that meets the line nowhere else has the index 0.600."""
    through = PchipInterpolator(
        np.array([-3.0, ORIGIN, ORIGIN + INNER[0], ORIGIN + 1.0, ORIGIN + OUTER[0], 0.2]),
        np.array([0.0, 0.03, INNER[1], 0.70, OUTER[1], 1.40]),
    )

    # The points are given to five digits; 0.001 is asked.
    found = measure_contrast_index(make_curve(through, first=-3.0, last=0.2))

    assert found.value == pytest.approx(0.600, abs=0.001)


@pytest.mark.parametrize("slope", [0.35, 0.56, 0.6, 0.75])
def test_straight_line_from_the_base(slope: float) -> None:
    """Its index is its slope, from readings as from the curve itself."""
    assert measure_contrast_index(fit(straight(slope, -2.9))).value == pytest.approx(slope, abs=1e-6)


def test_the_chord_is_two_long_along_the_line() -> None:
    """Not along the log exposure axis: for 0.6 the run is 2.0 cos(atan 0.6) = 1.7150."""
    assert OUTER[0] - INNER[0] == pytest.approx(2.0 * np.cos(np.arctan(0.6)), abs=0.0001)
