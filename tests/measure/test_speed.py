import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.measure.curve_measures import measure_curve
from basefog.measure.intervals import missing
from basefog.measure.resampling import DRAWS
from basefog.measure.speed import (
    LAMP_NOT_COUNTED,
    STANDARD_SPEEDS,
    compute_delta_x,
    compute_speed,
    find_speed_point,
    measure_contrast_corrected_speed,
    measure_iso_speed,
    measure_speed_point,
    round_to_standard_speed,
    why_axes_differ,
    why_curve_ends_short,
)
from basefog.records.findings import ErrorParts, LampPart, Quantity
from measure.bench_content import make_curve
from measure.wedge_films import BASE, Density, fit, steps_of, straight, toe

ISO_LINE = 0.80 / 1.30


def iso_curve(speed_point: float = math.log10(0.008), gradient: float = ISO_LINE, **also: float) -> FittedCurve:
    """Return a curve known without error, absolute, straight through 0.10 net at the speed point."""
    return replace(
        make_curve(
            lambda log_exposure: np.maximum(0.10 + gradient * (log_exposure - speed_point), 0.0),
            first=also.get("first", -4.0),
            last=also.get("last", 0.0),
        ),
        absolute=True,
    )


def test_the_speed_point_of_a_rounded_toe() -> None:
    """It lies at x0 + w ln(exp(0.10 / (g w)) - 1), and the fitted curve finds it."""
    expected = -2.2 + 0.12 * math.log(math.expm1(0.10 / (0.65 * 0.12)))

    found = measure_speed_point(fit(toe()))

    # A density error of 0.0005 between two steps of the toe, over its gradient of 0.5.
    assert found.value == pytest.approx(expected, abs=0.001)
    assert found.unit == "log H"


@pytest.mark.parametrize(("exposure", "speed"), [(0.0064, 125.0), (0.0080, 100.0), (0.80, 1.0), (0.002, 400.0)])
def test_iso_speed_of_a_curve_that_meets_the_contrast(exposure: float, speed: float) -> None:
    """S = 0.80 / H_m where the curve rises 0.80 in 1.30."""
    found = measure_iso_speed(iso_curve(math.log10(exposure), first=-5.0, last=2.0))

    assert found.value == speed
    assert (found.low, found.high) == pytest.approx((speed, speed), rel=1e-6)
    assert found.unit == "ISO"


def test_the_interval_of_an_iso_speed_is_not_rounded() -> None:
    """Low and high are 0.80 over the far and the near end of the speed point's interval."""
    curve = fit(toe(gradient=0.66), repeatability=0.01)
    point = measure_speed_point(curve)
    assert point.low is not None
    assert point.high is not None

    found = measure_iso_speed(curve)

    assert found.value in STANDARD_SPEEDS
    assert found.low == pytest.approx(0.80 / 10**point.high)
    assert found.high == pytest.approx(0.80 / 10**point.low)


@pytest.mark.parametrize("rise", [0.751, 0.849])
def test_the_contrast_condition_holds_within_five_hundredths(rise: float) -> None:
    """D_n - D_m from 0.75 to 0.85 still counts."""
    assert measure_iso_speed(iso_curve(gradient=rise / 1.30)).value == 100.0


@pytest.mark.parametrize("rise", [0.749, 0.851])
def test_the_contrast_condition_fails_beyond_five_hundredths(rise: float) -> None:
    """D_n - D_m below 0.75 or above 0.85 gives no ISO speed, and then the corrected one."""
    curve = iso_curve(gradient=rise / 1.30)

    assert measure_iso_speed(curve).value is None
    assert measure_contrast_corrected_speed(curve).value is not None


def test_a_failed_contrast_condition_tells_the_unrounded_figure() -> None:
    """The reason names the condition, what was found, and 0.80/H."""
    found = measure_iso_speed(iso_curve(gradient=0.71 / 1.30))

    assert found.value is None
    assert found.why == (
        "the contrast condition of ISO 6 is not met: the curve rises 0.710 in 1.30 log units, "
        "where 0.75 to 0.85 is asked; 0.80/H is 100 unrounded"
    )


