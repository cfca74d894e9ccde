"""From the meter to the film: where a metered grey falls above the speed point.

Source: the appendix of the American meter standard (ANSI PH3.49, letter from memory) as worked in a public discussion,
seen there: N = 16, t = 1/125, K = 12.5 gives a luminance of 3200 cd/m2 and an image illuminance "around 8.12" lx, hence
0.065 lx s; 0.0064 lx s at the speed point of a film of 125, and 0.064 one log unit above it. ISO 2720:1974 recommends K
10.6 to 13.4. q = 0.65 is derived from the 8.12.
"""

import math

import pytest

from basefog.measure.contrast import TONES
from basefog.measure.speed import compute_speed

SPEED, F_NUMBER, TIME_S, CALIBRATION, LENS = 125.0, 16.0, 1 / 125, 12.5, 0.65


def test_exposure_at_the_film() -> None:
    """H = q L t / N^2 with L = K N^2 / (S t): the published 0.065, derived 0.0650 to its last digit."""
    luminance = CALIBRATION * F_NUMBER**2 / (SPEED * TIME_S)

    assert luminance == pytest.approx(3200.0)
    assert LENS * luminance / F_NUMBER**2 == pytest.approx(8.12, abs=0.01)
    assert LENS * luminance * TIME_S / F_NUMBER**2 == pytest.approx(0.0650, abs=0.00005)


def test_metered_grey_above_the_speed_point() -> None:
    """Published: one log unit above the speed point; derived 1.007, which lies in the middle of the tone ranges."""
    speed_point = math.log10(0.80 / SPEED)
    metered = math.log10(LENS * CALIBRATION / SPEED)
    start, stop = TONES["middle_gradient"]

    assert float(compute_speed(speed_point)) == pytest.approx(SPEED)
    assert metered - speed_point == pytest.approx(1.007, abs=0.0005)
    assert start < metered - speed_point < stop
    assert metered - speed_point == pytest.approx((start + stop) / 2, abs=0.01)
