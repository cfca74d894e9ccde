"""All tests of a series at once: scatter, differences, how firm they are, movement, places, what would settle them."""

from basefog.judge.any_two import compare_any_two
from basefog.judge.compare import WHY_NO_DIFFERENCE, Rule, compare, not_measured
from basefog.judge.find import find_findings
from basefog.judge.open_verdicts import OpenVerdict, Repeats, list_open, rank_repeats
from basefog.judge.places import Places, find_places
from basefog.judge.traits import IN_LOGARITHMS, ON_THE_AXIS, RELATIVE_SCATTER, has_difference
from basefog.judge.verdicts import rule_of

__all__ = [
    "IN_LOGARITHMS",
    "ON_THE_AXIS",
    "RELATIVE_SCATTER",
    "WHY_NO_DIFFERENCE",
    "OpenVerdict",
    "Places",
    "Repeats",
    "Rule",
    "compare",
    "compare_any_two",
    "find_findings",
    "find_places",
    "has_difference",
    "list_open",
    "not_measured",
    "rank_repeats",
    "rule_of",
]
