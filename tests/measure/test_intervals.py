import math
from collections.abc import Sequence

import numpy as np
import pytest

from basefog.measure.intervals import missing, parts_of_draws, quantity_from_draws, scale_parts, student_factor
from basefog.measure.resampling import DRAWS, WedgeRows
from basefog.records.content import FloatArray
from basefog.records.findings import LampPart

EITHER_SIDE = np.resize([1.0, -1.0], DRAWS)
"""Draws whose root mean square about zero is 1 to the last digit."""

WEDGE = WedgeRows(wedge="contact-21", steps=("1", "2", "3"), u_density=np.array([0.01, 0.02, 0.04]))
"""Three steps, each of its own uncertainty."""


def with_wedge(estimate: float, slopes: Sequence[float], draws: FloatArray = EITHER_SIDE) -> FloatArray:
    """Return rows of a quantity that hangs on the steps of `WEDGE` in straight lines."""
    moved = [estimate + sign * slope * u for slope, u in zip(slopes, WEDGE.u_density, strict=True) for sign in (1, -1)]
    return np.concatenate([[estimate], estimate + draws, moved])


def test_an_interval_is_taken_from_the_spread_about_the_estimate() -> None:
    """Draws one off either way give 1.96; draws that reading error shifted besides, none or two off, root 2 of it."""
    plain = quantity_from_draws(np.concatenate([[0.0], EITHER_SIDE]), "1", why="")
    shifted = quantity_from_draws(np.concatenate([[0.0], EITHER_SIDE + 1.0]), "1", why="")

    assert plain.half_width == pytest.approx(1.959964)
    assert shifted.half_width == pytest.approx(1.959964 * math.sqrt(2))


def test_draws_cut_off_at_the_estimate_still_give_the_whole_spread() -> None:
    """Where half the draws fall beyond the readings the other half, about the estimate, tell the same spread."""
    cut = np.where(EITHER_SIDE > 0, np.nan, EITHER_SIDE)

    found = quantity_from_draws(np.concatenate([[0.0], cut]), "1", why="", note="first")

    assert found.half_width == pytest.approx(1.959964)
    assert found.note == "first; within error of where the readings end: 50% of the resampled curves do not reach it"


def test_parts_tell_readings_wedge_and_lamp_apart() -> None:
    """Readings by their draws and the model, the wedge step by step, the lamp as given; idle steps are not named."""
    lamp = LampPart(lux_s=0.8, u_lux_s=0.02, per_log_unit=1.0)

    parts = parts_of_draws(with_wedge(0.5, [2.0, 0.0, -0.5]), WEDGE, lamp=lamp, u_model=0.75)

    assert parts.unshared == pytest.approx(1 + 0.75**2)
    assert parts.wedge is not None
    assert parts.wedge.by_step == pytest.approx({"1": 2.0, "3": -0.5})
    assert parts.wedge.u_density == {"1": 0.01, "3": 0.04}
    assert parts.wedge.variance == pytest.approx(0.02**2 + 0.02**2)
    assert parts.lamp == lamp
    assert parts.variance == pytest.approx(1.5625 + 2 * 0.02**2 + (0.02 / (0.8 * math.log(10))) ** 2)


def test_what_hangs_on_no_step_has_no_wedge_part() -> None:
    """Base plus fog owes nothing to the wedge."""
    assert parts_of_draws(with_wedge(0.5, [0.0, 0.0, 0.0]), WEDGE).wedge is None


def test_the_interval_holds_all_parts() -> None:
    """Half its width is 1.96 times the root of the sum of the parts' variances."""
    found = quantity_from_draws(with_wedge(0.5, [30.0, 0.0, -20.0]), "1", why="", wedge=WEDGE)

    assert found.half_width == pytest.approx(1.959964 * math.sqrt(1.0 + 0.3**2 + 0.8**2))


def test_parts_scale_with_the_quantity() -> None:
    """A quantity times -3 has nine times the variance of every part, and sensitivities of the other sign."""
    lamp = LampPart(lux_s=0.8, u_lux_s=0.02, per_log_unit=1.0)
    parts = parts_of_draws(with_wedge(0.5, [2.0, 0.0, -0.5]), WEDGE, lamp=lamp)

    scaled = scale_parts(parts, -3.0)

    assert scaled.unshared == pytest.approx(9 * parts.unshared)
    assert scaled.wedge is not None
    assert scaled.lamp is not None
    assert scaled.wedge.by_step == pytest.approx({"1": -6.0, "3": 1.5})
    assert scaled.lamp.per_log_unit == -3.0
    assert scaled.variance == pytest.approx(9 * parts.variance)


def test_an_estimate_that_can_not_be_had_says_why() -> None:
    """NaN in entry 0 is a missing value, whatever the draws."""
    found = quantity_from_draws(np.array([np.nan, 1.0]), "stops", why="no bracket was read")

    assert found == missing("no bracket was read", "stops")


def test_an_estimate_without_draws_is_not_given() -> None:
    """A value whose error can't be told is missing."""
    found = quantity_from_draws(np.array([1.0, np.nan]), "1", why="")

    assert found.value is None
    assert found.why == "the readings end too close to it to say how sure it is"


def test_student_needs_a_degree_of_freedom() -> None:
    """Below one there is no factor."""
    with pytest.raises(ValueError, match="degrees_of_freedom must be at least 1"):
        student_factor(0)
