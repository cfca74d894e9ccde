"""What a measure owes to each step of the wedge, against refitting the whole curve with that step's density moved."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.measure.curve_measures import MEASURERS
from basefog.publish.data.values import quantity_json
from basefog.records.content import FloatArray, StepReadings
from measure.wedge_films import BASE, STEPS, Density, steps_of, toe

U_DENSITY = 0.010
SMOOTH = (
    "speed_point",
    "contrast_corrected_speed",
    "average_gradient",
    "contrast_index",
    "gamma",
    "shadow_gradient",
    "middle_gradient",
    "highlight_gradient",
)
"""All but the useful range, whose limits jump where the secant touches its limit more than once."""

FILMS: dict[str, Density] = {
    "hard toe": toe(0.56, 0.08, -2.40),
    "soft toe": toe(0.50, 0.16, -2.35),
    "off the step": toe(0.53, 0.12, -2.29),
}


def fit_through_wedge(steps: Sequence[StepReadings]) -> FittedCurve:
    """Return the curve of steps whose log exposures are a wedge's."""
    curve = fit_curve(
        steps, (BASE,), repeatability=0.008, key="tern-100/2026-03-14", absolute=True, axis="w", wedge="w"
    )
    assert isinstance(curve, FittedCurve)
    return curve


def published(curve: FittedCurve, measure: str) -> FloatArray:
    """Return the sensitivities of a measure as the data files give them, a step each."""
    data = quantity_json(MEASURERS[measure](curve))["from_wedge"]
    assert isinstance(data, dict)
    return np.array([data["by_step"].get(str(number), 0.0) for number in range(1, STEPS.size + 1)])


def values_of(curve: FittedCurve) -> FloatArray:
    """Return the smooth measures of a curve, speeds unrounded."""
    found = [MEASURERS[measure](curve) for measure in SMOOTH]
    return np.array([one.value if one.exact is None else one.exact for one in found], dtype=np.float64)


def refitted(steps: Sequence[StepReadings]) -> FloatArray:
    """Return the central differences of the smooth measures over curves fitted anew with one step's density moved.

    A step that is denser by u passes light whose log is less by u. A row a step, a column a measure.
    """
    slopes = []
    for place, step in enumerate(steps):
        up, down = (
            values_of(
                fit_through_wedge(
                    [*steps[:place], replace(step, log_exposure=step.log_exposure - by), *steps[place + 1 :]]
                )
            )
            for by in (U_DENSITY, -U_DENSITY)
        )
        slopes.append((up - down) / (2 * U_DENSITY))
    return np.array(slopes)


@pytest.mark.parametrize("film", FILMS)
def test_sensitivities_are_those_of_refitted_curves(film: str) -> None:
    """Of readings without error each step's published sensitivity is that of a curve fitted wholly anew, sites moved.

    The moved density stands for the moved exposure by the gradient at the step, which is true to second order: over
    u = 0.010 a toe that bends over 0.08 log units changes its gradient by up to an eighth of u / width, 1.6 %. Twice
    that is allowed, of the largest step.
    """
    steps = steps_of(FILMS[film], u_log_exposure=U_DENSITY)

    curve, outside = fit_through_wedge(steps), refitted(steps)
    for column, measure in zip(outside.T, SMOOTH, strict=True):
        assert np.abs(published(curve, measure) - column).max() <= 0.032 * np.abs(column).max(), measure


@pytest.mark.parametrize("seed", [1, 2])
def test_errors_of_reading_change_sensitivities_little(seed: int) -> None:
    """Of readings with error 0.008 the sensitivities are still those of refitted curves, to a fifth in all.

    A reading off by r tilts the curve between two steps by r / 0.15, that is 0.05, a tenth of the gradient 0.53 by
    which a moved exposure is turned into a moved density; the readings to either side both do so.
    """
    steps = steps_of(FILMS["off the step"], error=0.008, seed=seed, u_log_exposure=U_DENSITY)
    curve, outside = fit_through_wedge(steps), refitted(steps)
    for column, measure in zip(outside.T, SMOOTH, strict=True):
        own = published(curve, measure)
        assert np.linalg.norm(own - column) <= np.linalg.norm(column) / 5, measure
        assert np.linalg.norm(own) == pytest.approx(np.linalg.norm(column), rel=0.1), measure
