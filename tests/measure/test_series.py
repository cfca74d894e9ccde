"""What every test's own readings give, before it is set against others."""

from dataclasses import replace

import numpy as np
import pytest

from basefog.measure import measure_series
from basefog.measure.grain import SCAN_MEASURES
from basefog.records.content import Test
from basefog.records.findings import MeasuredTest
from basefog.records.vocabulary import MEASURES
from measure.bench_content import make_frames, make_series, make_stock, make_test, make_wedge, soft_toe
from measure.wedge_films import steps_of, toe, wedge_series, wedge_test

FORMED_LATER = {"speed_from_reference", "print_exposure", *SCAN_MEASURES}
"""What needs the reference's figure over all its repeats, or the scans."""


def test_every_test_has_every_measure_that_its_readings_give() -> None:
    """A missing one carries a reason; verdicts and what is formed of two figures are made elsewhere."""
    tests = [wedge_test("marl-400/2026-03-14"), wedge_test("tern-100/2026-03-14")]
    found = measure_series(wedge_series(*(make_stock(test.stock, [test]) for test in tests)), (tests[0],))

    assert set(found) == {test.key for test in tests}
    for test in found.values():
        assert set(test.measures) == {measure.id for measure in MEASURES} - FORMED_LATER
        for quantity in test.measures.values():
            assert quantity.value is not None or quantity.why


def test_steps_are_means_of_what_was_read() -> None:
    """Each step that was read is listed with its mean and how many readings it has."""
    steps = [replace(step, readings=()) if step.step == "3" else step for step in steps_of(toe(), replicates=2)]
    test = wedge_test("marl-400/2026-03-14", steps=steps)
    listed = measure_series(wedge_series(make_stock("marl-400", [test])), (test,))[test.key].steps

    assert [step.step for step in listed] == [str(number) for number in range(1, 22) if number != 3]
    assert {step.readings for step in listed} == {2}
    assert listed[-1].density == pytest.approx(0.25 + float(toe()(np.array([0.0]))[0]))


def test_a_test_is_measured_by_its_own_readings() -> None:
    """Files in another order, or other stocks beside it, change no digit of a test's curve and measures."""
    alone = wedge_test("tern-100/2026-03-14", steps=steps_of(toe(), replicates=3, error=0.01))
    assert alone.wedge is not None
    shuffled = replace(alone, wedge=replace(alone.wedge, steps=tuple(reversed(alone.wedge.steps))))
    one = measure_series(wedge_series(make_stock("tern-100", [alone])), (alone,))[alone.key]
    other = measure_series(
        wedge_series(make_stock("tern-100", [shuffled]), make_stock("vole-50", [wedge_test("vole-50/2026-03-14")])),
        (shuffled,),
    )[alone.key]

    assert one.measures == other.measures
    assert one.curve is not None
    assert other.curve is not None
    assert (one.curve.low == other.curve.low).all()


def bracketed(name: str, place: float) -> Test:
    density = soft_toe(0.62, 0.15, place)
    frames = make_frames(
        lambda log_exposure: float(density(np.array(log_exposure))),
        {"grey": 0.60, "dark": 0.30},
        stops=[third / 3 for third in range(-4, 6)],
    )
    return make_test(name, frames=frames, wedge=make_wedge(density))


MARL, AGAIN = bracketed("marl-400/2026-01-10", 0.0), replace(bracketed("marl-400/2026-02-10", 0.06), repeat=True)
TERN = bracketed("tern-100/2026-03-14", 0.15)


def measure_tern(*reference: Test) -> MeasuredTest:
    stocks = [make_stock("marl-400", [MARL, AGAIN]), make_stock("tern-100", [TERN])]
    return measure_series(make_series(stocks), reference)[TERN.key]


def test_shadows_are_matched_to_the_whole_reference_group() -> None:
    """The target is the mean of the repeats' net shadow densities: a match lies between those to each alone."""
    first, second, both = (measure_tern(*tests) for tests in ((MARL,), (AGAIN,), (AGAIN, MARL)))
    values = [test.measures["shadow_match"].value or 0.0 for test in (first, second, both)]

    assert values[1] < values[2] < values[0]
    assert values[2] == pytest.approx((values[0] + values[1]) / 2, abs=0.02)


def test_a_shadow_match_tells_its_own_part_from_the_references() -> None:
    """What is the test's alone and what it has in common with every match to this reference stand apart."""
    one, both = (measure_tern(*tests).measures["shadow_match"] for tests in ((MARL,), (AGAIN, MARL)))

    assert one.parts is not None
    assert both.parts is not None
    assert one.of_reference is not None
    assert both.of_reference is not None
    assert both.parts.unshared == pytest.approx(one.parts.unshared, rel=0.15)
    assert both.of_reference.unshared == pytest.approx(one.of_reference.unshared / 2, rel=0.25)


def test_without_a_reference_nothing_is_matched() -> None:
    """Whatever needs no reference is measured all the same."""
    found = measure_tern()

    assert found.measures["shadow_match"].why == "the reference has no current test"
    assert found.measures["matching_time"].why == "the reference has no current test"
    assert found.measures["gamma"].value is not None
    assert found.patches["dark"].value is not None
    assert found.bracket is not None


def test_readings_that_scatter_too_far_are_remarked_on() -> None:
    """The remark stands on the test."""
    rough = wedge_test("tern-100/2026-03-14", steps=steps_of(toe(), error=0.08))
    found = measure_series(wedge_series(make_stock("tern-100", [rough])), (rough,))

    assert [remark.mend for remark in found[rough.key].remarks] == [
        "read the steps again, or state the densitometer's repeatability as it is"
    ]
