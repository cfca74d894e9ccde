"""Contrast against time by the law of Sheppard and Mees, and the time that matches a wanted contrast.

The rate of development is proportional to what is still to be developed: C. E. K. Mees, Jahrbuch fuer Photographie 25
(1911) p. 167. Hence gamma = g (1 - exp(-k t)), as S. E. Sheppard and C. E. K. Mees have it (1907). For gammas g1 and g2
at t and 2 t it follows that g = g1^2 / (2 g1 - g2) and k = ln(g1 / (g2 - g1)) / t: with 0.50 at 5 minutes and 0.75 at
10 the limit is 1.00, and half of what is left is developed every 5 minutes.
"""

import math
from collections.abc import Sequence

import numpy as np
import pytest

from basefog.measure.development import DevelopedContrast, measure_matching_time, trace_contrast_time
from basefog.measure.intervals import quantity_from_draws
from basefog.measure.resampling import DRAWS
from measure.bench_content import make_test

INFINITE, RATE = 1.00, math.log(2) / 5


def at_time(time_min: float) -> float:
    return INFINITE * (1 - math.exp(-RATE * time_min))


def developed(name: str, time_min: float, contrast: float) -> DevelopedContrast:
    draws = np.full(1 + DRAWS, contrast)
    return DevelopedContrast(
        test=make_test(name, time_min=time_min), average_gradient=quantity_from_draws(draws, "1", why=""), draws=draws
    )


def family_at(times: Sequence[float]) -> list[DevelopedContrast]:
    return [developed(f"tern-100/2026-03-{day:02}", t, at_time(t)) for day, t in enumerate(times, start=1)]


@pytest.mark.parametrize("wanted", [0.55, 0.60, 0.65, 0.70])
@pytest.mark.parametrize("times", [(5.0, 10.0), (5.0, 7.0, 10.0), (5.0, 6.0, 7.5, 10.0)])
def test_matching_time_follows_the_law(times: Sequence[float], wanted: float) -> None:
    """Between times tested by the law, the matching time is the law's own.

    t = -ln(1 - gamma / g) / k. Tolerance: between 5 and 10 minutes the law departs from a straight line in log time by
    0.0011 in contrast at most, which is worth 0.4 % in time.
    """
    expected = -math.log(1 - wanted / INFINITE) / RATE

    family = family_at(times)
    found = measure_matching_time(family[0].test, family, developed("marl-400/2026-01-10", 8.0, wanted))

    assert found.value == pytest.approx(expected, rel=0.004)


def test_contrast_time_curve_follows_the_law() -> None:
    """The drawn curve through three tested times stays within 0.0012 of the law between them."""
    contrast = trace_contrast_time(family_at((5.0, 7.0, 10.0)), None)

    assert contrast is not None
    law = [at_time(time_min) for time_min in contrast.time_min]
    assert contrast.average_gradient == pytest.approx(law, abs=0.0012)
