"""Step wedges: the factor of a step, and how well a calibrated one is known.

Sources: a step of 0.15 as "a factor about 1.41", seen in a secondary place. NIST SP 250-99 (Zarobila, Vest and Nadal,
2022), abstract seen: transmission densities up to 4 with an expanded uncertainty (k = 2) of 0.006.
"""

import numpy as np
import pytest

from basefog.measure.contrast import find_average_gradient
from basefog.measure.curve_fit import FittedCurve, fit_curve
from measure.wedge_films import BASE, STEPS, steps_of, toe


def test_factor_of_a_step() -> None:
    """10^0.15 = 1.4125, the published 1.41; 21 such steps span three log units."""
    assert np.power(10.0, 0.15) == pytest.approx(1.4125, abs=0.0001)
    assert np.diff(STEPS) == pytest.approx(np.full(20, 0.15))


def test_a_calibration_of_that_quality_hardly_widens_an_interval() -> None:
    """An error of 0.003 moves a reading by less than 0.003 x gradient: beside 0.01 a reading it adds two per cent.

    From 600 draws a spread is known to 3 %, but both curves use the same draws, whose error cancels.
    """
    spread = []
    for u_log_exposure in (0.0, 0.006 / 2):
        curve = fit_curve(
            steps_of(toe(), u_log_exposure=u_log_exposure),
            (BASE,),
            repeatability=0.01,
            key="tern-100/2026-03-14",
            absolute=True,
            axis="contact-21",
        )
        assert isinstance(curve, FittedCurve)
        spread.append(float(np.std(find_average_gradient(curve)[1:])))

    assert 1.0 < spread[1] / spread[0] < 1.03
