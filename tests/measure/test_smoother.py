import numpy as np
import pytest
from scipy.interpolate import make_interp_spline, make_smoothing_spline

from basefog.measure.smoother import apply_to_rows, check_increasing, made_monotone, smoothing_matrix
from measure.wedge_films import STEPS, toe

SITES = np.linspace(0.0, 3.0, 21)
GRID = np.linspace(0.0, 3.0, 301)


def test_the_cubic_spline_agrees_with_an_independent_solver() -> None:
    """Order 2 is the smoothing spline of scipy, whose penalty factor is variance over the derivative squared."""
    readings = np.sin(SITES) + 0.05 * np.random.Generator(np.random.PCG64(7)).standard_normal(21)
    expected = make_smoothing_spline(SITES, readings, lam=0.02**2 / 1.5**2)(GRID)

    found = smoothing_matrix(SITES, np.full(21, 0.02**2), GRID, typical_derivative=1.5, order=2) @ readings

    # Both solve one linear system; the conditioning of each costs some digits.
    assert found == pytest.approx(expected, abs=1e-8)


def test_without_error_the_spline_interpolates_as_a_quintic_does() -> None:
    """Order 3 goes over into the natural quintic interpolant: within the readings' middle that is scipy's."""
    readings = np.log1p(np.exp((SITES - 1.0) / 0.3))
    expected = make_interp_spline(SITES, readings, k=5)(GRID)

    found = smoothing_matrix(SITES, np.full(21, 1e-10), GRID) @ readings

    middle = (GRID > 1.0) & (GRID < 2.0)
    # The two differ in their ends' conditions, whose trace falls off by about ten a step.
    assert found[middle] == pytest.approx(expected[middle], abs=2e-5)
    assert found[::15] == pytest.approx(readings[::1], abs=1e-6)


@pytest.mark.parametrize("order", [2, 3])
def test_polynomials_below_the_penalised_order_pass_unchanged(order: int) -> None:
    """What the penalty does not feel is not smoothed, however large the error."""
    coefficients = [0.3, -0.2, 0.4][:order]
    matrix = smoothing_matrix(SITES, np.full(21, 1.0), GRID, order=order)

    assert matrix @ np.polyval(coefficients, SITES) == pytest.approx(np.polyval(coefficients, GRID), abs=1e-8)


def test_a_better_reading_pulls_harder() -> None:
    """The curve passes nearer to a reading of smaller variance."""
    readings = np.where(np.arange(21) == 10, 1.0, 0.0)
    plain = smoothing_matrix(SITES, np.full(21, 1e-2), SITES) @ readings
    variance = np.full(21, 1e-2)
    variance[10] = 1e-5

    weighted = smoothing_matrix(SITES, variance, SITES) @ readings

    assert weighted[10] == pytest.approx(1.0, abs=0.01)
    assert plain[10] < 0.8


def test_little_is_smoothed_and_little_is_bent() -> None:
    """A toe that turns within a step, read to 0.01, is bent by less than half of that; a quarter of the error goes.

    A stiffer spline takes more of the error off and bends the toe more, a softer one does neither.
    """
    matrix = smoothing_matrix(STEPS, np.full(STEPS.size, 0.01**2), STEPS)
    film = toe(width=0.03)(STEPS)

    bent = np.abs(matrix @ film - film).max()
    left = np.sqrt((matrix**2).sum(axis=1))[5:-5]

    assert bent < 0.005
    assert left == pytest.approx(np.full(left.size, 0.73), abs=0.02)


@pytest.mark.parametrize(
    ("sites", "variance", "order", "message"),
    [
        ([0.0, 1.0, 1.0], [1.0, 1.0, 1.0], 3, "log_exposure must rise from value to value"),
        ([0.0, 1.0], [1.0, 1.0], 3, "log_exposure must be one row of at least 3 values"),
        ([0.0, np.nan, 1.0], [1.0, 1.0, 1.0], 3, "log_exposure must be finite"),
        ([0.0, 1.0, 2.0], [1.0, 0.0, 1.0], 3, "variance must hold one value above 0 for each log exposure"),
        ([0.0, 1.0, 2.0], [1.0, 1.0], 3, "variance must hold one value above 0 for each log exposure"),
        ([0.0, 1.0, 2.0, 3.0], [1.0, 1.0, 1.0, 1.0], 4, "order must be 2 or 3"),
    ],
)
def test_wrong_arguments_are_named(sites: list[float], variance: list[float], order: int, message: str) -> None:
    """Each broken rule is told with the name of the argument."""
    with pytest.raises(ValueError, match=message):
        smoothing_matrix(np.array(sites), np.array(variance), np.array([0.5]), order=order)


def test_two_values_are_enough_unless_more_are_asked() -> None:
    """The check passes what rises."""
    check_increasing("time_min", np.array([5.0, 10.0]))


def test_strips_give_the_whole_product() -> None:
    """Cutting a product into strips changes no digit of it."""
    generator = np.random.Generator(np.random.PCG64(3))
    rows, matrix = generator.standard_normal((601, 201)), generator.standard_normal((201, 49))

    assert apply_to_rows(rows, matrix) == pytest.approx(rows @ matrix, abs=1e-12)


def test_monotone_rows_rise_and_keep_their_ends() -> None:
    """A dip is filled and a bump cut by half each, and neither end moves."""
    rows = np.array([[0.0, 0.3, 0.1, 0.5, 0.4, 0.6], [0.1, 0.0, 0.2, 0.9, 0.8, 0.7]])

    found = made_monotone(rows)

    assert found[0] == pytest.approx([0.0, 0.2, 0.2, 0.45, 0.45, 0.6])
    assert found[1] == pytest.approx([0.1, 0.1, 0.2, 0.7, 0.7, 0.7])


def test_rows_that_rise_are_left_alone() -> None:
    """What is monotone already is not touched."""
    rows = np.array([[0.0, 0.0, 0.2, 0.9]])

    assert (made_monotone(rows) == rows).all()
