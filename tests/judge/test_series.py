"""A whole series from its readings to its findings: what each test is told, and what it is set against."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from basefog.judge import find_findings
from basefog.records.content import Batch, Series, Stock
from basefog.records.findings import Comparison, Findings
from basefog.records.vocabulary import MEASURES
from measure.bench_content import PLACE, make_stock
from measure.wedge_films import steps_of, toe, wedge_series, wedge_test

MARL, TERN = "marl-400", "tern-100"


def find(series: Series) -> Findings:
    return find_findings(series, {})


def two_stocks(**also: object) -> Findings:
    """Return the findings of a reference and a stock one stop slower."""
    slower = steps_of(toe(place=-2.2 + np.log10(2)), **also)  # type: ignore[arg-type]
    return find(
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
    found = find(wedge_series(make_stock(MARL, [wedge_test("marl-400/2026-03-14", steps=steps)])))

    listed = found.of(MARL, "2026-03-14").steps

    assert [step.step for step in listed] == [str(number) for number in range(1, 22) if number != 3]
    assert {step.readings for step in listed} == {2}
    assert listed[-1].density == pytest.approx(0.25 + float(toe()(np.array([0.0]))[0]))


def test_the_same_series_gives_the_same_numbers_whatever_the_order() -> None:
    """Readings enter sorted: files in another order, or more stocks beside, change no digit."""
    alone = wedge_test("tern-100/2026-03-14", steps=steps_of(toe(), replicates=3, error=0.01))
    shuffled = replace(alone, wedge=replace(alone.wedge, steps=tuple(reversed(alone.wedge.steps))))  # type: ignore[type-var,union-attr]
    one = find(wedge_series(make_stock(TERN, [alone])))
    other = find(wedge_series(make_stock(TERN, [shuffled]), make_stock("vole-50", [wedge_test("vole-50/2026-03-14")])))

    assert one.of(TERN, "2026-03-14").measures == other.of(TERN, "2026-03-14").measures
    assert one.of(TERN, "2026-03-14").curve is not None
    assert (one.of(TERN, "2026-03-14").curve.low == other.of(TERN, "2026-03-14").curve.low).all()  # type: ignore[union-attr]


def test_tests_that_are_not_current_are_told_by_their_own_figures() -> None:
    """What a retest replaced keeps its verdict against the reference; of the reference's own tests none has one."""
    tests = {
        slug: [
            replace(wedge_test(f"{slug}/2026-03-14", toe(gradient=old)), replaced_by="2026-05-02"),
            wedge_test(f"{slug}/2026-05-02", toe(gradient=0.70), replaces="2026-03-14"),
        ]
        for slug, old in ((MARL, 0.50), (TERN, 0.60))
    }
    found = find(wedge_series(*(make_stock(slug, of_stock) for slug, of_stock in tests.items())))
    old = found.of(TERN, "2026-03-14")

    assert not old.current
    assert old.against_reference["gamma"].verdict == "lower"
    assert old.against_reference["gamma"].difference == pytest.approx(-0.10, abs=0.005)
    assert old.against_reference["gamma"].to_settle is None
    assert found.of(TERN, "2026-05-02").against_reference["gamma"].verdict == "no measurable difference"
    assert {test.against_reference == {} for test in found.tests.values() if test.stock == MARL} == {True}


def test_a_withdrawn_reference_leaves_every_verdict_not_measured() -> None:
    """The measures themselves are still told."""
    withdrawn = wedge_test("marl-400/2026-03-14", withdrawn="light leak")
    marl = replace(make_stock(MARL, [withdrawn]), current=None)
    found = find(wedge_series(marl, make_stock(TERN, [wedge_test("tern-100/2026-03-14")])))
    tern = found.of(TERN, "2026-03-14")

    assert found.reference is None
    assert found.of_reference is None
    assert tern.reference is None
    assert {comparison.verdict for comparison in tern.against_reference.values()} == {"not measured"}
    assert tern.measures["speed_from_reference"].why == "the reference has no current test"
    assert tern.measures["gamma"].value == pytest.approx(0.65, abs=0.01)


