from dataclasses import replace

import numpy as np
import pytest

from basefog.measure import measure_series
from basefog.records.findings import Findings
from basefog.records.vocabulary import MEASURES
from measure.bench_content import make_stock
from measure.wedge_films import steps_of, toe, wedge_series, wedge_test

MARL, TERN = "marl-400", "tern-100"


def two_stocks(**also: object) -> Findings:
    """Return the findings of a reference and a stock one stop slower."""
    slower = steps_of(toe(place=-2.2 + np.log10(2)), **also)  # type: ignore[arg-type]
    return measure_series(
        wedge_series(
            make_stock(MARL, [wedge_test("marl-400/2026-03-14")]),
            make_stock(TERN, [wedge_test("tern-100/2026-03-14", steps=slower)]),
        )
    )


def test_every_test_has_every_measure_in_order() -> None:
    """A missing one carries a reason, a value an interval round it."""
    found = two_stocks()

    for test in found.tests.values():
        assert list(test.measures) == [measure.id for measure in MEASURES]
        for measure in MEASURES:
            quantity = test.measures[measure.id]
            assert quantity.unit == measure.unit
            if quantity.value is None:
                assert quantity.why
            elif measure.id != "iso_speed":
                assert quantity.low is not None
                assert quantity.high is not None
                assert quantity.low <= quantity.value <= quantity.high


def test_a_stock_is_set_against_the_reference() -> None:
    """One stop more light at the speed point is one stop slower."""
    found = two_stocks()
    tern = found.of(TERN, "2026-03-14")

    assert found.reference == "marl-400/2026-03-14"
    assert tern.reference == "marl-400/2026-03-14"
    assert tern.current
    assert tern.measures["speed_from_reference"].value == pytest.approx(-1.0, abs=0.01)
    assert tern.against_reference["speed_point"].verdict == "higher"
    assert tern.against_reference["gamma"].verdict == "no measurable difference"
    assert tern.movement == {}


def test_the_reference_is_zero_from_itself() -> None:
    """Its speed from the reference is zero without error, and it has no verdicts."""
    marl = two_stocks().of(MARL, "2026-03-14")

    zero = marl.measures["speed_from_reference"]
    assert (zero.value, zero.low, zero.high) == (0.0, 0.0, 0.0)
    assert marl.against_reference == {}


def test_steps_are_means_of_what_was_read() -> None:
    """Each step that was read is listed with its mean and how many readings it has."""
    steps = [replace(step, readings=()) if step.step == "3" else step for step in steps_of(toe(), replicates=2)]
    found = measure_series(wedge_series(make_stock(MARL, [wedge_test("marl-400/2026-03-14", steps=steps)])))

    listed = found.of(MARL, "2026-03-14").steps

    assert [step.step for step in listed] == [str(number) for number in range(1, 22) if number != 3]
    assert {step.readings for step in listed} == {2}
    assert listed[-1].density == pytest.approx(0.25 + float(toe()(np.array([0.0]))[0]))


def test_the_same_series_gives_the_same_numbers_whatever_the_order() -> None:
    """Readings enter sorted: files in another order, or more stocks beside, change no digit."""
    alone = wedge_test("tern-100/2026-03-14", steps=steps_of(toe(), replicates=3, error=0.01))
    shuffled = replace(alone, wedge=replace(alone.wedge, steps=tuple(reversed(alone.wedge.steps))))  # type: ignore[type-var,union-attr]
    one = measure_series(wedge_series(make_stock(TERN, [alone])))
    other = measure_series(
        wedge_series(make_stock(TERN, [shuffled]), make_stock("vole-50", [wedge_test("vole-50/2026-03-14")]))
    )

    assert one.of(TERN, "2026-03-14").measures == other.of(TERN, "2026-03-14").measures
    assert one.of(TERN, "2026-03-14").curve is not None
    assert (one.of(TERN, "2026-03-14").curve.low == other.of(TERN, "2026-03-14").curve.low).all()  # type: ignore[union-attr]


def test_a_retest_tells_how_it_moved() -> None:
    """New less old, by the same rule as a verdict."""
    old = wedge_test("tern-100/2026-03-14", toe(gradient=0.60))
    new = wedge_test("tern-100/2026-05-02", toe(gradient=0.70), replaces="2026-03-14")
    found = measure_series(wedge_series(make_stock(TERN, [old, new])))

    movement = found.of(TERN, "2026-05-02").movement

    assert movement["gamma"].verdict == "higher"
    assert movement["gamma"].difference == pytest.approx(0.10, abs=0.005)
    assert found.of(TERN, "2026-03-14").movement == {}
    assert not found.of(TERN, "2026-03-14").current
    assert found.of(TERN, "2026-03-14").against_reference["gamma"].verdict == "lower"


