import numpy as np
import pytest

from basefog.measure.calm_curve import CALM_DERIVATIVE, CALM_DOUBT, calm_curves, error_within_turns
from basefog.measure.resampling import DRAWS
from basefog.measure.smoother import smoothing_matrix

SITES = np.linspace(0.0, 3.0, 21)
VARIANCE = np.full(21, 0.02**2)
READINGS = 0.25 + np.maximum(SITES - 1.0, 0.0) ** 1.5


@pytest.mark.parametrize(
    ("row", "derivative"),
    [
        (0, CALM_DERIVATIVE),
        (1, CALM_DERIVATIVE * CALM_DOUBT),
        (2, CALM_DERIVATIVE / CALM_DOUBT),
        (DRAWS - 1, CALM_DERIVATIVE * CALM_DOUBT),
        (DRAWS, CALM_DERIVATIVE / CALM_DOUBT),
        (DRAWS + 1, CALM_DERIVATIVE),
        (DRAWS + 2, CALM_DERIVATIVE),
    ],
)
def test_draws_are_by_turns_less_and_more_stiff_than_the_estimate(row: int, derivative: float) -> None:
    """Rows that are not draws are smoothed as the estimate is."""
    calm = calm_curves(SITES, VARIANCE, SITES, np.tile(READINGS, (DRAWS + 3, 1)))

    expected = smoothing_matrix(SITES, VARIANCE, SITES, typical_derivative=derivative) @ READINGS
    assert calm[row] == pytest.approx(expected, abs=1e-12)


def test_every_row_is_its_own_readings() -> None:
    """A straight line is left as it is, whatever the stiffness, and each row keeps its own gradient."""
    gradients = np.linspace(0.4, 0.9, 1 + DRAWS)[:, None]

    assert calm_curves(SITES, VARIANCE, SITES, gradients * SITES) == pytest.approx(gradients * SITES, abs=1e-9)


def test_the_error_is_that_of_the_draws_of_one_stiffness() -> None:
    """What the turns differ by is no error of reading, nor is what rows beyond the draws are."""
    draws = np.zeros(DRAWS + 2)
    draws[1 : 1 + DRAWS] = np.where(np.arange(DRAWS) % 2, 0.2, 0.8) + 0.05 * np.where(np.arange(DRAWS) // 2 % 2, 1, -1)
    draws[-1] = 9.0

    assert error_within_turns(draws) == pytest.approx(0.05)