def test_a_curve_that_ends_before_the_second_point_tells_by_how_much() -> None:
    """The contrast can't be judged; the reason says how far the curve is short and what 0.80/H is."""
    speed_point = math.log10(0.008)
    found = measure_iso_speed(iso_curve(last=speed_point + 1.09))

    assert found.why == (
        "the contrast condition can't be judged: the curve ends 0.21 log units before the second point; "
        "0.80/H is 100 unrounded"
    )


def test_relative_log_exposure_gives_no_speed() -> None:
    """Neither speed can be had without lux seconds."""
    curve = replace(iso_curve(), absolute=False)

    assert measure_iso_speed(curve) == missing("log exposure is relative", "ISO")
    assert measure_contrast_corrected_speed(curve) == missing("log exposure is relative", "ISO")


def test_a_speed_below_the_scale_is_not_rounded_up_to_it() -> None:
    """0.80/H of 0.3 is not ISO 1."""
    assert measure_iso_speed(iso_curve(math.log10(0.8 / 0.3), first=-1.0, last=3.0)).why == (
        "the standard scale begins at 1; 0.80/H is 0.3 unrounded"
    )


@pytest.mark.parametrize(("unrounded", "speed"), [(0.90, 1.0), (0.88, None)])
def test_the_scale_ends_half_a_step_below_one(unrounded: float, speed: float | None) -> None:
    """A step is a third of a stop, 0.10 in log exposure: 0.80/H down to 0.891 rounds to 1, what is less does not."""
    assert measure_iso_speed(iso_curve(math.log10(0.8 / unrounded), first=-1.0, last=3.0)).value == speed


def test_the_corrected_speed_is_as_unsure_as_its_contrast() -> None:
    """Where all draws agree on the speed point and differ in contrast, the interval is that of delta X.

    The rise is 0.70 or 0.65 or 0.75, as often each: delta X is 0.3456, 0.3724 or 0.3200, a spread of 0.0214 in log.
    """
    curve = iso_curve(gradient=0.70 / 1.30)
    rises = np.concatenate([[0.70], np.resize([0.65, 0.70, 0.75], DRAWS)])
    above = np.maximum(curve.log_exposure - math.log10(0.008), 0.0)
    below = np.minimum(curve.density - 0.35, 0.0)

    found = measure_contrast_corrected_speed(replace(curve, density=0.35 + below + rises[:, None] / 1.30 * above))

    assert found.value is not None
    assert found.low is not None
    assert found.high is not None
    # 1.96 standard deviations about the estimate, each way.
    assert math.log10(found.high / found.low) / 2 == pytest.approx(1.96 * 0.0214, abs=0.001)


@pytest.mark.parametrize("rise", [0.55, 0.70, 1.00, 1.19])
def test_the_corrected_speed_follows_delta_x(rise: float) -> None:
    """0.80 x 10^(dX - 0.2956) / H_m, dX = 0.83 - 0.86 dD + 0.24 dD^2."""
    delta_x = 0.83 - 0.86 * rise + 0.24 * rise**2

    found = measure_contrast_corrected_speed(iso_curve(gradient=rise / 1.30))

    # The curve is straight between grid points of 0.01; the kinked toe lies well below m.
    assert found.value == pytest.approx(100 * 10 ** (delta_x - 0.2956), rel=1e-6)


@pytest.mark.parametrize(
    ("curve", "why"),
    [
        (iso_curve(), "not needed: the contrast condition of ISO 6 is met"),
        (
            iso_curve(gradient=0.40 / 1.30),
            "the curve rises 0.400 in 1.30 log units, and the correction holds from 0.50 to 1.20 only",
        ),
        (iso_curve(last=-1.0), "the curve ends 0.20 log units before the second point"),
    ],
)
def test_the_corrected_speed_has_its_limits(curve: FittedCurve, why: str) -> None:
    """Where the condition is met it is not needed, and outside 0.50 to 1.20 it does not hold."""
    assert measure_contrast_corrected_speed(curve) == missing(why, "ISO")


