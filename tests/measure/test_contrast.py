import math
from dataclasses import replace

import numpy as np
import pytest

from basefog.measure.contrast import (
    TONES,
    average_steepest,
    find_average_gradient,
    find_contrast_index,
    find_gamma,
    measure_average_gradient,
    measure_contrast_index,
    measure_gamma,
    measure_tone_gradient,
)
from basefog.measure.curve_fit import FittedCurve
from basefog.measure.useful_range import measure_useful_range
from basefog.records.content import FloatArray
from measure.bench_content import make_curve
from measure.wedge_films import BASE, Density, fit, straight, toe


def triangle(gradient: float, place: float = -2.2) -> Density:
    """Return net density that is zero and then straight: no toe at all."""
    return lambda log_exposure: np.maximum(gradient * (log_exposure - place), 0.0)


def logistic(maximum: float = 2.0, width: float = 0.35, place: float = -1.2) -> Density:
    """Return net density that rises to a maximum and levels off."""
    return lambda log_exposure: maximum / (1 + np.exp(-(log_exposure - place) / width))


def exact(density: Density, first: float = -3.0, last: float = 0.0) -> FittedCurve:
    """Return a curve known without error."""
    return make_curve(density, first=first, last=last, base_plus_fog=BASE)


def speed_point_of_toe(gradient: float = 0.65, width: float = 0.12, place: float = -2.2) -> float:
    """Return the closed-form speed point of a rounded toe."""
    return place + width * math.log(math.expm1(0.10 / (gradient * width)))


def test_the_average_gradient_of_a_rounded_toe() -> None:
    """(D(m + 1.30) - 0.10) / 1.30 in closed form, found again through the fit."""
    n = speed_point_of_toe() + 1.30
    expected = (float(toe()(np.array([n]))[0]) - 0.10) / 1.30

    # A speed point off by 0.001 shifts both points along the curve; the gradients there differ by a third.
    assert measure_average_gradient(fit(toe())).value == pytest.approx(expected, abs=0.0005)


@pytest.mark.parametrize("measure", TONES)
def test_the_tone_gradients_of_a_rounded_toe(measure: str) -> None:
    """Chords of the closed form over each tone range, and their ratio to the average gradient."""
    m, (start, stop) = speed_point_of_toe(), TONES[measure]
    rise = toe()(np.array([m + start, m + stop, m, m + 1.30]))
    expected = float(rise[1] - rise[0]) / (stop - start)

    found = measure_tone_gradient(fit(toe()), measure)

    assert found.value == pytest.approx(expected, abs=0.001)
    assert found.relative_to_average == pytest.approx(expected / float((rise[3] - rise[2]) / 1.30), abs=0.002)


def test_gradients_of_perfect_readings_still_err_by_the_curve() -> None:
    """Either end of a gradient keeps 0.0025 in density: 1.96 sqrt(2) 0.0025 over the run, as unshared variance."""
    curve = exact(toe())
    runs = {"average_gradient": 1.30, "shadow_gradient": 0.60, "middle_gradient": 0.80, "highlight_gradient": 0.60}

    found = {
        "average_gradient": measure_average_gradient(curve),
        **{measure: measure_tone_gradient(curve, measure) for measure in TONES},
    }

    for measure, run in runs.items():
        assert found[measure].half_width == pytest.approx(0.0069295 / run, rel=1e-4)
        parts = found[measure].parts
        assert parts is not None
        assert parts.unshared == pytest.approx(2 * (0.0025 / run) ** 2)


@pytest.mark.parametrize(("start", "stop"), [(0.0, 0.60), (0.60, 1.40), (1.40, 2.00)])
def test_all_gradients_of_a_triangle_are_its_slope(start: float, stop: float) -> None:
    """On one straight line every mean gradient is the slope, whatever the range."""
    curve = exact(triangle(0.58))
    measure = next(name for name, tones in TONES.items() if tones == (start, stop))

    assert measure_tone_gradient(curve, measure).value == pytest.approx(0.58, abs=1e-9)
    assert measure_average_gradient(curve).value == pytest.approx(0.58, abs=1e-9)
    # Windows that reach a little over the foot of the triangle still have 0.9 of the slope, and count.
    assert measure_gamma(curve).value == pytest.approx(0.58, rel=0.005)


