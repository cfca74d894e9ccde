"""What the program finds in the demo series against what is true of it.

How many of how many were found is told by `pytest -rP`. The demo is one draw of chance: what counts from the reference
has the reference's own error in every figure alike, and is held to its size rather than to a share.
"""

import math
import sys
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

from basefog.judge import find_findings
from basefog.read import read_series
from basefog.records.content import Series
from basefog.records.findings import Comparison, Findings, Quantity
from picture.seeing import see_scans
from simulation.expected import compute_expected
from simulation.grain import compute_scatter
from simulation.readings import compute_patch_log_h
from simulation.truths import TESTS, TestTruth, compute_time_factor

BY_KEY = {test.key: test for test in TESTS}
REFERENCE = BY_KEY["corvane-200/2026-03-07"]
REPEATS = [REFERENCE, BY_KEY["corvane-200/2026-05-16"], BY_KEY["corvane-200/2026-10-03"]]
"""The tests that the reference's figures are the mean of; the first alone has a bracket."""

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
    return find_findings(_series(), {})


@cache
def _with_scans() -> Findings:
    seen = see_scans(_series(), CONTENT)
    return find_findings(seen.series, seen.figures)


def _holds(found: Quantity | Comparison, truth: float) -> bool:
    assert found.low is not None
    assert found.high is not None
    return found.low <= truth <= found.high


def _rms(errors: Iterable[float]) -> float:
    return math.sqrt(float(np.mean(np.square(list(errors)))))


def _tell(what: str, held: list[bool], errors: list[float], unit: str) -> None:
    sys.stdout.write(f"{what}: {sum(held)} of {len(held)} true values held, rms error {_rms(errors):.3f} {unit}\n")


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
    """How light each film renders each patch is found as often as the intervals promise, nine times in ten at least.

    From the whole bracket it is found to a twentieth of a stop (root mean square).
    """
    pairs = [
        (found, compute_expected(test).stops_from_grey[patch])
        for test in TESTS
        for patch, finding in sorted(_findings().tests[test.key].patches.items())
        if patch != "grey" and (found := finding.stops_from_grey).value is not None
    ]
    held, errors = [_holds(*pair) for pair in pairs], [(found.value or 0.0) - truth for found, truth in pairs]
    _tell("stops from grey", held, errors, "stop")

    assert len(held) > 90
    assert sum(held) >= 0.9 * len(held)
    assert _rms(errors) <= 0.05


def test_true_differences_of_patches_lie_in_their_intervals() -> None:
    """How much lighter than the reference each film renders each patch: nine times in ten, to a twentieth of a stop."""
    of_reference = compute_expected(REFERENCE).stops_from_grey
    pairs = [
        (found, compute_expected(test).stops_from_grey[patch] - of_reference[patch])
        for test in TESTS
        for patch, finding in sorted(_findings().tests[test.key].patches.items())
        if (found := finding.against_reference).difference is not None
    ]
    held, errors = [_holds(*pair) for pair in pairs], [(found.difference or 0.0) - truth for found, truth in pairs]
    _tell("patches against the reference", held, errors, "stop")

    assert len(held) > 80
    assert sum(held) >= 0.9 * len(held)
    assert _rms(errors) <= 0.05


def _true_match(test: TestTruth) -> float:
    """Return the stops that give a film the reference's net shadow density, by the true curves and exposures."""
    target = float(REFERENCE.curve().net_density(np.array(compute_patch_log_h(REFERENCE, "deep", 0.0))))
    place: float = brentq(lambda x: float(test.curve().net_density(np.array(x))) - target, -6.0, 3.0)
    metered = compute_patch_log_h(test, "deep", 0.0)
    return (place - metered) / math.log10(2) + math.log2(REFERENCE.exposure_index / test.exposure_index)