def test_a_curve_that_never_reaches_the_speed_point_says_so() -> None:
    """The density it ends at is told above base plus fog."""
    curve = replace(make_curve(lambda x: 0.02 * (x + 2.0)), absolute=True)

    why = "the curve ends at 0.08 above base plus fog, and the speed point lies at 0.10"
    assert measure_speed_point(curve).why == why
    assert measure_iso_speed(curve).why == why
    assert measure_contrast_corrected_speed(curve).why == why
    assert why_curve_ends_short(curve, 1.30) == why


def test_a_curve_that_starts_above_the_speed_point_says_so() -> None:
    """A wedge that is not dark enough leaves no toe."""
    found = measure_speed_point(make_curve(lambda x: 0.6 * (x + 2.5)))

    assert found.why == "the first step already stands 0.30 above base plus fog: a darker step is missing"


def test_without_base_plus_fog_there_is_no_speed_point() -> None:
    """The reason is that of base plus fog."""
    curve = fit(straight(place=-3.5), base=())

    assert measure_speed_point(curve).why == curve.base_why


@pytest.mark.parametrize(
    ("absolute", "axes", "why"),
    [
        ((True, True), ("contact-21", "other-21"), ""),
        ((False, False), ("contact-21", "contact-21"), ""),
        ((True, False), ("contact-21", "contact-21"), "one log exposure is absolute and the other relative"),
        ((False, False), ("contact-21", "other-21"), "both log exposures are relative, and not on the same wedge"),
        ((False, False), ("bracket", "bracket"), "the log exposures are relative, each to its own metered exposure"),
    ],
)
def test_log_exposures_compare_in_lux_seconds_or_on_one_wedge(
    absolute: tuple[bool, bool], axes: tuple[str, str], why: str
) -> None:
    """Relative axes of different origin have nothing in common."""
    one, other = (replace(iso_curve(), absolute=known, axis=axis) for known, axis in zip(absolute, axes, strict=True))

    assert why_axes_differ(one, other) == why


def test_delta_x_is_not_used_outside_its_range() -> None:
    """Below 0.50 and above 1.20 there is no number."""
    assert np.isnan(compute_delta_x(np.array([0.499, 1.201]))).all()
    assert np.isfinite(compute_delta_x(np.array([0.50, 1.20]))).all()


def test_rounding_is_nearest_in_logarithm() -> None:
    """The border between two speeds is their geometric mean, and a speed of the scale is itself."""
    assert [round_to_standard_speed(speed) for speed in STANDARD_SPEEDS] == list(STANDARD_SPEEDS)
    for low, high in pairwise(STANDARD_SPEEDS):
        border = math.sqrt(low * high)
        assert round_to_standard_speed(border * 0.999) == low
        assert round_to_standard_speed(border * 1.001) == high
    with pytest.raises(ValueError, match="speed must be above 0"):
        round_to_standard_speed(0.0)


def test_the_scale_below_ten() -> None:
    """Third-stop steps from 1 to 8, called by their usual names (from memory)."""
    steps = [round_to_standard_speed(10 ** (third / 10)) for third in range(10)]

    assert steps == [1.0, 1.2, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0]


def test_the_scale_goes_on_above_what_any_film_has() -> None:
    """By the same steps: a hundred times 3200 is 320000."""
    assert round_to_standard_speed(316_000.0) == 320_000.0


def test_speeds_and_points_are_for_every_draw() -> None:
    """Formulas work on all draws at once."""
    points = find_speed_point(fit(toe(), repeatability=0.01))

    assert points.shape == (1 + DRAWS,)
    assert compute_speed(points) == pytest.approx(0.8 / 10**points)


