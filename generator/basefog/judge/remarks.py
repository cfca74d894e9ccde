"""What contradicts itself without being wrong for certain: told beside the test, so that no slip passes silently."""

import math
from collections.abc import Mapping

from basefog.records.content import Test
from basefog.records.findings import Comparison, Quantity, Remark
from basefog.records.numbers import fixed, round_to

LARGE_DISAGREEMENT_STOPS = 2 / 3
"""Stops by which speeds from wedge and bracket differ before it is told: shapes of toes make less (project)."""

FAR = {"speed_point": 0.20, "base_plus_fog": 0.10, "average_gradient": 0.15}
"""How far a figure moves, in its unit (a gradient as a share), before a retest is far from the one before (project)."""


def remark_on_contradictions(
    measures: Mapping[str, Quantity],
    before: Mapping[str, Quantity] | None,
    movement: Mapping[str, Comparison],
    test: Test,
) -> tuple[Remark, ...]:
    """Return the remarks on a test whose figures contradict each other, or those of the test before it.

    Arguments: the test's `measures`, those of the test it replaces or repeats, and what moved.
    """
    return (*_remark_on_speeds(measures), *_remark_on_moves(before or {}, movement, test))


def _remark_on_speeds(measures: Mapping[str, Quantity]) -> tuple[Remark, ...]:
    """Return a remark where the wedge makes the film faster and the bracket slower, or the other way round."""
    wedge, match = measures["speed_from_reference"], measures["shadow_match"]
    if wedge.value is None or match.value is None:
        return ()
    apart = wedge.value + match.value
    error = math.hypot(wedge.half_width or 0.0, match.half_width or 0.0)
    if abs(apart) <= max(error, LARGE_DISAGREEMENT_STOPS):
        return ()
    return (
        Remark(
            message=f"the wedge gives a speed of {round_to(wedge.value, 2):+.2f} stops from the "
            f"reference and the bracket "
            f"{round_to(-match.value, 2):+.2f}: they disagree by {fixed(abs(apart), 2)} stops, their "
            f"error together is {fixed(error, 2)}",
            mend="look whether lux_s and the wedge are those of this test, and whether the frames' stops are right",
        ),
    )


def _remark_on_moves(
    before: Mapping[str, Quantity], movement: Mapping[str, Comparison], test: Test
) -> tuple[Remark, ...]:
    """Return a remark for each figure that a retest or repeat has far from the test before it, beyond error."""
    remarks = []
    for name, far in FAR.items():
        move, old = movement.get(name), before.get(name)
        if move is None or move.difference is None or move.verdict not in {"higher", "lower"} or old is None:
            continue
        limit = far * abs(old.value or 0.0) if name == "average_gradient" else far
        if abs(move.difference) <= limit:
            continue
        remarks.append(
            Remark(
                message=f"{NAMES[name]} moved by {round_to(move.difference, 2):+.2f} from the test of "
                f"{test.replaces or 'the repeat before'}: more than tests of one film usually do",
                mend="look for a slip in either test; if there is none, say in departures what was different",
            )
        )
    return tuple(remarks)


NAMES = {"speed_point": "the speed point", "base_plus_fog": "base plus fog", "average_gradient": "the average gradient"}
