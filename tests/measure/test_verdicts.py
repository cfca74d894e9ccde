from dataclasses import replace

import numpy as np
import pytest
from basefog.measure.verdicts import (
    WHY_NO_ISO_DIFFERENCE,
    compare_measures,
    compare_with_reference,
    why_tests_differ,
)

from basefog.measure.curve_fit import FittedCurve
from basefog.measure.curve_measures import measure_curve
from basefog.measure.intervals import missing
from basefog.measure.work import Work
from basefog.records.findings import Quantity, Scatter
from basefog.records.vocabulary import MEASURES
from measure.bench_content import make_test
from measure.wedge_films import fit, toe


def work_of(curve: FittedCurve | None, name: str = "tern-100/2026-03-14") -> Work:
    return Work(
        test=make_test(name),
        curve=curve,
        curve_why=None if curve else "no wedge exposure was read",
        base_plus_fog=np.full(1, np.nan),
        measures={},
    )


def measures_of(curve: FittedCurve) -> dict[str, Quantity]:
    """Return every measure of the contract, those that the curve does not give missing."""
    found = measure_curve(curve)
    return {measure.id: found.get(measure.id, missing("not here", measure.unit)) for measure in MEASURES}


SLOW, FAST = fit(toe(place=-2.0), repeatability=0.005), fit(toe(place=-2.4), repeatability=0.005)


def test_every_measure_that_is_no_comparison_gets_one() -> None:
    """Those that are themselves against the reference carry no second verdict."""
    found = compare_measures(measures_of(FAST), measures_of(SLOW), {})

    assert list(found) == [measure.id for measure in MEASURES if not measure.comparative]
    assert {name: comparison.unit for name, comparison in found.items()} == {
        measure.id: measure.unit for measure in MEASURES if not measure.comparative
    }


def test_a_faster_film_has_a_lower_speed_point() -> None:
    """The difference is this less the other."""
    found = compare_measures(measures_of(FAST), measures_of(SLOW), {})["speed_point"]

    assert found.verdict == "lower"
    assert found.difference == pytest.approx(-0.4, abs=0.002)


def test_iso_speeds_are_not_subtracted() -> None:
    """A speed rounded to third stops has no difference; a missing one says its own reason."""
    both = {**measures_of(FAST), "iso_speed": Quantity(value=400.0, low=390.0, high=420.0, unit="ISO")}

    assert compare_measures(both, both, {})["iso_speed"].why == WHY_NO_ISO_DIFFERENCE
    one = compare_measures({**both, "iso_speed": missing("log exposure is relative", "ISO")}, both, {})
    assert one["iso_speed"].why == "log exposure is relative"


def test_speed_points_on_different_axes_do_not_compare() -> None:
    """All other measures are differences on one curve, and do."""
    found = compare_measures(measures_of(FAST), measures_of(SLOW), {}, axes_differ="not on the same wedge")

    assert found["speed_point"].why == "not on the same wedge"
    assert found["average_gradient"].verdict == "no measurable difference"


def test_the_scatter_of_a_measure_enters_its_own_verdict_only() -> None:
    """A large scatter of one measure silences that one."""
    scatter = {"speed_point": Scatter(measure="speed_point", sigma=0.5, degrees_of_freedom=3, stocks=3)}

    found = compare_measures(measures_of(FAST), measures_of(SLOW), scatter)

    assert found["speed_point"].verdict == "no measurable difference"
    assert found["base_plus_fog"] == compare_measures(measures_of(FAST), measures_of(SLOW), {})["base_plus_fog"]


def test_against_a_withdrawn_reference_nothing_is_measured() -> None:
    """Every verdict says so."""
    found = compare_with_reference(work_of(FAST), None, measures_of(FAST), None, {})

    assert {comparison.verdict for comparison in found.values()} == {"not measured"}
    assert {comparison.why for comparison in found.values()} == {
        "the reference has no current test: all its tests are withdrawn"
    }
    assert list(found) == [measure.id for measure in MEASURES if not measure.comparative]


def test_the_reference_has_no_verdict_on_itself() -> None:
    """The mapping is empty."""
    assert compare_with_reference(work_of(FAST), work_of(FAST), measures_of(FAST), measures_of(FAST), {}) == {}


def test_a_test_is_set_against_the_reference_on_its_own_axis() -> None:
    """A relative test against an absolute reference keeps all verdicts but that of the speed point."""
    relative = replace(FAST, absolute=False)

    found = compare_with_reference(
        work_of(relative), work_of(SLOW, "marl-400/2026-03-14"), measures_of(relative), measures_of(SLOW), {}
    )

    assert found["speed_point"].why == "one log exposure is absolute and the other relative"
    assert found["base_plus_fog"].verdict == "no measurable difference"


def test_without_a_curve_no_axes_are_said_to_differ() -> None:
    """The missing curve is told by the measures themselves."""
    assert why_tests_differ(work_of(None), work_of(SLOW)) == ""
    assert why_tests_differ(work_of(SLOW), work_of(None)) == ""