def test_a_test_that_is_too_short_is_told_and_the_rest_goes_on() -> None:
    """Five steps make no curve: no drawing, a reason on every measure but base plus fog, and the steps as read."""
    short = wedge_test("tern-100/2026-03-14", steps=steps_of(toe())[:5])
    found = find(wedge_series(make_stock(MARL, [wedge_test("marl-400/2026-03-14")]), make_stock(TERN, [short])))
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
    found = find(wedge_series(make_stock(MARL, [short]), make_stock(TERN, [wedge_test("tern-100/2026-03-14")])))

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

    on_same = find(wedge_series(marl, same)).of(TERN, "2026-03-14")
    on_other = find(wedge_series(marl, other)).of(TERN, "2026-03-14")

    assert on_same.measures["speed_from_reference"].value == pytest.approx(0.0, abs=1e-9)
    assert on_other.measures["speed_from_reference"].why == "both log exposures are relative, and not on the same wedge"
    assert on_other.against_reference["speed_point"].verdict == "not measured"


def test_the_scatter_of_repeats_widens_verdicts_and_comparative_measures() -> None:
    """From three stocks with repeats on; the reference stays at zero."""

    def repeated(slug: str, places: tuple[float, float]) -> Stock:
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
    few, many = find(wedge_series(*stocks[:2])), find(wedge_series(*stocks))
    tern, marl = many.of(TERN, "2026-04-14"), many.of(MARL, "2026-04-14")

    assert {scatter.source for scatter in few.scatter.values()} == {"assumed"}
    scatter = many.scatter["speed_point"]
    assert (scatter.degrees_of_freedom, scatter.stocks, scatter.source) == (3, 3, "repeats")
    # Each pair is 0.1 apart, of which the mean variance of reading a point is taken off.
    points = [test.measures["speed_point"].parts for test in many.tests.values()]
    reading = float(np.mean([parts.unshared for parts in points if parts is not None]))
    assert scatter.sigma == pytest.approx(np.sqrt(0.1**2 / 2 - reading), rel=0.01)
    # Student's factor at 3 degrees of freedom is 3.182; both means have half of one test's variance.
    point, reference = tern.pooled["speed_point"].parts, marl.pooled["speed_point"].parts
    assert point is not None
    assert reference is not None
    half = 3.182 * np.sqrt(point.unshared + reference.unshared + scatter.sigma**2 * (1 / 2 + 1 / 2))
    assert tern.pooled["speed_from_reference"].half_width == pytest.approx(half / np.log10(2), rel=1e-3)
    verdict = tern.against_reference["speed_point"]
    assert verdict.could_see == pytest.approx(half, rel=1e-3)
    assert verdict.verdict == "no measurable difference"
    assert verdict.counts == ("reading", "repeats")
    assert marl.measures["speed_from_reference"].half_width == 0.0


def test_a_stocks_figure_is_the_mean_of_its_group() -> None:
    """The current test carries it beside its own, with the names of the tests; the older ones have their own alone."""
    tests = [
        wedge_test("tern-100/2026-03-14", toe(gradient=0.60)),
        wedge_test("tern-100/2026-04-14", toe(gradient=0.64), repeat=True),
    ]
    found = find(wedge_series(make_stock(MARL, [wedge_test("marl-400/2026-03-14")]), make_stock(TERN, tests)))
    current, older = found.of(TERN, "2026-04-14"), found.of(TERN, "2026-03-14")

    assert current.group == ("2026-03-14", "2026-04-14")
    assert older.group == ()
    assert older.pooled == {}
    values = [test.measures["gamma"].value or 0.0 for test in (older, current)]
    assert current.pooled["gamma"].value == pytest.approx(sum(values) / 2)
    assert current.pooled["gamma"].tests == 2
    marl = found.of(MARL, "2026-03-14").measures["gamma"].value or 0.0
    assert current.against_reference["gamma"].difference == pytest.approx(sum(values) / 2 - marl)
    assert older.against_reference["gamma"].difference == pytest.approx(values[0] - marl)


