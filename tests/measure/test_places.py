"""Places among many tests: the same rule as a verdict between every two of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.measure.intervals import compare, missing
from basefog.measure.places import Places, find_places
from basefog.records.findings import Quantity, Scatter

SCATTER = Scatter(measure="average_gradient", sigma=0.03, degrees_of_freedom=6, stocks=3)


@st.composite
def quantities(draw: st.DrawFn) -> Quantity:
    """Draw a quantity that may lean to one side, be missing, have no interval, or be only a lower bound."""
    value = draw(st.integers(0, 12)) / 10
    down, up = draw(st.integers(0, 4)) / 20, draw(st.integers(0, 4)) / 20
    kind = draw(st.sampled_from(["plain"] * 5 + ["bound", "missing", "bare"]))
    if kind == "missing":
        return missing("the curve ends early")
    bare = kind == "bare"
    return Quantity(
        value=value,
        low=None if bare else value - down,
        high=None if bare else value + up,
        unit="1",
        bound="lower" if kind == "bound" else None,
    )


def count_places(verdicts: list[list[str]], known: list[int]) -> list[Places]:
    """Return places by counting verdicts, `verdicts[i][j]` being what i is against j."""
    return [
        (
            1 + sum(verdicts[j][i] == "higher" for j in known if j != i),
            len(known) - sum(verdicts[i][j] == "higher" for j in known if j != i),
        )
        for i in known
    ]


@given(st.lists(quantities(), max_size=9), st.sampled_from([None, SCATTER]))
def test_places_are_counted_verdicts(column: list[Quantity], scatter: Scatter | None) -> None:
    """First is one more than those that `compare` calls higher, last leaves out those that it calls lower."""
    known = [index for index, quantity in enumerate(column) if quantity.value is not None]
    verdicts: list[list[str]] = [[compare(one, other, scatter).verdict for other in column] for one in column]
    places = find_places(column, scatter)

    assert [places[index] for index in known] == count_places(verdicts, known)
    assert all(places[index] is None for index in range(len(column)) if index not in known)


def test_values_on_different_axes_are_not_told_apart() -> None:
    """Two relative log exposures without a scale in common have no order, however far apart."""
    column = [Quantity(value=value, low=value, high=value, unit="log H") for value in (-1.0, -2.0, -3.0)]

    assert find_places(column, axes=("a", "a", "b")) == ((1, 2), (2, 3), (1, 3))


@pytest.mark.parametrize("column", [[], [missing("it was not measured")]])
def test_nothing_measured_has_no_place(column: list[Quantity]) -> None:
    """Where no test has a value there is nothing to place."""
    assert find_places(column) == (None,) * len(column)
