"""Places are ranges, by the rule of verdicts between every two."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.judge.compare import Rule, compare
from basefog.judge.places import find_places
from basefog.measure.intervals import missing
from basefog.records.findings import Quantity
from judge.figures import figure

RULE = Rule(measure="gamma", student=1.96, firm=None, source="repeats")


def test_what_cannot_be_told_apart_shares_its_places() -> None:
    """Two within error of each other stand second to third, behind one that is higher beyond error."""
    assert find_places([figure(0.60), figure(0.605), figure(0.70)], RULE) == ((2, 3), (2, 3), (1, 1))


def test_what_has_no_value_has_no_place() -> None:
    """A stock without a value has none, and counts for nobody else."""
    assert find_places([figure(0.6), missing("flat"), figure(0.7)], RULE) == ((2, 2), None, (1, 1))


def test_the_wedge_in_common_tells_stocks_apart() -> None:
    """Two that hang alike on one wedge are told apart though each alone is less sure than their distance."""
    steps = {"5": 10.0}
    pair = [figure(value, by_step=steps, reading=0.01) for value in (0.60, 0.64)]

    assert find_places(pair, RULE) == ((2, 2), (1, 1))


def test_only_stocks_on_one_axis_are_told_apart() -> None:
    """Values counted from other zeros are not told apart, however far they are."""
    assert find_places([figure(0.1), figure(0.9)], RULE, axes=("a", "b")) == ((1, 2), (1, 2))


def test_a_lower_bound_is_behind_nobody() -> None:
    """At least 0.6 may be more than 0.9."""
    assert find_places([figure(0.6, bound="lower"), figure(0.9)], RULE) == ((1, 2), (1, 2))


FIGURES = st.lists(
    st.builds(
        lambda value, reading, slope, scatter, tests: figure(
            value, reading=reading, by_step={"1": slope}, scatter=scatter, tests=tests
        ),
        st.floats(0, 1),
        st.floats(0.001, 0.1),
        st.floats(-3, 3),
        st.floats(0, 0.05),
        st.integers(1, 3),
    ),
    min_size=2,
    max_size=6,
)


@given(FIGURES)
def test_places_are_counts_of_verdicts(figures: list[Quantity]) -> None:
    """The first place is one more than those with the verdict higher against it, the last all less those lower."""
    verdicts = [[compare(RULE, one, other).verdict for other in figures] for one in figures]
    higher = np.array([[verdict == "higher" for verdict in row] for row in verdicts])
    expected = tuple(
        (1 + int(higher[:, place].sum()), len(figures) - int(higher[place].sum())) for place in range(len(figures))
    )

    assert find_places(figures, RULE) == expected


def test_zero_by_definition_is_told_apart_by_the_verdict() -> None:
    """The reference's own zero has no error; a stock's interval against it tells the two apart."""
    zero = Quantity(value=0.0, low=0.0, high=0.0, unit="stops")

    assert find_places([zero, figure(0.05), figure(0.01)], RULE) == ((2, 3), (1, 1), (2, 3))


@pytest.mark.parametrize("source", ["batches", "repeats"])
def test_one_batch_tells_stocks_apart(source: str) -> None:
    """Scatter between batches does not part two stocks of one tank; scatter of repeats does."""
    rule = Rule(measure="gamma", student=1.96, firm=None, source=source)  # type: ignore[arg-type]
    pair = [figure(value, scatter=0.1, batches=("tank-2",)) for value in (0.60, 0.64)]
    expected = ((2, 2), (1, 1)) if source == "batches" else ((1, 2), (1, 2))

    assert find_places(pair, rule) == expected