def test_repeats_of_the_reference_serve_every_stock() -> None:
    """All verdicts are against the mean of the reference's tests, each of which has half a say in it."""
    of_reference = [
        wedge_test("marl-400/2026-03-14", toe(gradient=0.60)),
        wedge_test("marl-400/2026-04-14", toe(gradient=0.64), repeat=True),
    ]
    stock = make_stock(TERN, [wedge_test("tern-100/2026-03-14", toe(gradient=0.62, place=-2.0))])
    one = find(wedge_series(make_stock(MARL, of_reference[:1]), stock)).of(TERN, "2026-03-14")
    two = find(wedge_series(make_stock(MARL, of_reference), stock)).of(TERN, "2026-03-14")

    assert one.against_reference["gamma"].difference == pytest.approx(0.02, abs=0.003)
    assert two.against_reference["gamma"].difference == pytest.approx(0.0, abs=0.003)
    share = one.against_reference["gamma"].from_reference
    assert share is not None
    # r / (r + own) becomes r / 2 / (r / 2 + own).
    assert two.against_reference["gamma"].from_reference == pytest.approx(share / (2 - share), abs=0.03)
    assert 0.35 < share < 0.65
    assert two.reference == "marl-400/2026-04-14"


def test_strips_tell_the_scatter_until_repeats_do() -> None:
    """Seven batches whose strips differ widen the verdicts between tests of two batches, not those within one."""
    batches = tuple(
        Batch(
            id=f"tank-{number}",
            date=date(2026, 3, number + 1),
            developer=None,
            temperature_c=None,
            control_strip={"base": 0.24, "low": 0.42, "high": 1.60 + 0.04 * (number % 3)},
            notes=None,
            place=PLACE,
        )
        for number in range(7)
    )

    def judge(batch: str) -> Comparison:
        stocks = [
            make_stock(slug, [replace(test, developed=replace(test.developed, batch=tank))])
            for slug, tank in ((MARL, "tank-1"), (TERN, batch))
            for test in [wedge_test(f"{slug}/2026-03-14")]
        ]
        return find(replace(wedge_series(*stocks), batches=batches)).of(TERN, "2026-03-14").against_reference["gamma"]

    apart, together = judge("tank-2"), judge("tank-1")

    assert apart.counts == together.counts == ("reading", "batches")
    assert (apart.could_see or 0.0) > 1.5 * (together.could_see or 1.0)


def test_readings_that_scatter_too_far_are_remarked_on() -> None:
    """The remark stands on the test."""
    rough = wedge_test("tern-100/2026-03-14", steps=steps_of(toe(), error=0.08))
    found = find(wedge_series(make_stock(TERN, [rough])))

    assert [remark.mend for remark in found.of(TERN, "2026-03-14").remarks] == [
        "read the steps again, or state the densitometer's repeatability as it is"
    ]


def test_the_references_figures_that_count_from_itself() -> None:
    """The mean of its repeats is zero from itself too, and its print exposure is the one that was set."""
    tests = [
        wedge_test("marl-400/2026-03-14", base=(0.24,)),
        wedge_test("marl-400/2026-04-14", base=(0.26,), repeat=True),
    ]
    series = wedge_series(make_stock(MARL, tests), make_stock(TERN, [wedge_test("tern-100/2026-03-14", base=(0.25,))]))
    found = find(replace(series, enlarging=replace(series.enlarging, exposure_s=12.0)))
    marl, older = found.of(MARL, "2026-04-14"), found.of(MARL, "2026-03-14")

    assert marl.pooled["speed_from_reference"].value == 0.0
    assert (marl.pooled["print_exposure"].value, marl.measures["print_exposure"].value) == (12.0, 12.0)
    # Against the mean of the two, 0.25: the older one's margin takes 0.01 in density less.
    assert older.measures["print_exposure"].value == pytest.approx(12.0 * 10**-0.01)
    assert found.of(TERN, "2026-03-14").measures["print_exposure"].value == pytest.approx(12.0)
    assert marl.movement["print_exposure"].difference == pytest.approx(12.0 * (10**0.01 - 10**-0.01))