def test_a_withdrawn_reference_leaves_every_verdict_not_measured() -> None:
    """The measures themselves are still told."""
    withdrawn = wedge_test("marl-400/2026-03-14", withdrawn="light leak")
    marl = replace(make_stock(MARL, [withdrawn]), current=None)
    found = measure_series(wedge_series(marl, make_stock(TERN, [wedge_test("tern-100/2026-03-14")])))
    tern = found.of(TERN, "2026-03-14")

    assert found.reference is None
    assert found.of_reference is None
    assert tern.reference is None
    assert {comparison.verdict for comparison in tern.against_reference.values()} == {"not measured"}
    assert tern.measures["speed_from_reference"].why == "the reference has no current test: all its tests are withdrawn"
    # Windows that run over the toe's end still have 0.9 of the slope, and count.
    assert tern.measures["gamma"].value == pytest.approx(0.65, abs=0.008)


def test_a_test_that_is_too_short_is_told_and_the_rest_goes_on() -> None:
    """Five steps make no curve: no drawing, a reason on every measure but base plus fog, and the steps as read."""
    short = wedge_test("tern-100/2026-03-14", steps=steps_of(toe())[:5])
    found = measure_series(
        wedge_series(make_stock(MARL, [wedge_test("marl-400/2026-03-14")]), make_stock(TERN, [short]))
    )
    tern = found.of(TERN, "2026-03-14")

    assert tern.curve is None
    assert tern.curve_why == "5 different exposures were read, and a curve takes at least 6"
    assert tern.measures["gamma"].why == tern.curve_why
    assert tern.measures["speed_from_reference"].why == tern.curve_why
    assert tern.measures["base_plus_fog"].value == pytest.approx(0.25)
    assert tern.against_reference["base_plus_fog"].verdict == "no measurable difference"
    assert len(tern.steps) == 5


def test_a_reference_without_a_curve_has_no_speed_to_set_against() -> None:
    """The reason says that it is the reference's."""
    short = wedge_test("marl-400/2026-03-14", steps=steps_of(toe())[:5])
    found = measure_series(
        wedge_series(make_stock(MARL, [short]), make_stock(TERN, [wedge_test("tern-100/2026-03-14")]))
    )

    assert found.of(TERN, "2026-03-14").measures["speed_from_reference"].why == (
        "the reference has no speed point: 5 different exposures were read, and a curve takes at least 6"
    )
    assert found.of(MARL, "2026-03-14").measures["speed_from_reference"].why == (
        "5 different exposures were read, and a curve takes at least 6"
    )


def test_relative_curves_on_different_wedges_have_no_speed_between_them() -> None:
    """On the same wedge they do."""
    marl = make_stock(MARL, [wedge_test("marl-400/2026-03-14", absolute=False)])
    same = make_stock(TERN, [wedge_test("tern-100/2026-03-14", absolute=False)])
    other = make_stock(TERN, [wedge_test("tern-100/2026-03-14", absolute=False, wedge="long-31")])

    on_same = measure_series(wedge_series(marl, same)).of(TERN, "2026-03-14")
    on_other = measure_series(wedge_series(marl, other)).of(TERN, "2026-03-14")

    assert on_same.measures["speed_from_reference"].value == pytest.approx(0.0, abs=1e-9)
    assert on_other.measures["speed_from_reference"].why == "both log exposures are relative, and not on the same wedge"
    assert on_other.against_reference["speed_point"].verdict == "not measured"


def test_the_scatter_of_repeats_widens_verdicts_and_comparative_measures() -> None:
    """From three stocks with repeats on; the reference stays at zero."""

    def repeated(slug: str, places: tuple[float, float]) -> object:
        return make_stock(
            slug,
            [
                wedge_test(f"{slug}/2026-03-14", toe(place=places[0])),
                wedge_test(f"{slug}/2026-04-14", toe(place=places[1]), repeat=True),
            ],
        )

    stocks = [
        repeated(MARL, (-2.2, -2.1)),
        repeated(TERN, (-2.0, -2.1)),
        repeated("vole-50", (-1.9, -1.8)),
    ]
    few = measure_series(wedge_series(*stocks[:2]))  # type: ignore[arg-type]
    many = measure_series(wedge_series(*stocks))  # type: ignore[arg-type]

    assert few.scatter == {}
    scatter = many.scatter["speed_point"]
    assert (scatter.degrees_of_freedom, scatter.stocks) == (3, 3)
    assert scatter.sigma == pytest.approx(0.1 / np.sqrt(2), rel=0.01)
    before, after = (
        findings.of(TERN, "2026-03-14").measures["speed_from_reference"].half_width for findings in (few, many)
    )
    assert before is not None
    assert after is not None
    # Student's factor at 3 degrees of freedom is 3.182; the two reading errors add a little.
    assert after == pytest.approx(np.hypot(before, 3.182 * np.sqrt(2) * scatter.sigma / np.log10(2)), rel=0.01)
    assert many.of(MARL, "2026-04-14").measures["speed_from_reference"].half_width == 0.0
    verdict = many.of(TERN, "2026-03-14").against_reference["speed_point"]
    assert verdict.verdict == "no measurable difference"


def test_readings_that_scatter_too_far_are_remarked_on() -> None:
    """The remark stands on the test."""
    rough = wedge_test("tern-100/2026-03-14", steps=steps_of(toe(), error=0.08))
    found = measure_series(wedge_series(make_stock(TERN, [rough])))

    assert [remark.mend for remark in found.of(TERN, "2026-03-14").remarks] == [
        "read the steps again, or state the densitometer's repeatability as it is"
    ]
