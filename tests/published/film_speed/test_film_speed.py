"""Film speed: the speed point, the contrast condition and the standard scale.

Source: ISO 6:1993, Photography - Black-and-white pictorial still camera negative film/process systems - Determination
of ISO speed. The rule (0.10 above base plus fog, 1.30 to its right 0.80 denser, S = 0.80 / H_m in lux seconds, rounded
to Table 1) was seen in secondary places, with the worked pair 125 for 0.0064 lux seconds; so was the scale in
arithmetic and degrees, from 10/11 up, with its rules that three degrees double a speed and twenty multiply it by a
hundred. The standard's own Table 1 was not seen.
"""

import math

import pytest

from basefog.measure.speed import (
    STANDARD_SPEEDS,
    compute_speed,
    measure_contrast_corrected_speed,
    measure_iso_speed,
    measure_speed_point,
    round_to_standard_speed,
)
from measure.wedge_films import fit, straight

SEEN = """
10/11 12/12 16/13 20/14 25/15 32/16 40/17 50/18 64/19 80/20 100/21 125/22 160/23 200/24 250/25 320/26 400/27 500/28
640/29 800/30 1000/31 1250/32 1600/33 2000/34 2500/35 3200/36 4000/37 5000/38 6400/39 8000/40 10000/41 12500/42
16000/43 20000/44
"""
PAIRS = [(float(pair.split("/")[0]), int(pair.split("/")[1])) for pair in SEEN.split()]


@pytest.mark.parametrize(("exposure", "speed"), [(0.0064, 125.0), (0.0080, 100.0)])
def test_speed_is_eighty_hundredths_over_the_exposure(exposure: float, speed: float) -> None:
    """The worked pair, 125 for 0.0064, and 100 for 0.0080 that follows from the formula: exact before rounding."""
    assert float(compute_speed(math.log10(exposure))) == pytest.approx(speed, abs=1e-9)


@pytest.mark.parametrize(("arithmetic", "degrees"), PAIRS)
def test_scale_in_arithmetic_and_degrees(arithmetic: float, degrees: int) -> None:
    """The speed of so many degrees, counted from 100/21 by twenty degrees to a factor of 100, rounds to its pair."""
    assert round_to_standard_speed(100.0 * 100.0 ** ((degrees - 21) / 20)) == arithmetic


@pytest.mark.parametrize(("arithmetic", "degrees"), PAIRS)
def test_bands_of_log_exposure(arithmetic: float, degrees: int) -> None:
    """Derived, as the standard's table was not seen: the band of d degrees is log 0.8 - (d - 1) / 10 +- 0.05.

    The scale's own numbers are rounded, by up to 0.021 in log (12 for 12.589), so that its borders lie up to half of
    that from the bands'. Inside by that much the two agree.
    """
    centre = math.log10(0.80) - (degrees - 1) / 10

    for offset in (-0.035, 0.0, 0.035):
        assert round_to_standard_speed(float(compute_speed(centre + offset))) == arithmetic


def test_doubling_the_speed_is_three_degrees() -> None:
    """Three steps up the scale double a speed, and twenty multiply it by a hundred."""
    for low, high in zip(STANDARD_SPEEDS[10:], STANDARD_SPEEDS[13:], strict=False):
        # The uneven steps, 32, 64, 125 and 12: within one part in 16 of a doubling.
        assert high / low == pytest.approx(2.0, rel=0.07)
    for low, high in zip(STANDARD_SPEEDS[20:], STANDARD_SPEEDS[40:], strict=False):
        assert high / low == 100


def test_geometry_of_the_contrast_condition() -> None:
    """Net D = 0.10 + (0.80 / 1.30)(log H - log 0.008) on 0.25: m at 0.35, n at 1.15, condition met, S = 100."""
    place = math.log10(0.008)
    curve = fit(straight(0.80 / 1.30, place - 0.10 * 1.30 / 0.80))

    point = measure_speed_point(curve)

    assert point.value == pytest.approx(place, abs=1e-9)
    assert float(curve.density_at(place)[0]) == pytest.approx(0.35, abs=1e-9)
    assert float(curve.density_at(place + 1.30)[0]) == pytest.approx(1.15, abs=1e-9)
    assert measure_iso_speed(curve).value == 100.0


def test_too_much_contrast_fails_the_condition() -> None:
    """A rise of 0.86 instead of 0.80 is not met, and no ISO speed is told; 0.80/H is."""
    place = math.log10(0.008)
    gradient = 0.86 / 1.30

    found = measure_iso_speed(fit(straight(gradient, place - 0.10 / gradient)))

    assert found.value is None
    assert found.why is not None
    assert found.why.startswith("the contrast condition of ISO 6 is not met: the curve rises 0.860 in 1.30 log units")
    assert measure_contrast_corrected_speed(fit(straight(gradient, place - 0.10 / gradient))).value is not None