def test_true_shadow_matches_are_found() -> None:
    """The light that gives a film the reference's shadows is found to 0.10 stop, and never two limits off.

    All matches count from one bracket of the reference: its error is in all of them alike.
    """
    matched = [test for test in TESTS if test.bracket and test.key != REFERENCE.key]
    pairs = [(_findings().tests[test.key].measures["shadow_match"], _true_match(test)) for test in matched]
    held, errors = [_holds(*pair) for pair in pairs], [(found.value or 0.0) - truth for found, truth in pairs]
    _tell("shadow match", held, errors, "stop")

    assert len(held) == 15
    assert sum(held) >= 12
    assert _rms(errors) <= 0.10
    assert all(abs(error) < 2 * (found.half_width or 0.0) for (found, _), error in zip(pairs, errors, strict=True))


def test_true_speeds_from_the_reference_are_found() -> None:
    """Stops faster or slower than the mean of the reference's three tests are found to 0.10 stop."""
    mean = float(np.mean([compute_expected(test).speed_point or 0.0 for test in REPEATS]))
    pairs = [
        (_findings().tests[test.key].measures["speed_from_reference"], (mean - point) / math.log10(2))
        for test in TESTS
        if (point := compute_expected(test).speed_point) is not None and test.key != REFERENCE.key
    ]
    held, errors = [_holds(*pair) for pair in pairs], [(found.value or 0.0) - truth for found, truth in pairs]
    _tell("speed from the reference", held, errors, "stop")

    assert len(held) == 22
    assert sum(held) >= 0.7 * len(held)
    assert _rms(errors) <= 0.10


def test_true_print_exposures_are_found() -> None:
    """The time that prints base plus fog to the reference's black is found to 3 %: a tenth of a third of a stop."""
    base = float(np.mean([compute_expected(test).base_plus_fog for test in REPEATS]))
    pairs = [
        (
            _findings().tests[test.key].measures["print_exposure"],
            14.0 * 10 ** (compute_expected(test).base_plus_fog - base),
        )
        for test in TESTS
        if test.key != REFERENCE.key
    ]
    held = [_holds(*pair) for pair in pairs]
    errors = [100 * ((found.value or 0.0) / truth - 1) for found, truth in pairs]
    _tell("print exposure", held, errors, "%")

    assert len(held) == 23
    assert _rms(errors) <= 3.0


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
    wanted = float(np.mean([compute_expected(test).average_gradient for test in REPEATS]))
    own = BY_KEY["larkspar-125/2026-05-09"].film.average_gradient
    true_min = brentq(lambda time: own * compute_time_factor(time, 8.5) - wanted, 6.0, 11.0)

    assert _holds(matching, true_min)


def test_true_granularities_lie_in_their_intervals() -> None:
    """Each film's granularity at net density 1.0 is found in ten scans of eleven at least, whatever it was read at."""
    pairs = [
        (_with_scans().tests[test.key].measures["rms_granularity"], truth)
        for test in TESTS
        if (truth := compute_expected(test).rms_granularity) is not None
    ]
    held = [_holds(*pair) for pair in pairs]
    _tell("granularity at 1.0", held, [100 * ((found.value or 0.0) / truth - 1) for found, truth in pairs], "%")

    assert len(held) == 11
    assert sum(held) >= 10


def test_granularity_as_read_is_that_of_its_density() -> None:
    """What was read is the film's granularity at the net density of the view, by the model of discs, within 3.5 %."""
    errors = []
    for test in TESTS:
        truth = compute_expected(test).rms_granularity
        if truth is not None:
            found = _with_scans().tests[test.key].measures["rms_granularity"]
            assert found.as_read is not None
            assert found.at_density is not None
            there = truth * float(compute_scatter(np.array([found.at_density]))[0])
            errors.append(100 * (found.as_read / there - 1))
    _tell("granularity as read", [abs(error) < 3.5 for error in errors], errors, "%")

    assert max(map(abs, errors)) < 3.5


def test_true_sharpness_lies_near_the_intervals() -> None:
    """Lens, film and scanner together are found to a tenth; the drawing's resampling takes a little off."""
    for test in TESTS:
        truth = compute_expected(test).mtf50
        if truth is not None:
            found = _with_scans().tests[test.key].measures["mtf50"].value
            assert found is not None
            assert abs(found - truth) < 0.10 * truth
