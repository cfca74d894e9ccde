from dataclasses import replace

import numpy as np
import pytest

from basefog.measure.curve_fit import NoCurve
from basefog.measure.curve_measures import (
    MEASURERS,
    measure_curve,
    measure_maximum_density,
    remark_on_curve,
    tabulate_curve,
)
from basefog.measure.resampling import DRAWS
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES
from measure.bench_content import make_curve
from measure.wedge_films import fit, toe

NO_FILM = NoCurve(why="3 different exposures were read, and a curve takes at least 6")


def test_the_measures_of_a_curve_are_those_of_the_contract_with_their_units() -> None:
    """Every one is known to the vocabulary, in its order, and carries its unit."""
    found = measure_curve(fit(toe()))

    assert list(found) == [measure.id for measure in MEASURES if measure.id in found]
    assert {name: quantity.unit for name, quantity in found.items()} == {
        name: MEASURE_BY_ID[name].unit for name in found
    }


def test_without_a_curve_every_measure_says_why() -> None:
    """The reason is that of the curve, with each measure's own unit."""
    found = measure_curve(NO_FILM)

    assert {quantity.why for quantity in found.values()} == {NO_FILM.why}
    assert {name: quantity.unit for name, quantity in found.items()} == {
        name: MEASURE_BY_ID[name].unit for name in MEASURERS
    }


def test_base_plus_fog_is_told_without_a_curve() -> None:
    """It rests on its own readings alone."""
    found = measure_curve(NoCurve(why="too short", base_plus_fog=np.full(1 + DRAWS, 0.31)))

    assert found["base_plus_fog"].value == pytest.approx(0.31)
    assert found["gamma"].why == "too short"


def test_a_note_on_the_curve_stands_on_every_value() -> None:
    """What a curve was made from is said with each number, beside the number's own note."""
    curve = fit(toe(), base=())
    noted = type(curve)(
        **{
            name: getattr(curve, name)
            for name in curve.__dataclass_fields__
            if name not in {"note", "_rung", "_ladder"}
        },
        note="from the grey patch",
    )

    found = measure_curve(noted)

    assert found["gamma"].note == "from the grey patch"
    assert found["base_plus_fog"].note == "no base was read; the lowest step stands for it; from the grey patch"
    assert found["contrast_corrected_speed"].note is None


def test_a_curve_that_still_rises_gives_a_lower_bound() -> None:
    """Maximum density is then at least the last reading; where the curve has levelled off it is a value."""
    shoulder = fit(lambda x: 1.6 / (1 + np.exp(-(x + 1.5) / 0.25)), repeatability=0.01)
    rising = fit(toe(), repeatability=0.01)

    assert measure_maximum_density(shoulder).bound is None
    assert measure_maximum_density(shoulder).value == pytest.approx(0.25 + 1.6 / (1 + np.exp(-6.0)), abs=0.003)
    assert measure_maximum_density(rising).bound == "lower"
    assert measure_maximum_density(rising).note == "the curve still rises at its last reading"


@pytest.mark.parametrize(("slope", "bound"), [(0.30, None), (0.36, "lower")])
def test_half_a_stop_decides_whether_a_curve_still_rises(slope: float, bound: str | None) -> None:
    """Over the last 0.15 log units it has to gain more than half the interval: at 0.05, a slope of a third."""
    found = measure_maximum_density(make_curve(lambda x: slope * (x + 2.0), spread=(-0.05 / 1.96, 0.05 / 1.96)))

    assert found.half_width == pytest.approx(0.05, rel=0.01)
    assert found.bound == bound


def test_the_gradient_is_the_mean_slope_over_one_stop() -> None:
    """About a kink from level to a slope of 0.6 it grows evenly over 0.30 log units; at the ends the window is less."""
    table = tabulate_curve(make_curve(lambda x: 0.6 * np.maximum(x, 0.0)))

    gradient = np.interp([-0.16, -0.10, 0.0, 0.10, 0.16, 2.0], table.log_exposure, table.gradient)

    # The share of the window that lies beyond the kink: 0, 0.05, 0.15, 0.25, 0.30 of 0.30.
    assert gradient == pytest.approx([0.0, 0.1, 0.3, 0.5, 0.6, 0.6], abs=1e-6)


def test_the_band_counts_a_shift_of_all_draws() -> None:
    """Draws that all lie 0.02 above the curve are off by that: the band is 1.96 times it, not nothing."""
    table = tabulate_curve(make_curve(lambda x: 0.6 * (x + 2.0), spread=(0.02,)))

    assert table.high - table.density == pytest.approx(1.96 * 0.02, rel=0.001)
    assert table.density - table.low == pytest.approx(1.96 * 0.02, rel=0.001)


def test_the_tabulated_curve_is_sealed_and_banded() -> None:
    """Arrays of one length, read-only, the curve inside its band, and the band the spread of the draws."""
    curve = fit(toe(), repeatability=0.01)

    table = tabulate_curve(curve)

    arrays = (table.log_exposure, table.density, table.low, table.high, table.gradient)
    assert {array.shape for array in (*arrays, table.gradient_low, table.gradient_high)} == {table.density.shape}
    assert not any(array.flags.writeable for array in arrays)
    assert (np.diff(table.density) >= 0).all()
    assert (table.gradient >= 0).all()
    assert ((table.low <= table.density) & (table.density <= table.high)).all()
    assert (table.gradient_low <= table.gradient).all()
    expected = 1.96 * curve.density[1:, 100].std()
    # The mean of 600 draws is known to 4 % of their spread, which adds less than 1 % here.
    assert (table.high - table.low)[100] / 2 == pytest.approx(float(expected), rel=0.01)


def test_readings_that_scatter_too_far_are_remarked_on() -> None:
    """Five times the stated error is; the stated error is not."""
    (remark,) = remark_on_curve(fit(toe(), repeatability=0.005, error=0.04, seed=3))

    assert remark.message.endswith("(0.005 for one reading): the intervals may be too narrow")
    assert remark.mend == "read the steps again, or state the densitometer's repeatability as it is"
    assert remark_on_curve(fit(toe(), repeatability=0.01, error=0.01)) == ()
    assert remark_on_curve(None) == ()


@pytest.mark.parametrize(("misfit", "remarks"), [(3.0, 0), (3.01, 1)])
def test_three_times_the_stated_error_is_the_limit(misfit: float, remarks: int) -> None:
    """Scatter about the curve up to three times what is stated is let pass."""
    assert len(remark_on_curve(replace(make_curve(lambda x: 0.6 * (x + 2.0)), misfit=misfit))) == remarks
