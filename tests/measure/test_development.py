import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.measure.development import (
    DevelopedContrast,
    find_family,
    measure_matching_time,
    trace_contrast_time,
)
from basefog.measure.intervals import missing, quantity_from_draws
from basefog.measure.resampling import DRAWS
from basefog.records.findings import Quantity
from measure.bench_content import make_stock, make_test

ERROR = 0.01
MAIN = make_test("tern-100/2026-03-14", time_min=8.0)
FAMILY_IDS = ("2026-03-14", "2026-03-15", "2026-03-15-b", "2026-03-16")


def developed(
    test_id: str, time_min: float, gradient: float, *, error: float = ERROR, stock: str = "tern-100"
) -> DevelopedContrast:
    """Return a test with an average gradient that is uncertain by `error`."""
    test = make_test(f"{stock}/{test_id}", time_min=time_min, development_of=None if test_id == MAIN.id else MAIN.id)
    number = int(time_min * 1000) + len(test_id)
    draws = gradient + error * np.concatenate([[0.0], np.random.default_rng(number).standard_normal(DRAWS)])
    return DevelopedContrast(test=test, average_gradient=quantity_from_draws(draws, "1", why=""), draws=draws)


def family_of(times: Sequence[float], gradients: Sequence[float], *, error: float = ERROR) -> list[DevelopedContrast]:
    return [
        developed(test_id, time_min, gradient, error=error)
        for test_id, time_min, gradient in zip(FAMILY_IDS, times, gradients, strict=False)
    ]


def reference_of(gradient: float, error: float = ERROR) -> DevelopedContrast:
    test = make_test("marl-400/2026-01-10")
    draws = gradient + error * np.concatenate([[0.0], np.random.default_rng(7).standard_normal(DRAWS)])
    return DevelopedContrast(test=test, average_gradient=quantity_from_draws(draws, "1", why=""), draws=draws)


def on_log_time(time_min: float, *, at_ten: float = 0.62, slope: float = 0.8) -> float:
    """Return an average gradient that grows in a straight line with log time."""
    return at_ten + slope * math.log10(time_min / 10)


def test_matching_time_of_a_straight_line_is_exact() -> None:
    """Where contrast grows in a straight line with log time, the match lies where the line has it."""
    times = [6.0, 8.0, 11.0]
    expected = 9.0

    found = measure_matching_time(
        MAIN, family_of(times, [on_log_time(t) for t in times]), reference_of(on_log_time(9.0))
    )

    assert found.value == pytest.approx(expected, abs=1e-4)
    assert found.unit == "min"
    assert found.low is not None
    assert found.high is not None
    assert found.low < expected < found.high


def test_errors_of_family_and_reference_widen_the_match() -> None:
    """With exact tests of the family the reference's own error is what remains, through the slope of the line."""
    times = [6.0, 8.0, 11.0]
    family = family_of(times, [on_log_time(t) for t in times], error=1e-6)
    expected = 1.96 * ERROR / 0.8 * math.log(10) * 9.0

    alone = measure_matching_time(MAIN, family, reference_of(on_log_time(9.0)))
    both = measure_matching_time(
        MAIN, family_of(times, [on_log_time(t) for t in times]), reference_of(on_log_time(9.0))
    )

    assert alone.half_width == pytest.approx(expected, rel=0.1)
    assert both.half_width is not None
    assert both.half_width > 1.15 * expected


@settings(max_examples=25, deadline=None)
@given(share=st.floats(0.0, 1.0), slope=st.floats(0.2, 1.5))
def test_match_stays_inside_the_tested_times(share: float, slope: float) -> None:
    """Any contrast between those of the shortest and longest time is matched between them."""
    times = [5.0, 7.0, 10.0, 14.0]
    gradients = [on_log_time(t, slope=slope) for t in times]
    aim = gradients[0] + share * (gradients[-1] - gradients[0])

    found = measure_matching_time(MAIN, family_of(times, gradients), reference_of(aim))

    assert found.value is not None
    assert 5.0 - 1e-3 <= found.value <= 14.0 + 1e-3