LAMP = LampPart(lux_s=0.8, u_lux_s=0.04, per_log_unit=1.0)


def calibrated(density: Density, *, u_density: float = 0.005) -> FittedCurve:
    """Return a curve through a wedge every step of which is known to `u_density`, under a lamp of known error."""
    curve = fit_curve(
        steps_of(density, u_log_exposure=u_density),
        (BASE,),
        repeatability=0.01,
        key="tern-100/2026-03-14",
        absolute=True,
        axis="contact-21",
        wedge="contact-21",
        lamp=LAMP,
    )
    assert isinstance(curve, FittedCurve)
    return curve


@pytest.mark.parametrize("density", [straight(), toe(), toe(gradient=0.9, width=0.2, place=-1.9)])
def test_a_wedge_denser_all_over_moves_the_speed_point_whole(density: Density) -> None:
    """All steps denser by d is d less exposure everywhere: the sensitivities add up to -1, whatever the curve."""
    wedge = parts_of(measure_speed_point(calibrated(density))).wedge

    assert wedge is not None
    assert sum(wedge.by_step.values()) == pytest.approx(-1.0, abs=0.03)


def test_the_speed_point_hangs_on_the_steps_about_it() -> None:
    """On a straight line most of it is in the steps within two of the place where it is read."""
    point = measure_speed_point(calibrated(straight()))
    assert point.value is not None
    wedge = parts_of(point).wedge
    assert wedge is not None
    # Steps are numbered from 1 at -3.00 by 0.15.
    near = [str(number) for number in range(1, 22) if abs(-3.0 + 0.15 * (number - 1) - point.value) < 0.30]

    assert sum(wedge.by_step[step] for step in near) == pytest.approx(-1.0, abs=0.25)
    assert set(wedge.u_density.values()) == {0.005}


def test_gradients_do_not_hang_on_a_wedge_denser_all_over() -> None:
    """What shifts the whole curve along log exposure leaves its slope: the sensitivities of gamma add up to nothing."""
    wedge = parts_of(measure_curve(calibrated(straight()))["average_gradient"]).wedge

    assert wedge is not None
    assert max(abs(slope) for slope in wedge.by_step.values()) > 0.1
    assert sum(wedge.by_step.values()) == pytest.approx(0.0, abs=0.02)


def test_the_lamps_part_of_a_speed_point() -> None:
    """u(log H) = u_lux_s / (lux_s ln 10), one log unit for each of the lamp's; it is in the interval."""
    point = measure_speed_point(calibrated(toe()))
    parts = parts_of(point)
    u_lamp = 0.04 / (0.8 * math.log(10))

    assert parts.lamp == LAMP
    assert parts.lamp.variance == pytest.approx(u_lamp**2)
    assert point.half_width == pytest.approx(1.959964 * math.sqrt(parts.unshared + parts.shared))
    assert point.note is None


def test_the_lamps_part_of_a_speed_has_the_other_sign() -> None:
    """More light than thought is less speed; of the logarithm of the speed all parts are those of the speed point."""
    curve = calibrated(toe(gradient=0.66))
    point, speed = parts_of(measure_speed_point(curve)), parts_of(measure_iso_speed(curve))

    assert speed.lamp is not None
    assert speed.lamp.per_log_unit == -1.0
    assert speed.unshared == pytest.approx(point.unshared)
    assert point.wedge is not None
    assert speed.wedge is not None
    assert speed.wedge.by_step == pytest.approx({step: -slope for step, slope in point.wedge.by_step.items()})


def test_a_lamp_without_a_stated_error_is_noted() -> None:
    """An absolute speed says that the lamp's own error is not counted; a relative one has none to count."""
    known = fit(toe())

    assert measure_speed_point(known).note == LAMP_NOT_COUNTED
    assert measure_speed_point(replace(known, absolute=False)).note is None


def parts_of(quantity: Quantity) -> ErrorParts:
    assert quantity.parts is not None
    return quantity.parts
