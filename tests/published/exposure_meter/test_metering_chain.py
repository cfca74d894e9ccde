"""From the meter to the film: where a metered grey falls above the speed point.

Source: the appendix on exposure of the American meter standard (its appendix C) as worked in a public discussion, seen
there: at f/16 and 1/125 s a film of speed 125 gets 0.065 lux seconds from a metered grey, and its speed point lies at
0.0064; a log unit above that is 0.064.
"""

import math

import numpy as np
import pytest

from basefog.measure.contrast import TONES, measure_tone_gradient
from basefog.measure.speed import measure_iso_speed, measure_speed_point
from basefog.records.content import FloatArray
from measure.wedge_films import fit, straight

SPEED, SPEED_POINT_LUX_S, METERED_LUX_S = 125.0, 0.0064, 0.065
GRADIENT = 0.80 / 1.30
"""Of a film that meets the contrast condition of ISO 6."""

FILM = straight(GRADIENT, math.log10(SPEED_POINT_LUX_S) - 0.10 / GRADIENT)


def test_a_film_with_the_published_speed_point_has_the_published_speed() -> None:
    """Net density 0.10 at 0.0064 lux seconds is a speed of 125, and the metered grey lies a log unit above it."""
    curve = fit(FILM)
    point = measure_speed_point(curve).value

    assert measure_iso_speed(curve).value == SPEED
    assert point is not None
    # Published as "one log unit"; the figures are rounded, 0.064 against 0.065.
    assert math.log10(METERED_LUX_S) - point == pytest.approx(1.0, abs=0.01)


def test_what_a_film_does_to_a_metered_grey_is_told_by_its_middle_tones() -> None:
    """A film steeper within a third of a log unit of 0.065 lux seconds differs in the middle gradient and no other."""
    bump = math.log10(METERED_LUX_S) + np.array([-0.33, 0.33])

    def steeper(log_exposure: FloatArray) -> FloatArray:
        return np.asarray(FILM(log_exposure) + 0.20 * np.clip(log_exposure - bump[0], 0.0, bump[1] - bump[0]))

    gained = {
        tone: (measure_tone_gradient(fit(steeper), tone).value or 0)
        - (measure_tone_gradient(fit(FILM), tone).value or 0)
        for tone in TONES
    }

    # The steeper stretch of 0.66 gains 0.132 in density, over a middle range of 0.80.
    assert gained["middle_gradient"] == pytest.approx(0.165, abs=0.01)
    assert gained["shadow_gradient"] == pytest.approx(0.0, abs=0.01)
    assert gained["highlight_gradient"] == pytest.approx(0.0, abs=0.01)