def test_contrast_that_dips_by_its_error_is_made_to_rise() -> None:
    """A dip of the size of the error does not make two matching times of one."""
    contrast = trace_contrast_time(family_of([6.0, 8.0, 9.0, 12.0], [0.50, 0.61, 0.60, 0.70]), 0.62)

    assert contrast is not None
    assert (np.diff(contrast.average_gradient) >= 0).all()


def test_contrast_time_curve_runs_through_the_tests() -> None:
    """The curve spans the tested times, its points are the tests by time, and the reference's aim goes with it."""
    family = family_of([6.0, 8.0, 11.0], [0.48, 0.56, 0.65], error=1e-4)

    contrast = trace_contrast_time(family, 0.60)

    assert contrast is not None
    assert [(point.test, point.time_min) for point in contrast.points] == [
        ("2026-03-14", 6.0),
        ("2026-03-15", 8.0),
        ("2026-03-15-b", 11.0),
    ]
    assert contrast.points[1].average_gradient is family[1].average_gradient
    assert (contrast.time_min[0], contrast.time_min[-1]) == pytest.approx((6.0, 11.0))
    assert np.interp([6.0, 8.0, 11.0], contrast.time_min, contrast.average_gradient) == pytest.approx(
        [0.48, 0.56, 0.65], abs=1e-3
    )
    assert contrast.reference_average_gradient == 0.60
    assert not contrast.time_min.flags.writeable


def test_two_tests_at_one_time_are_averaged_by_their_errors() -> None:
    """Two tests at one time are one point, the surer of them counting for more."""
    family = [
        developed("2026-03-14", 8.0, 0.60, error=0.001),
        developed("2026-03-15", 8.0, 0.70, error=0.1),
        developed("2026-03-16", 11.0, 0.80),
    ]

    contrast = trace_contrast_time(family, None)

    assert contrast is not None
    assert contrast.average_gradient[0] == pytest.approx(0.60, abs=0.001)
    assert len(contrast.points) == 3


def without_gradient(test_id: str, time_min: float) -> DevelopedContrast:
    test = make_test(f"tern-100/{test_id}", time_min=time_min)
    return DevelopedContrast(test=test, average_gradient=missing("it ends early"), draws=np.full(1 + DRAWS, np.nan))


def test_test_without_contrast_is_left_out_of_the_curve() -> None:
    """A time whose contrast is unknown stays among the points and bends no curve."""
    family = [*family_of([6.0, 8.0], [0.48, 0.56]), without_gradient("2026-03-16", 11.0)]

    contrast = trace_contrast_time(family, None)

    assert contrast is not None
    assert contrast.time_min[-1] == pytest.approx(8.0)
    assert contrast.points[2].average_gradient.why == "it ends early"


def test_draws_that_end_early_count_as_the_estimate() -> None:
    """Draws whose curve ended before the second point take the test's own estimate: the match is still had."""
    family = family_of([6.0, 11.0], [0.48, 0.65])
    holed = family[1].draws.copy()
    holed[5:40] = np.nan
    family[1] = DevelopedContrast(test=family[1].test, average_gradient=family[1].average_gradient, draws=holed)

    found = measure_matching_time(MAIN, family, reference_of(0.56))

    assert found.value is not None
    assert found.note is None


WHY_NOT = [
    (family_of([8.0], [0.6]), reference_of(0.62), "no other development time was tested (development_of)"),
    (family_of([6.0, 8.0], [0.5, 0.6]), None, "the reference has no current test"),
    (
        family_of([6.0, 8.0], [0.5, 0.6]),
        reference_of(0.62),
        "the reference's average gradient 0.62 lies outside the tested times, which give 0.50 to 0.60",
    ),
    (
        family_of([6.0, 8.0], [0.6, 0.6]),
        reference_of(0.6),
        "the average gradient does not grow with development time",
    ),
    (
        family_of([8.0, 8.0], [0.6, 0.62]),
        reference_of(0.61),
        "fewer than two development times have an average gradient",
    ),
    (
        family_of([6.0, 8.0], [0.5, 0.6]),
        without_gradient("2026-01-10", 8.0),
        "the reference has no average gradient: it ends early",
    ),
]