@pytest.mark.parametrize("gradient", [0.35, 0.6, 1.0, 1.8])
def test_a_straight_line_from_the_base_has_its_slope_as_contrast_index(gradient: float) -> None:
    """A line through the origin on the base-plus-fog level is the construction's own line."""
    assert measure_contrast_index(exact(straight(gradient, -2.9), last=3.0)).value == pytest.approx(gradient, abs=1e-6)


def test_the_contrast_index_of_a_rounded_toe_solves_its_construction() -> None:
    """The points found lie on the curve, on one line from the base, 0.2 and 2.2 along it."""
    curve = exact(toe())
    index = float(find_contrast_index(curve)[0])
    run, rise = math.cos(math.atan(index)), math.sin(math.atan(index))

    inner = float(curve.log_exposure_at(BASE + 0.2 * rise)[0])
    outer = float(curve.log_exposure_at(BASE + 2.2 * rise)[0])

    assert outer - inner == pytest.approx(2.0 * run, abs=1e-7)


def test_the_contrast_index_needs_its_outer_point() -> None:
    """A curve that ends below it has none."""
    found = measure_contrast_index(exact(toe(), last=-0.5))

    assert found.why == "the outer point lies above the readings"


def test_the_contrast_index_needs_its_inner_point() -> None:
    """A curve that starts above it has none."""
    found = measure_contrast_index(exact(lambda x: 0.30 + 0.6 * (x + 3.0), last=2.0))

    assert found.why == "the first step stands 0.30 above base plus fog: the inner point lies below the readings"


def test_gamma_is_the_slope_of_the_straight_part() -> None:
    """Between a long toe and a long shoulder only the windows near the steepest count."""
    curve = exact(lambda x: np.interp(x, [-3.0, -2.0, -0.5, 0.0], [0.0, 0.15, 1.20, 1.30]))

    # Every window wholly on the straight part has 0.70; those that reach 0.9 of it run a little over its ends.
    assert measure_gamma(curve).value == pytest.approx(0.70, abs=0.015)


def test_gamma_follows_its_definition_on_a_curve_without_straight_part() -> None:
    """An independent count: least squares by numpy over windows of a logistic every 0.002, the steep ones averaged."""
    density = logistic()
    slopes = []
    for start in np.arange(-3.0, -0.6 + 1e-9, 0.002):
        places = np.linspace(start, start + 0.60, 121)
        slopes.append(np.polyfit(places, density(places), 1)[0])
    steep = [slope for slope in slopes if slope >= 0.9 * max(slopes)]

    assert measure_gamma(exact(density)).value == pytest.approx(float(np.mean(steep)), rel=0.002)


def test_gamma_hangs_little_on_where_the_readings_begin() -> None:
    """Windows lie so close that a film read from other exposures on has the same gamma within half a per cent.

    A straight part of 0.70 between a toe and a shoulder: windows far apart would meet it well or badly by chance.
    """

    def film(log_exposure: FloatArray) -> FloatArray:
        return np.asarray(np.interp(log_exposure, [-3.0, -1.9, -1.2, 0.0], [0.0, 0.2, 0.9, 1.2]))

    gammas = [measure_gamma(exact(film, first=-3.0 + later)).value for later in (0.0, 0.02, 0.05, 0.08, 0.10)]

    assert gammas == pytest.approx([gammas[0]] * 5, rel=0.005)


def test_windows_are_chosen_on_the_calm_curve() -> None:
    """Where a calm curve is given, it picks the windows, and the curve itself gives the slopes."""
    curve = exact(lambda x: np.where(x < -1.5, 0.4 * (x + 3.0), 0.6 + 0.8 * (x + 1.5)))
    calm = np.where(curve.log_exposure < -1.5, 0.8 * (curve.log_exposure + 3.0), 1.2)

    found = find_gamma(replace(curve, calm_density=np.tile(calm, (curve.density.shape[0], 1))))

    assert found[0] == pytest.approx(0.4, abs=0.05)


