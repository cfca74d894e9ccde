"""Calibrated step tablets: how many steps they have, how dense these are, and how well that is known.

Source: the calibration service for transmission density of the National Institute of Standards and Technology, of whose
reports the abstracts were seen. SP 260-135 (O'Brian, Saunders, Parr and Early, 1998): SRM 1001 has 17 steps, SRM 1008
has 23, of densities from about 0.1 to 4. SP 250-99 (Zarobila, Vest and Nadal, 2022), which took their place: densities
up to 4 with an expanded uncertainty (k = 2) of 0.006. The steps' own densities were not seen: even ones stand in.
"""

from pathlib import Path

import numpy as np
import pytest

from basefog.measure.contrast import find_average_gradient
from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.records.content import FloatArray
from measure.wedge_films import BASE, steps_of, toe
from read.valid_series import read_with

STEPS_OF_TABLETS = (17, 23)
EXPANDED_UNCERTAINTY = 0.006


def tablet(densities: FloatArray) -> str:
    """Return a wedge's file, every step as uncertain as the service says."""
    rows = [f"{step},{density:.4f},{EXPANDED_UNCERTAINTY / 2}" for step, density in enumerate(densities, start=1)]
    return "\n".join(["step,density,u_density", *rows]) + "\n"


@pytest.mark.parametrize("count", STEPS_OF_TABLETS)
def test_a_tablet_is_read_as_calibrated(count: int, tmp_path: Path) -> None:
    """Nothing is wrong with such a tablet, and its standard uncertainties are half the expanded ones."""
    densities = np.linspace(0.1, 4.0, count)

    found = read_with(tmp_path, {"wedges/contact-7.csv": tablet(densities)})

    assert found.problems == ()
    assert found.series is not None
    wedge = found.series.wedges["contact-7"]
    assert wedge.u_density is not None
    assert wedge.density == pytest.approx(densities, abs=0.00005)
    assert wedge.u_density == pytest.approx(np.full(count, 0.003))


@pytest.mark.parametrize("count", STEPS_OF_TABLETS)
def test_a_tablet_with_two_steps_exchanged_is_refused(count: int, tmp_path: Path) -> None:
    """Densities of a tablet rise from step to step; where two are exchanged the file and its line are named."""
    densities = np.linspace(0.1, 4.0, count)
    densities[[8, 9]] = densities[[9, 8]]

    (problem,) = read_with(tmp_path, {"wedges/contact-7.csv": tablet(densities)}).problems

    assert (problem.path, problem.line) == ("wedges/contact-7.csv", 11)


def test_a_calibration_of_that_quality_hardly_widens_an_interval() -> None:
    """An error of 0.003 moves a reading by less than 0.003 x gradient: beside 0.01 a reading it adds two per cent.

    From 600 draws a spread is known to 3 %, but both curves use the same draws, whose error cancels.
    """
    spread = []
    for u_log_exposure in (0.0, EXPANDED_UNCERTAINTY / 2):
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