@pytest.mark.parametrize(("family", "reference", "why"), WHY_NOT)
def test_missing_time_says_why(family: list[DevelopedContrast], reference: DevelopedContrast | None, why: str) -> None:
    """Outside the tested times, or without two of them, there is no time, never an extrapolated one."""
    assert measure_matching_time(MAIN, family, reference) == Quantity(
        value=None, low=None, high=None, unit="min", why=why
    )


def test_one_time_makes_no_curve() -> None:
    """Fewer than two times with a contrast draw no curve."""
    assert trace_contrast_time(family_of([8.0], [0.6]), 0.6) is None
    assert trace_contrast_time([], 0.6) is None


def test_reference_has_no_matching_time() -> None:
    """The reference is what the others are matched to."""
    reference = reference_of(0.6)

    found = measure_matching_time(reference.test, [reference], reference)

    assert found.why == "this is the reference, whose contrast the others are matched to"


def test_time_is_told_on_the_main_test_only() -> None:
    """A test that varies the development time of another points to that one."""
    child = developed("2026-03-16", 11.0, 0.7)

    found = measure_matching_time(child.test, [], reference_of(0.6))

    assert found.why == "told on the test whose development time this one varies, 2026-03-14"


def test_family_is_a_test_and_its_variations_by_time() -> None:
    """Tests that vary the development time of another stand with it, by time; withdrawn ones are left out."""
    longer = make_test("tern-100/2026-03-15", time_min=11.0, development_of=MAIN.id)
    shorter = make_test("tern-100/2026-03-16", time_min=6.0, development_of=MAIN.id)
    spoilt = make_test("tern-100/2026-03-17", time_min=14.0, development_of=MAIN.id, withdrawn="fogged")
    other = make_test("tern-100/2026-03-18", time_min=9.0, development_of="2026-02-01")
    stock = make_stock("tern-100", [MAIN, longer, shorter, spoilt, other])

    assert find_family(stock, MAIN) == (shorter, MAIN, longer)
    assert find_family(make_stock("tern-100", [MAIN]), MAIN) == (MAIN,)


def test_intervals_cover_the_true_time() -> None:
    """Over 500 families of three times the 95 % interval holds the true matching time in 93 to 97 %."""
    generator = np.random.default_rng(20260314)
    times, true = [6.0, 8.5, 12.0], 9.5

    def gradient(time_min: float) -> float:
        return 0.95 * (1 - math.exp(-0.12 * time_min))

    def measure_again(number: int) -> bool:
        family = [
            _seen(f"tern-100/2026-03-14-{number}-{time_min}", time_min, gradient(time_min), generator)
            for time_min in times
        ]
        reference = _seen(f"marl-400/2026-01-10-{number}", 8.0, gradient(true), generator)
        found = measure_matching_time(family[0].test, family, reference)
        return found.low is not None and found.high is not None and found.low <= true <= found.high

    covered = float(np.mean([measure_again(number) for number in range(500)]))

    assert 0.93 <= covered <= 0.97


def _seen(key: str, time_min: float, truth: float, generator: np.random.Generator) -> DevelopedContrast:
    """Return a test whose gradient was measured with an error, and draws that spread by it."""
    errors = ERROR * generator.standard_normal(1 + DRAWS)
    draws = truth + errors[0] + np.concatenate([[0.0], errors[1:]])
    return DevelopedContrast(
        test=make_test(key, time_min=time_min), average_gradient=quantity_from_draws(draws, "1", why=""), draws=draws
    )
