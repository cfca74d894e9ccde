"""Contrast index by its construction.

Source: C. J. Niederpruem, C. N. Nelson and J. A. C. Yule, Phot. Sci. Eng. 10 (1966), of which the construction was seen
in secondary places: a line from the base-plus-fog level that cuts the curve 0.2 and again 2.2 along itself, on equal
axes. Its slope is the index.
"""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from basefog.measure.contrast import measure_contrast_index
from measure.bench_content import make_curve
from measure.wedge_films import fit, straight

ORIGIN = -2.3
ALONG = np.array([0.2, 2.2])
"""Distances along the line at which it cuts the curve, log units."""


@pytest.mark.parametrize("slope", [0.45, 0.6, 0.7])
def test_any_curve_through_the_two_points(slope: float) -> None:
    """A curve bulging above the line between the two points and flat outside them has the line's slope as its index."""
    angle = np.arctan(slope)
    run, rise = ALONG * np.cos(angle), ALONG * np.sin(angle)
    through = PchipInterpolator(
        np.array([-3.0, ORIGIN, ORIGIN + run[0], ORIGIN + run.mean(), ORIGIN + run[1], 0.2]),
        np.array([0.0, rise[0] / 3, rise[0], rise.mean() + 0.10, rise[1], rise[1] + 0.2]),
    )

    found = measure_contrast_index(make_curve(through, first=-3.0, last=0.2))

    # The grid's points are 0.008 apart, and the curve bends between them.
    assert found.value == pytest.approx(slope, abs=0.001)


@pytest.mark.parametrize("slope", [0.35, 0.56, 0.6, 0.75])
def test_straight_line_from_the_base(slope: float) -> None:
    """Its index is its slope, from readings as from the curve itself."""
    assert measure_contrast_index(fit(straight(slope, -2.9))).value == pytest.approx(slope, abs=1e-6)
