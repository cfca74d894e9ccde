"""What the program finds in the demo series against what is true of it."""

from functools import cache
from pathlib import Path

from scipy.optimize import brentq

from basefog.measure import measure_series, put_into_findings
from basefog.picture import see_scans
from basefog.read import read_series
from basefog.records.content import Series
from basefog.records.findings import Findings, Quantity
from simulation.expected import compute_expected
from simulation.truths import TESTS, compute_time_factor

CONTENT = Path(__file__).parents[2] / "content"


@cache
def _series() -> Series:
    reading = read_series(CONTENT)
    wrong = [problem for problem in reading.problems if problem.level == "problem"]

    assert wrong == []
    assert reading.series is not None
    return reading.series


@cache
def _findings() -> Findings:
    return measure_series(_series())


@cache
def _with_scans() -> Findings:
    seen = see_scans(_series(), CONTENT)
    return put_into_findings(seen.series, _findings(), seen.figures)


def _holds(quantity: Quantity, truth: float) -> bool:
    assert quantity.low is not None
    assert quantity.high is not None
    return quantity.low <= truth <= quantity.high


def test_the_demo_reads_without_problems() -> None:
    """The demo series is valid, with a remark or two as in real life."""
    assert len(_series().stocks) == 12
    assert len(_series().remarks) <= 5


def test_true_speed_points_and_gradients_lie_in_their_intervals() -> None:
    """Of 47 true values some 95 % lie in the measured intervals: at least 41, which chance misses once in 90 tries."""
    held: list[bool] = []
    for test in TESTS:
        measures, expected = _findings().tests[test.key].measures, compute_expected(test)
        held.append(_holds(measures["average_gradient"], expected.average_gradient))
        if expected.speed_point is not None:
            held.append(_holds(measures["speed_point"], expected.speed_point))

    assert len(held) == 47
    assert sum(held) >= 41


def test_no_true_value_lies_far_outside() -> None:
    """Where an interval misses the truth, it misses by less than its own width."""
    for test in TESTS:
        measures, expected = _findings().tests[test.key].measures, compute_expected(test)
        gradient = measures["average_gradient"]
        assert gradient.value is not None
        assert gradient.half_width is not None

        assert abs(gradient.value - expected.average_gradient) < 3 * gradient.half_width


def test_true_patches_lie_in_their_intervals() -> None:
    """How light each film renders each patch is found as often as the intervals promise, nine times in ten at least."""
    held = [
        _holds(finding.stops_from_grey, compute_expected(test).stops_from_grey[patch])
        for test in TESTS
        for patch, finding in sorted(_findings().tests[test.key].patches.items())
        if patch != "grey" and finding.stops_from_grey.value is not None
    ]

    assert len(held) > 60
    assert sum(held) >= 0.9 * len(held)


def test_an_exposure_that_is_not_known_gives_no_speed() -> None:
    """The stock exposed under a new, unmeasured lamp has contrast but no speed, and is told why."""
    measures = _findings().tests["dimity-50/2026-06-06"].measures

    assert measures["average_gradient"].value is not None
    assert measures["iso_speed"].value is None
    assert measures["iso_speed"].why


def test_the_weak_tank_shows_in_the_retest() -> None:
    """The retest out of the weak tank moved up in contrast by more than error, as the truths have it."""
    moved = _findings().tests["gannick-1600/2026-07-04"].movement["average_gradient"]

    assert moved.verdict == "higher"


def test_the_early_shoulder_and_the_straight_line_are_told_apart() -> None:
    """The soft shoulder is lower in the highlights, and the film weak in red renders red darker than the reference."""
    tests = _findings().tests

    assert tests["mossend-100/2026-06-20"].against_reference["highlight_gradient"].verdict == "lower"
    assert tests["fennick-80/2026-04-18"].patches["red"].against_reference.verdict == "lower"


def test_the_matching_time_is_near_the_stocks_own() -> None:
    """The family of development times brackets the time that truly gives the reference's gradient."""
    matching = _findings().tests["larkspar-125/2026-05-09"].measures["matching_time"]
    by_key = {test.key: test for test in TESTS}
    wanted = compute_expected(by_key["corvane-200/2026-03-07"]).average_gradient
    own = by_key["larkspar-125/2026-05-09"].film.average_gradient
    true_min = brentq(lambda time: own * compute_time_factor(time, 8.5) - wanted, 6.0, 11.0)

    assert _holds(matching, true_min)


def test_true_granularities_lie_in_their_intervals() -> None:
    """Each film's granularity at net density 1.0 is found in ten scans of eleven at least."""
    held = []
    for test in TESTS:
        truth = compute_expected(test).rms_granularity
        if truth is not None:
            found = _with_scans().tests[test.key].measures["rms_granularity"]
            held.append(_holds(found, truth))

    assert len(held) == 11
    assert sum(held) >= 10


def test_true_sharpness_lies_near_the_intervals() -> None:
    """Lens, film and scanner together are found to a tenth; the drawing's resampling takes a little off."""
    for test in TESTS:
        truth = compute_expected(test).mtf50
        if truth is not None:
            found = _with_scans().tests[test.key].measures["mtf50"].value
            assert found is not None
            assert abs(found - truth) < 0.10 * truth
