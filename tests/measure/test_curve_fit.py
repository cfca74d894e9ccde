from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from basefog.measure.asked import Terms
from basefog.measure.curve_fit import FittedCurve, NoCurve, fit_curve, fit_test_curve
from basefog.measure.resampling import DRAWS
from basefog.records.content import StepReadings
from measure.bench_content import make_frame, make_stock, make_test
from measure.wedge_films import BASE, STEPS, fit, steps_of, straight, toe, wedge_series, wedge_test


def test_a_curve_without_error_is_recovered() -> None:
    """The fitted curve follows a rounded toe and a straight line between the steps as well as on them."""
    curve = fit(toe())

    # The toe turns within a step and a half; a spline through its steps is off by less than this between them.
    assert curve.density[0] == pytest.approx(BASE + toe()(curve.log_exposure), abs=0.001)
    assert (curve.first, curve.last) == (STEPS[0], STEPS[-1])


def test_every_draw_rises() -> None:
    """No resampled curve falls anywhere, however noisy its readings."""
    curve = fit(toe(), repeatability=0.05, error=0.05)

    assert curve.density.shape[0] == 1 + DRAWS
    assert (np.diff(curve.density, axis=1) >= 0).all()


def test_density_and_log_exposure_undo_each_other() -> None:
    """Looking a density up and its log exposure back down returns to the start, for every draw."""
    curve = fit(toe(), repeatability=0.01)
    places = np.linspace(-1.9, -0.1, 1 + DRAWS)

    assert curve.log_exposure_at(curve.density_at(places)) == pytest.approx(places, abs=1e-9)


def test_nothing_is_told_outside_the_readings() -> None:
    """Beyond either end, and for a NaN, the answer is NaN; on the ends themselves it is not."""
    curve = fit(toe())
    beyond = np.resize([STEPS[0] - 0.001, STEPS[-1] + 0.001, np.nan], 1 + DRAWS)

    assert np.isnan(curve.density_at(beyond)).all()
    assert np.isfinite(curve.density_at(float(STEPS[0]))).all()
    assert np.isfinite(curve.density_at(float(STEPS[-1]))).all()
    assert np.isnan(curve.log_exposure_at(9.0)).all()
    assert np.isnan(curve.log_exposure_at(-1.0)).all()
    assert np.isnan(curve.log_exposure_at(np.full(1 + DRAWS, np.nan))).all()


def test_a_row_of_log_exposures_agrees_with_single_ones() -> None:
    """The two ways to ask for densities give the same."""
    curve = fit(toe(), repeatability=0.01)
    places = np.array([-3.0, -1.234, 0.0])

    both = curve.densities_at(places)

    for column, place in enumerate(places):
        assert both[:, column] == pytest.approx(curve.density_at(float(place)), abs=1e-12)


def test_on_a_flat_stretch_the_first_point_is_told() -> None:
    """Where a curve is level at the density asked for, it was first reached at the stretch's start."""
    grid = np.linspace(0.0, 1.0, 5)
    curve = replace(
        fit(toe()),
        log_exposure=grid,
        density=np.array([[0.0, 0.5, 0.5, 0.5, 1.0]]),
        base_plus_fog=np.array([0.0]),
    )

    assert curve.log_exposure_at(0.5)[0] == pytest.approx(0.25)


def test_the_errors_of_a_wedge_count() -> None:
    """A wedge error u moves a reading by gradient x u: on a straight line it adds to the reading's own error."""
    plain = steps_of(straight())
    doubtful = steps_of(straight(), u_log_exposure=0.02)

    spread = [float(np.std(_fitted(steps).density[1:, 100])) for steps in (plain, doubtful)]

    expected = np.sqrt(0.01**2 + (0.65 * 0.02) ** 2) / 0.01
    # Each spread is known to 1 / sqrt(2 DRAWS), 3 %; four times both together.
    assert spread[1] / spread[0] == pytest.approx(expected, rel=0.17)


def test_replicates_count() -> None:
    """Four readings a step halve the spread of the end of the curve, which rests on one step most."""
    spread = [float(np.std(fit(toe(), replicates=n, repeatability=0.01, error=0.01).density[1:, -1])) for n in (1, 4)]

    # Each spread is known to 3 %, the pooled error of four readings a step to 8 %: two of these together.
    assert spread[0] / spread[1] == pytest.approx(2.0, rel=0.18)


def test_steps_of_one_exposure_are_one_step() -> None:
    """Two steps of the same log exposure are pooled, in whatever order they come."""
    steps = steps_of(toe())
    twice = [replace(steps[4], step="4b", readings=(steps[4].readings[0] + 0.02,)), *reversed(steps)]
    pooled = [
        *steps[:4],
        replace(steps[4], readings=(steps[4].readings[0], steps[4].readings[0] + 0.02)),
        *steps[5:],
    ]

    assert (_fitted(twice).density[0] == _fitted(pooled).density[0]).all()


