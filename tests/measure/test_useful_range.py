import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from basefog.measure.contrast import find_average_gradient
from basefog.measure.curve_fit import FittedCurve
from basefog.measure.resampling import DRAWS
from basefog.measure.useful_range import find_useful_limits, measure_useful_range
from basefog.records.content import FloatArray
from measure.bench_content import make_curve
from measure.wedge_films import BASE, Density, fit, toe


def logistic(maximum: float = 2.0, width: float = 0.35, place: float = -1.2) -> Density:
    """Return net density that rises to a maximum and levels off."""
    return lambda log_exposure: maximum / (1 + np.exp(-(log_exposure - place) / width))


def exact(density: Density, first: float = -3.0, last: float = 0.0) -> FittedCurve:
    """Return a curve known without error."""
    return make_curve(density, first=first, last=last, base_plus_fog=BASE)


def test_the_useful_range_of_a_logistic_is_symmetric() -> None:
    """Its secants over 0.30 fall to 0.3 of the average gradient at equal distances from the middle."""
    curve = exact(logistic(place=-1.5))
    average = float(find_average_gradient(curve)[0])

    def excess(distance: float) -> float:
        places = np.array([-1.5 + distance - 0.15, -1.5 + distance + 0.15])
        return float(np.diff(logistic(place=-1.5)(places))[0]) / 0.30 - 0.3 * average

    reach = float(brentq(excess, 0.0, 1.4))

    lower, upper, reached = find_useful_limits(curve, 0.3 * find_average_gradient(curve))

    # The curve is straight between grid points of 0.0075.
    assert (float(lower[0]), float(upper[0])) == pytest.approx((-1.5 - reach, -1.5 + reach), abs=0.001)
    assert reached.all()
    assert measure_useful_range(curve).value == pytest.approx(2 * reach / math.log10(2), abs=0.005)
    assert measure_useful_range(curve).bound is None


def test_the_range_of_perfect_readings_still_errs_by_the_curve() -> None:
    """Its interval is what the limit shifted by 0.75 of the curve's own sqrt(2) 0.0025 / 0.60 would have given."""
    curve = exact(logistic(place=-1.5))
    limit = 0.3 * find_average_gradient(curve)
    plain, more, less = (
        np.subtract(*reversed(find_useful_limits(curve, limit + shift)[:2]))[0] / math.log10(2)
        for shift in (0.0, 0.004419, -0.004419)
    )

    half = measure_useful_range(curve).half_width

    assert half == pytest.approx(1.96 * math.sqrt(((more - plain) ** 2 + (less - plain) ** 2) / 2), rel=1e-3)


def test_a_range_that_runs_past_the_readings_is_a_lower_bound() -> None:
    """The upper limit is then the centre of the last window, 0.15 before the end."""
    curve = exact(toe())
    average = find_average_gradient(curve)

    _, upper, reached = find_useful_limits(curve, 0.3 * average)
    found = measure_useful_range(curve)

    assert upper[0] == pytest.approx(-0.15)
    assert not reached.any()
    assert (found.bound, found.note) == ("lower", "the upper point lies above the readings")


def test_a_curve_that_starts_too_steep_has_no_useful_range() -> None:
    """Where the first secant is above the limit already, the lower point lies below the readings."""
    found = measure_useful_range(exact(lambda x: 0.05 + 0.5 * (x + 3.0)))

    assert found.why == (
        "the curve is already steeper than the limit at its first steps: the lower point lies below the readings"
    )


def tailed(log_exposure: FloatArray) -> FloatArray:
    """Return a toe and a line of 0.65 that turns at -1.0 into one of 0.13, two thirds of the limiting gradient."""
    return np.asarray(toe()(log_exposure) - 0.52 * np.maximum(log_exposure + 1.0, 0.0))


def bumpy(log_exposure: FloatArray) -> FloatArray:
    """Return a toe and a line that is flat from -1.1 to -0.6, rises by 0.09 up to -0.3 and is flat again."""
    line = toe()(np.minimum(log_exposure, -1.1))
    return np.asarray(line + 0.30 * np.clip(log_exposure + 0.6, 0.0, 0.3))


def test_without_error_the_outermost_steep_window_bounds_the_range() -> None:
    """A steep stretch beyond a flat one counts, however little it gains, as the definition has it."""
    curve = exact(bumpy)
    limit = np.full(curve.density.shape[0], 0.2)

    _, upper, _ = find_useful_limits(curve, limit)

    # Windows of 0.30 that rise by 0.06 or more: the last such one starts 0.10 into the rise of 0.09.
    assert upper[0] == pytest.approx(-0.35, abs=0.002)


@pytest.mark.parametrize(("density_error", "counts"), [(0.002, True), (0.02, False)])
def test_a_steep_run_further_out_must_stand_out_of_the_error(density_error: float, counts: bool) -> None:
    """It counts where what it gains is beyond four errors of a density: some 0.02 here."""
    curve = exact(bumpy)
    limit = np.full(curve.density.shape[0], 0.2)

    _, upper, _ = find_useful_limits(curve, limit, density_error=density_error)

    assert bool(upper[0] > -0.6) is counts


def test_errors_in_a_long_shoulder_do_not_carry_the_range_outwards() -> None:
    """Half of 60 noisy tests have a range within 0.4 stop, while the outermost crossing is mostly beyond 0.8.

    The outermost crossing is found anew here, window by window.
    """
    true = float(measure_useful_range(exact(tailed)).value or math.nan)
    found, outermost = [], []
    for number in range(60):
        curve = fit(tailed, repeatability=0.02, error=0.02, seed=number)
        average = float(find_average_gradient(curve)[0])
        lower, upper, _ = find_useful_limits(curve, 0.3 * find_average_gradient(curve), density_error=0.015)
        starts = np.arange(curve.first, curve.last - 0.30, 0.015)
        steep = (curve.densities_at(starts + 0.30) - curve.densities_at(starts))[0] / 0.30 >= 0.3 * average
        found.append(float(upper[0] - lower[0]) / math.log10(2) - true)
        outermost.append(float(starts[np.flatnonzero(steep)[-1]] + 0.15 - lower[0]) / math.log10(2) - true)

    assert np.median(np.abs(found)) < 0.4
    assert np.median(outermost) > 0.8


def test_a_range_that_is_not_surely_bounded_is_a_lower_bound() -> None:
    """Where more than 2.5 % of the resampled curves run steep to the end, so may the film."""
    curve = exact(tailed)
    steep = curve.density[0] + 0.15 * np.maximum(curve.log_exposure + 1.0, 0.0)
    one_in_twenty = np.where((np.arange(1 + DRAWS) % 20 == 1)[:, None], steep, curve.density)

    found = measure_useful_range(replace(curve, density=one_in_twenty))

    assert measure_useful_range(curve).bound is None
    assert found.bound == "lower"
    assert found.value == pytest.approx(measure_useful_range(curve).value)
    assert found.note == "the upper point may lie above the readings: it does for 5% of the resampled curves"
