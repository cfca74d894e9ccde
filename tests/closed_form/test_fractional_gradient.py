"""The fractional gradient point on rounded toes: the curve's gradient, not only its density, is right.

The criterion is that of L. A. Jones (J. Franklin Inst. 1939; American Standard Z38.2.1-1947), seen in a secondary
place: the point whose gradient is 0.3 of the mean gradient over the 1.5 log units to its right. The distances below are
mathematics: for D = g w ln(1 + exp(x / w)), solved to 0.001.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from basefog.measure.speed import find_speed_point
from measure.wedge_films import fit, toe

WORKED = [(0.7, 0.15, 0.227), (0.6, 0.10, 0.243), (0.5, 0.20, 0.335)]
"""Gradient g, width w, log units by which the 0.3 point lies left of the net 0.10 point."""


@pytest.mark.parametrize(("gradient", "width", "distance"), WORKED)
def test_distance_from_the_speed_point(gradient: float, width: float, distance: float) -> None:
    """The fitted curve's own gradients give the distance; 0.002 is asked of the formula, 0.006 more of the fit."""
    curve = fit(toe(gradient, width, -2.2), repeatability=0.0005)
    # The published gradient is a mean over 0.30, which rounds the toe; the criterion asks for the slope at a point.
    slope = np.gradient(curve.density[0], curve.log_exposure)

    def excess(place: float) -> float:
        density = curve.densities_at(np.array([place, place + 1.5]))[0]
        return float(np.interp(place, curve.log_exposure, slope) - 0.3 * (density[1] - density[0]) / 1.5)

    found = brentq(excess, -2.9, -1.9)

    # The toes turn within one step of 0.15: between the steps a gradient of 0.2 is off by up to 0.005.
    assert float(find_speed_point(curve)[0]) - found == pytest.approx(distance, abs=0.008)
