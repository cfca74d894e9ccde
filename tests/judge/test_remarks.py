"""What contradicts itself is told beside the test, and nothing else is."""

import pytest

from basefog.judge.compare import not_measured
from basefog.judge.remarks import remark_on_contradictions
from basefog.measure.intervals import missing
from basefog.records.findings import Comparison, Quantity, Remark
from basefog.records.vocabulary import VerdictWord
from judge.figures import figure
from measure.bench_content import make_test

TEST = make_test("tern-100/2026-03-14", replaces="2026-02-01")


def speeds(wedge: float | None, match: float | None, reading: float = 0.05) -> dict[str, Quantity]:
    return {
        name: missing("not read", "stops") if value is None else figure(value, reading=reading)
        for name, value in (("speed_from_reference", wedge), ("shadow_match", match))
    }


def told(measures: dict[str, Quantity]) -> tuple[Remark, ...]:
    return remark_on_contradictions(measures, None, {}, TEST)


def test_wedge_and_bracket_that_agree_are_not_told() -> None:
    """A film a stop slower by the wedge needs a stop more in the bracket: -1 and +1 are one finding."""
    assert told(speeds(-1.0, 1.0)) == ()
    assert told(speeds(-1.0, 1.6)) == ()
    assert told(speeds(1.0, -0.4)) == ()


@pytest.mark.parametrize(("wedge", "match"), [(1.0, 1.0), (-0.3, -0.4), (0.0, 0.7)])
def test_wedge_and_bracket_that_disagree_are_told(wedge: float, match: float) -> None:
    """Beyond two thirds of a stop (project), with both figures as speeds and by how much they differ."""
    (remark,) = told(speeds(wedge, match))

    assert f"{wedge:+.2f} stops" in remark.message
    assert f"the bracket {-match:+.2f}" in remark.message.replace("  ", " ")
    assert f"disagree by {abs(wedge + match):.2f} stops" in remark.message
    assert "lux_s" in remark.mend


def test_disagreement_within_error_is_not_told() -> None:
    """Two figures known to a stop each may differ by one."""
    assert told(speeds(1.0, 0.0, reading=0.5)) == ()


def test_one_speed_alone_contradicts_nothing() -> None:
    """Without wedge or without bracket."""
    assert told(speeds(2.0, None)) == told(speeds(None, 2.0)) == ()


def move(difference: float, verdict: VerdictWord | None = None) -> Comparison:
    word: VerdictWord = "higher" if difference > 0 else "lower"
    return Comparison(verdict=verdict or word, difference=difference, low=0.0, high=0.0, could_see=0.01)


BEFORE = {"speed_point": figure(-2.2), "base_plus_fog": figure(0.25), "average_gradient": figure(0.60)}


@pytest.mark.parametrize(
    ("measure", "within", "beyond"),
    [("speed_point", 0.19, 0.21), ("base_plus_fog", 0.09, 0.11), ("average_gradient", 0.089, 0.091)],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_a_move_beyond_what_tests_of_one_film_do_is_told(measure: str, within: float, beyond: float, sign: int) -> None:
    """From 0.20 in log exposure, 0.10 in base plus fog, 15 % of the gradient before (project), up or down."""
    quiet, loud = (
        remark_on_contradictions(speeds(None, None), BEFORE, {measure: move(sign * by)}, TEST)
        for by in (within, beyond)
    )

    assert quiet == ()
    assert len(loud) == 1
    assert f"{sign * beyond:+.2f} from the test of 2026-02-01" in loud[0].message
    assert "departures" in loud[0].mend


def test_a_move_within_error_is_not_told() -> None:
    """However far, where the verdict is no difference or was not measured."""
    moves = {"speed_point": move(0.5, "no measurable difference"), "average_gradient": not_measured("flat")}

    assert remark_on_contradictions(speeds(None, None), BEFORE, moves, TEST) == ()


def test_other_measures_may_move_as_they_like() -> None:
    """Grain, or a range, is not told; nor is anything without the figure before."""
    assert remark_on_contradictions(speeds(None, None), BEFORE, {"gamma": move(0.5)}, TEST) == ()
    assert remark_on_contradictions(speeds(None, None), {}, {"speed_point": move(0.5)}, TEST) == ()
    assert remark_on_contradictions(speeds(None, None), None, {"speed_point": move(0.5)}, TEST) == ()
