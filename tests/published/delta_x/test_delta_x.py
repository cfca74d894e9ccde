"""The delta X parabola, which brings a speed at a fixed density to the fractional gradient's.

Source: C. N. Nelson and J. L. Simonds, J. Opt. Soc. Am. 46(5), May 1956. dX = 0.83 - 0.86 dD + 0.24
dD^2 and "0.296 whenever dD = 0.80" were seen in secondary places. The paper's abstract was seen: its second method uses
"the density resulting from an exposure equal to twenty times" that of the 0.1 point. The table below was worked out
from the formula by hand. The parabola is an empirical fit, so that it is held to its own numbers only.
"""

import math

import numpy as np
import pytest

from basefog.measure.contrast import measure_average_gradient
from basefog.measure.speed import compute_delta_x, measure_contrast_corrected_speed
from measure.bench_content import make_curve
from measure.wedge_films import fit, straight

TABLE = {
    0.50: (0.4600, 1.460, +0.546),
    0.60: (0.4004, 1.273, +0.348),
    0.70: (0.3456, 1.122, +0.166),
    0.80: (0.2956, 1.000, 0.0),
    0.90: (0.2504, 0.901, -0.150),
    1.00: (0.2100, 0.821, -0.284),
    1.10: (0.1744, 0.757, -0.403),
    1.20: (0.1436, 0.705, -0.505),
}
"""dD: dX, the speed over that at a fixed density, and the same in stops."""


@pytest.mark.parametrize("rise", TABLE)
def test_parabola(rise: float) -> None:
    """The formula's own numbers, exactly; the ratios as printed, to half their last digit."""
    delta_x, ratio, stops = TABLE[rise]

    found = float(compute_delta_x(rise))

    assert found == pytest.approx(delta_x, abs=1e-9)
    assert 10 ** (found - 0.2956) == pytest.approx(ratio, abs=0.0006)
    assert math.log2(10 ** (found - 0.2956)) == pytest.approx(stops, abs=0.0006)


def test_the_second_density_is_that_of_twenty_times_the_exposure() -> None:
    """The rise that the correction goes by is the rise over twenty times the exposure at the speed point.

    A film of gradient 0.60 that turns level one log unit above its speed point rises by 0.60 and no more: that over the
    average gradient is the run that was taken. Published: log10 20 = 1.301, which ISO 6 has as 1.30.
    """
    place = -1.0
    curve = make_curve(lambda x: 0.10 + 0.60 * np.minimum(x - place, 1.0))

    average = measure_average_gradient(curve).value

    assert average is not None
    assert 0.60 / average == pytest.approx(math.log10(20), abs=0.0015)


def test_delta_x_at_the_standard_rise() -> None:
    """The quoted 0.296 at a rise of 0.80: half its last digit."""
    assert float(compute_delta_x(0.80)) == pytest.approx(0.296, abs=0.0005)


@pytest.mark.parametrize("rise", [0.60, 0.70, 0.90, 1.00])
def test_a_measured_speed_is_corrected_by_the_table(rise: float) -> None:
    """A straight film whose speed point is at 0.008 lux seconds has 100 times the table's ratio."""
    gradient = rise / 1.30
    curve = fit(straight(gradient, math.log10(0.008) - 0.10 / gradient))

    assert measure_contrast_corrected_speed(curve).value == pytest.approx(100 * TABLE[rise][1], abs=0.06)