def test_exposures_apart_by_rounding_are_one() -> None:
    """A third of a stop worked out in two ways differs in its last digits and is one exposure all the same."""
    steps = steps_of(toe())[:5]
    again = replace(steps[2], step="3b", log_exposure=steps[2].log_exposure + 1e-9)

    found = fit_curve([*steps, again], (BASE,), repeatability=0.01, key="a/b", absolute=True, axis="contact-21")

    assert isinstance(found, NoCurve)
    assert found.why == "5 different exposures were read, and a curve takes at least 6"


def test_many_readings_of_the_base_tell_it_better() -> None:
    """The error of base plus fog is that of a reading over the root of how many there are."""
    once, four = (fit(toe(), base=(BASE,) * count, repeatability=0.01).base_plus_fog for count in (1, 4))

    # Each spread is known to 3 %; the four like readings lower the pooled error by 7 %.
    assert once[1:].std() == pytest.approx(0.01, rel=0.12)
    assert four[1:].std() == pytest.approx(0.005 * np.sqrt(20 / 23), rel=0.12)


def test_what_the_base_was_read_to_tells_the_error_of_reading() -> None:
    """Ten readings of the base that scatter by 0.02 are heard, with the weight of their nine degrees of freedom."""
    scattered = tuple(BASE + 0.02 * np.sqrt(9 / 10) * sign for sign in (-1.0, 1.0) * 5)

    curve = fit(toe(), base=scattered, repeatability=0.01)

    assert curve.reading_error == pytest.approx(np.sqrt((20 * 0.01**2 + 9 * 0.02**2) / 29))


def test_too_few_steps_give_no_curve_but_base_plus_fog() -> None:
    """Steps without a reading do not count; what was read of the base still does."""
    steps = [replace(step, readings=()) if number > 4 else step for number, step in enumerate(steps_of(toe()))]

    found = fit_curve(steps, (0.24, 0.26), repeatability=0.01, key="a/b", absolute=True, axis="contact-21")

    assert isinstance(found, NoCurve)
    assert found.why == "5 different exposures were read, and a curve takes at least 6"
    assert found.base_plus_fog is not None
    assert found.base_plus_fog[0] == pytest.approx(0.25)


def test_exposures_that_are_no_logarithms_give_no_curve() -> None:
    """Lux seconds typed for their logarithms are told, not fitted."""
    typed = [replace(step, log_exposure=float(10 * number)) for number, step in enumerate(steps_of(toe()))]

    found = fit_curve(typed, (BASE,), repeatability=0.01, key="a/b", absolute=True, axis="contact-21")

    assert isinstance(found, NoCurve)
    assert found.why == "the log exposures run from 0 to 200, and no film's decimal logarithms do"


def test_a_flat_lowest_step_stands_for_an_unread_base() -> None:
    """Without a base row the lowest step serves where the curve is flat there, and a note says so."""
    curve = fit(toe(), base=())

    assert curve.base_plus_fog[0] == pytest.approx(BASE, abs=0.001)
    assert curve.base_note == "no base was read; the lowest step stands for it"
    assert curve.base_why is None


def test_a_rising_lowest_step_does_not() -> None:
    """Where the curve rises at its lowest step, base plus fog is not known."""
    curve = fit(straight(place=-3.5), base=())

    assert np.isnan(curve.base_plus_fog).all()
    assert curve.base_why == (
        "no base was read, and the lowest step can't stand for it: the curve rises there by 0.65 a log unit, "
        "and 0.02 is the limit"
    )


@pytest.mark.parametrize(("gradient", "serves"), [(0.018, True), (0.022, False)])
def test_two_hundredths_of_slope_is_the_limit_for_a_base(gradient: float, serves: bool) -> None:
    """The lowest step stands for base plus fog only below a slope of 0.02."""
    assert (fit(straight(gradient, -3.0), base=()).base_why is None) == serves


def test_a_base_from_the_lowest_step_is_as_unsure_as_its_reading() -> None:
    """One reading of 0.01 gives base plus fog to 0.01."""
    curve = fit(toe(), base=(), repeatability=0.01)

    # A spread of 600 draws is known to 3 %.
    assert curve.base_plus_fog[1:].std() == pytest.approx(0.01, rel=0.12)


def test_draws_are_read_anew_from_the_curve() -> None:
    """A step that reads 0.12 too high pulls the curve; the draws are what a film of that very curve would give.

    Drawn about the readings, the one error would be in every draw as it is in the curve, and nothing told of it.
    """
    steps = list(steps_of(toe()))
    steps[12] = replace(steps[12], readings=(steps[12].readings[0] + 0.12,))
    place = steps[12].log_exposure
    curve = fit_curve(steps, (BASE,), repeatability=0.02, key="a/b", absolute=True, axis="contact-21")
    assert isinstance(curve, FittedCurve)
    on_curve = [replace(step, readings=(float(curve.density_at(step.log_exposure)[0]),)) for step in steps]
    again = fit_curve(on_curve, (BASE,), repeatability=0.02, key="a/b", absolute=True, axis="contact-21")
    assert isinstance(again, FittedCurve)

    pulled, smoothed = float(curve.density_at(place)[0]), float(again.density_at(place)[0])

    # The mean of 600 draws is known to a hundredth of a hundredth.
    assert curve.density_at(place)[1:].mean() == pytest.approx(smoothed, abs=0.002)
    assert pulled - smoothed > 0.008