def test_the_steepest_window_is_lessened_by_half_its_error() -> None:
    """Windows count by the share of the way to their neighbours that is above 0.9 of the steepest less half its error.

    Of calm slopes 0.88, 1.00, 0.80 the limit 0.90 is met 0.833 of the way down to the first and half the
    way down to the third: weights 0.347, 0.861, 0.125. With 1.00 known to 0.10 it is 0.855: all of the way to the first
    and 0.725 of that to the third: weights 0.5, 0.962, 0.263.
    """
    slopes, calm = np.array([[0.70, 0.90, 0.50]]), np.array([[0.88, 1.00, 0.80]])

    plain = average_steepest(slopes, calm, np.zeros(3))
    allowed = average_steepest(slopes, calm, np.array([0.0, 0.10, 0.0]))

    assert plain == pytest.approx([(0.70 * 0.34722 + 0.90 * 0.86111 + 0.50 * 0.125) / 1.33333], abs=1e-4)
    assert allowed == pytest.approx([(0.70 * 0.5 + 0.90 * 0.96219 + 0.50 * 0.26281) / 1.725], abs=1e-4)


@pytest.mark.parametrize(
    ("curve", "why"),
    [
        (exact(lambda x: 0.0 * x), "the curve is flat: it does not rise by more than its error"),
        (
            fit(lambda x: 0.0 * x, repeatability=0.01, error=0.01),
            "the curve is flat: it does not rise by more than its error",
        ),
        (exact(toe(), last=-2.5), "the readings span 0.50 log units, and a window takes 0.60"),
    ],
)
def test_gamma_needs_a_rise_and_a_window(curve: FittedCurve, why: str) -> None:
    """A flat curve, noisy or not, and a short one have none."""
    assert measure_gamma(curve).why == why


def test_a_short_curve_says_how_short_for_every_measure() -> None:
    """Each measure names its own point and the distance to it."""
    curve = exact(triangle(0.6), last=-1.0)
    m = -2.2 + 0.1 / 0.6

    assert (
        measure_average_gradient(curve).why == f"the curve ends {m + 1.30 + 1.0:.2f} log units before the second point"
    )
    assert measure_tone_gradient(curve, "highlight_gradient").why == (
        f"the curve ends {m + 2.00 + 1.0:.2f} log units before the end of the tone range"
    )
    assert measure_useful_range(curve).why == measure_average_gradient(curve).why


def test_a_tone_within_reach_is_told_where_the_average_is_not() -> None:
    """The shadows of a short curve have a gradient, but no ratio to an average."""
    found = measure_tone_gradient(exact(triangle(0.6), last=-1.2), "shadow_gradient")

    assert found.value == pytest.approx(0.6, abs=1e-9)
    assert found.relative_to_average is None


def test_without_base_plus_fog_nothing_that_counts_from_it_is_told() -> None:
    """All but gamma are missing, each with the reason of base plus fog."""
    curve = fit(straight(place=-3.5), base=())

    assert curve.base_why is not None
    for found in (
        measure_average_gradient(curve),
        measure_contrast_index(curve),
        measure_useful_range(curve),
        *(measure_tone_gradient(curve, measure) for measure in TONES),
    ):
        assert found.why == curve.base_why
    assert measure_gamma(curve).value == pytest.approx(0.65, abs=0.001)


def test_measures_are_for_every_draw() -> None:
    """A noisy curve's draws each have their own figure, about the estimate."""
    curve = fit(toe(), repeatability=0.01)
    everything: tuple[FloatArray, ...] = (
        find_average_gradient(curve),
        find_contrast_index(curve),
        find_gamma(curve),
    )

    for draws in everything:
        assert np.isfinite(draws).all()
        assert abs(float(draws[1:].mean()) - draws[0]) < float(draws[1:].std())
