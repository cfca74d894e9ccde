"""Laws that hold for every film: what a change of the readings may move, and what it may not."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.measure.contrast import GAMMA_ALLOWANCE, average_steepest, window_slopes
from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.measure.curve_measures import measure_curve, tabulate_curve
from basefog.measure.resampling import error_of_draws
from basefog.records.content import StepReadings
from basefog.records.findings import Quantity
from measure.wedge_films import steps_of, toe

ON_THE_DENSITY_AXIS = {"base_plus_fog", "maximum_density"}
ON_THE_EXPOSURE_AXIS = {"speed_point", "iso_speed", "contrast_corrected_speed"}


@dataclass(frozen=True, kw_only=True)
class Film:
    """The readings of one film."""

    steps: tuple[StepReadings, ...]
    base: tuple[float, ...]
    repeatability: float = 0.01

    def fitted(self) -> FittedCurve:
        """Return the curve fitted to the readings."""
        curve = fit_curve(
            self.steps,
            self.base,
            repeatability=self.repeatability,
            key="tern-100/2026-03-14",
            absolute=True,
            axis="contact-21",
        )
        assert isinstance(curve, FittedCurve)
        return curve

    def measured(self) -> dict[str, Quantity]:
        """Return every measure of that curve."""
        return measure_curve(self.fitted())

    def moved(self, *, density: float = 0.0, log_exposure: float = 0.0, stretch: float = 1.0) -> "Film":
        """Return the film with every net density stretched, and a constant added to densities or log exposures."""
        pivot = self.base[0]
        steps = tuple(
            replace(
                step,
                log_exposure=step.log_exposure + log_exposure,
                readings=tuple(pivot + stretch * (reading - pivot) + density for reading in step.readings),
            )
            for step in self.steps
        )
        return replace(self, steps=steps, base=tuple(reading + density for reading in self.base))


@st.composite
def films(draw: st.DrawFn, *, error: float = 0.01, most_replicates: int = 3) -> Film:
    """Draw a film with a rounded toe, a straight line, and readings with errors."""
    density = toe(
        gradient=draw(st.floats(0.45, 1.1)), width=draw(st.floats(0.06, 0.25)), place=draw(st.floats(-2.4, -1.9))
    )
    steps = steps_of(
        density, replicates=draw(st.integers(1, most_replicates)), error=error, seed=draw(st.integers(0, 2**32))
    )
    return Film(steps=steps, base=(0.25,) * draw(st.integers(1, 3)))


def assert_same(one: dict[str, Quantity], other: dict[str, Quantity], *, but: set[str]) -> None:
    for name, first in one.items():
        if name in but:
            continue
        second = other[name]
        assert (first.value is None) == (second.value is None), name
        if first.value is not None:
            # Rounding of a few thousand sums; intervals are drawn with the same numbers.
            assert (second.value, second.low, second.high) == pytest.approx(
                (first.value, first.low, first.high), rel=1e-6, abs=1e-7
            ), name


@settings(max_examples=12, deadline=None)
@given(films(), st.floats(-0.2, 1.0))
def test_a_constant_on_every_density_moves_densities_only(film: Film, by: float) -> None:
    """A denser base moves base plus fog and maximum density by as much, and nothing else at all."""
    before, after = film.measured(), film.moved(density=by).measured()

    assert_same(before, after, but=ON_THE_DENSITY_AXIS)
    for name in ON_THE_DENSITY_AXIS:
        assert after[name].value == pytest.approx((before[name].value or 0.0) + by)


@settings(max_examples=12, deadline=None)
@given(films(), st.floats(-1.0, 1.0))
def test_a_shift_in_log_exposure_moves_the_speed_only(film: Film, by: float) -> None:
    """More light on every step moves the speed point and the speeds that follow from it, and nothing else."""
    before, after = film.measured(), film.moved(log_exposure=by).measured()

    assert_same(before, after, but=ON_THE_EXPOSURE_AXIS)
    assert after["speed_point"].value == pytest.approx((before["speed_point"].value or 0.0) + by)
    assert after["speed_point"].half_width == pytest.approx(before["speed_point"].half_width)


@settings(max_examples=12, deadline=None)
@given(films(most_replicates=1), st.floats(0.5, 1.8))
def test_stretched_densities_stretch_gradients(film: Film, by: float) -> None:
    """Twice the net density is twice the gradient everywhere, and twice gamma, if its slopes err twice as much."""
    before, after = film.fitted(), film.moved(stretch=by).fitted()

    assert tabulate_curve(after).gradient == pytest.approx(by * tabulate_curve(before).gradient, abs=1e-7)
    error = error_of_draws(window_slopes(before))
    gamma = average_steepest(window_slopes(before), error, GAMMA_ALLOWANCE)[0]
    assert measure_curve(before)["gamma"].value == gamma
    assert average_steepest(window_slopes(after), by * error, GAMMA_ALLOWANCE)[0] == pytest.approx(by * gamma)


@settings(max_examples=8, deadline=None)
@given(films(error=0.0), st.integers(2, 6))
def test_more_replicates_narrow_the_intervals(film: Film, times: int) -> None:
    """Readings that agree, taken more often, leave less doubt in every measure.

    Gamma is left out: a window that just reaches 0.9 of the steepest goes in and out of its mean by any error at all.
    """
    again = replace(
        film,
        steps=tuple(replace(step, readings=tuple(sorted(step.readings * times))) for step in film.steps),
        base=film.base * times,
    )
    before, after = film.measured(), again.measured()

    for name in ("base_plus_fog", "maximum_density", "speed_point", "average_gradient", "contrast_index"):
        first, second = before[name].half_width, after[name].half_width
        assert first is not None
        assert second is not None
        assert second < first, name


@settings(max_examples=12, deadline=None)
@given(films(error=0.06))
def test_every_curve_rises_however_rough_its_readings(film: Film) -> None:
    """Neither the curve nor a draw of it falls anywhere."""
    curve = film.fitted()

    assert (np.diff(curve.density, axis=1) >= 0).all()
    assert (tabulate_curve(curve).gradient >= 0).all()