def test_readings_scatter_about_the_curve_as_their_error_says() -> None:
    """The misfit is one on average where the stated error is true, and larger where readings are worse."""
    honest = [fit(toe(), repeatability=0.01, error=0.01, seed=seed).misfit for seed in range(40)]
    worse = [fit(toe(), repeatability=0.01, error=0.05, seed=seed).misfit for seed in range(40)]

    # About ten readings are left over for it: one misfit is known to 1 / sqrt(20), forty to a sixth of that.
    assert np.sqrt(np.mean(np.square(honest))) == pytest.approx(1.0, abs=0.15)
    assert np.sqrt(np.mean(np.square(worse))) == pytest.approx(5.0, abs=0.75)


def test_a_wedge_exposure_has_the_axis_of_its_wedge() -> None:
    """A calibrated wedge names the axis; a column of log exposures is on nobody else's."""
    series = wedge_series(make_stock("tern-100", [wedge_test("tern-100/2026-03-14")]))
    by_wedge = fit_test_curve(wedge_test("tern-100/2026-03-14"), Terms.of(series))
    by_column = fit_test_curve(wedge_test("tern-100/2026-03-14", wedge=None, absolute=False), Terms.of(series))

    assert isinstance(by_wedge, FittedCurve)
    assert isinstance(by_column, FittedCurve)
    assert (by_wedge.axis, by_wedge.absolute) == ("contact-21", True)
    assert (by_column.axis, by_column.absolute) == ("log_exposure of tern-100/2026-03-14", False)


def test_the_grey_patch_serves_for_want_of_a_wedge() -> None:
    """Every frame's grey patch is a step at 0.3010 x stops, and the frames' bases are the base."""
    frames = [
        make_frame(str(number), stops, {"grey": (BASE + 0.6 * (stops * 0.30103 + 1.0),)}, base=(0.24, 0.26))
        for number, stops in enumerate(np.arange(-3, 4) / 1.0)
    ]
    test = make_test("tern-100/2026-03-14", frames=frames)
    series = wedge_series(make_stock("tern-100", [test]), grey_patch="grey")

    found = fit_test_curve(test, Terms.of(series))

    assert isinstance(found, FittedCurve)
    assert (found.first, found.last) == pytest.approx((-3 * 0.30103, 3 * 0.30103), abs=1e-5)
    assert found.density_at(0.0)[0] == pytest.approx(BASE + 0.6, abs=0.001)
    assert found.base_plus_fog[0] == pytest.approx(BASE)
    assert (found.axis, found.absolute) == ("bracket", False)
    assert found.note == "from the grey patch of the bracketed frames, for want of a wedge exposure"


def test_the_base_of_the_wedge_serves_the_bracket_too() -> None:
    """Where a wedge exposure is too short for a curve, its base still counts before that of the frames."""
    frames = [make_frame(str(n), float(n), {"grey": (BASE + 0.1 * n,)}, base=(BASE + 0.05,)) for n in range(1, 8)]
    short = wedge_test("tern-100/2026-03-14", steps=steps_of(toe())[:3], base=(BASE,))
    test = replace(make_test("tern-100/2026-03-14", frames=frames), wedge=short.wedge)

    found = fit_test_curve(test, Terms.of(wedge_series(make_stock("tern-100", [test]), grey_patch="grey")))

    assert isinstance(found, FittedCurve)
    assert found.axis == "bracket"
    assert found.base_plus_fog[0] == pytest.approx(BASE)


def test_a_frame_without_the_grey_patch_is_left_out() -> None:
    """Six frames with the patch make a curve; the seventh, without, is no step."""
    frames = [
        make_frame(str(number), float(number), {"grey": (BASE + 0.1 * number,)} if number else {"red": (0.5,)})
        for number in range(7)
    ]
    test = make_test("tern-100/2026-03-14", frames=frames)

    found = fit_test_curve(test, Terms.of(wedge_series(make_stock("tern-100", [test]), grey_patch="grey")))

    assert isinstance(found, FittedCurve)
    assert found.first == pytest.approx(0.30103, abs=1e-5)


@pytest.mark.parametrize("grey", [None, "grey"])
def test_without_wedge_and_grey_there_is_no_curve(grey: str | None) -> None:
    """A test with neither says so."""
    frames = [] if grey else [make_frame("1", 0.0, {"red": (0.5,)})]
    test = make_test("tern-100/2026-03-14", frames=frames)

    assert fit_test_curve(test, Terms.of(wedge_series(make_stock("tern-100", [test]), grey_patch=grey))) == NoCurve(
        why="no wedge exposure was read"
    )


def _fitted(steps: Sequence[StepReadings]) -> FittedCurve:
    found = fit_curve(
        steps,
        (BASE,),
        repeatability=0.01,
        key="tern-100/2026-03-14",
        absolute=True,
        axis="contact-21",
    )
    assert isinstance(found, FittedCurve)
    return found
