import math

import numpy as np
import pytest

from basefog.measure.resampling import (
    DRAWS,
    WedgeRows,
    alternating_signs,
    count_rows,
    draw_values,
    error_of_draws,
    fold_wedge,
    half_widths,
    seeded_generator,
    wedge_slopes,
    with_wedge_rows,
)
from basefog.records.content import FloatArray


def test_draws_hang_on_the_test_and_the_purpose_alone() -> None:
    """The same key and purpose give the same numbers; another of either gives others."""
    first = seeded_generator("tern-100/2026-03-14", "curve").standard_normal(5)

    assert (first == seeded_generator("tern-100/2026-03-14", "curve").standard_normal(5)).all()
    assert not np.isin(first, seeded_generator("tern-100/2026-03-15", "curve").standard_normal(5)).any()
    assert not np.isin(first, seeded_generator("tern-100/2026-03-14", "base").standard_normal(5)).any()


def test_entry_zero_is_the_estimate_and_the_rest_scatter_as_asked() -> None:
    """The spread of the draws is the standard uncertainty, to what that many draws can tell."""
    drawn = draw_values(np.array([0.5, 2.0]), np.array([0.01, 0.1]), seeded_generator("a/b", "test"))

    assert drawn.shape == (1 + DRAWS, 2)
    assert drawn[0].tolist() == [0.5, 2.0]
    # Four standard errors of a standard deviation, 1 / sqrt(2 DRAWS).
    assert np.allclose(drawn[1:].std(axis=0), [0.01, 0.1], rtol=4 / np.sqrt(2 * DRAWS))


WEDGE = WedgeRows(wedge="contact-21", steps=("1", "2"), u_density=np.array([0.01, 0.04]))


def rows_of(*columns: tuple[float, float, float]) -> FloatArray:
    """Return quantities in columns: estimate, then what each is worth for each unit of the two steps' density.

    Their draws lie one off the estimate, either way.
    """
    estimate, *slopes = np.array(columns).T
    draws = estimate + np.resize([1.0, -1.0], DRAWS)[:, None]
    moved = [estimate + sign * slope * u for slope, u in zip(slopes, WEDGE.u_density, strict=True) for sign in (1, -1)]
    return np.vstack([estimate, draws, moved])


def test_slopes_are_central_differences() -> None:
    """Each step's row up less its row down, over twice its uncertainty: of a straight line its slope."""
    rows = rows_of((0.6, 2.0, -3.0), (5.0, 0.0, 0.5))

    assert wedge_slopes(rows, WEDGE) == pytest.approx(np.array([[2.0, 0.0], [-3.0, 0.5]]))
    assert wedge_slopes(rows[:, 0], WEDGE) == pytest.approx(np.array([2.0, -3.0]))


def test_curvature_drops_out_of_a_central_difference() -> None:
    """What both moves add alike is no slope."""
    rows = rows_of((0.6, 2.0, -3.0))
    rows[1 + DRAWS :] += 0.5

    assert wedge_slopes(rows, WEDGE) == pytest.approx(np.array([[2.0], [-3.0]]))


@pytest.mark.parametrize("lost", [0, 1])
def test_a_row_beyond_the_readings_leaves_the_other(lost: int) -> None:
    """Where one of the two moves takes the quantity off the curve, the other's difference to the estimate serves."""
    rows = rows_of((0.6, 2.0, -3.0))
    rows[1 + DRAWS + lost] = np.nan

    assert wedge_slopes(rows, WEDGE) == pytest.approx(np.array([[2.0], [-3.0]]))


def test_with_neither_row_there_is_no_slope() -> None:
    """Zero, so that nothing is made up."""
    rows = rows_of((0.6, 2.0, -3.0))
    rows[1 + DRAWS : 3 + DRAWS] = np.nan

    assert wedge_slopes(rows, WEDGE) == pytest.approx(np.array([[0.0], [-3.0]]))


def test_half_widths_add_readings_and_wedge() -> None:
    """1.96 roots of the mean square of the draws and the sum of (slope u)^2; without a wedge of the draws alone."""
    rows = rows_of((0.6, 30.0, -20.0), (5.0, 0.0, 0.5))
    expected = [1.0 + (30.0 * 0.01) ** 2 + (20.0 * 0.04) ** 2, 1.0 + (0.5 * 0.04) ** 2]

    assert half_widths(rows, WEDGE) == pytest.approx(1.959964 * np.sqrt(expected))
    assert half_widths(rows[: 1 + DRAWS], None) == pytest.approx([1.959964] * 2)


def test_half_widths_pass_over_what_is_not_there() -> None:
    """Draws off the curve are left out of the mean square."""
    rows = rows_of((0.6, 0.0, 0.0))
    rows[1 : 1 + DRAWS : 2] = np.nan

    assert half_widths(rows, WEDGE) == pytest.approx([1.959964])


def test_folding_draws_the_wedge_too() -> None:
    """The estimate stays, and the draws' variance grows by (slope u)^2, summed over the steps."""
    rows = rows_of((0.6, 100.0, -50.0))[:, 0]
    rows[1 : 1 + DRAWS] = 0.6

    folded = fold_wedge(rows, WEDGE)

    assert folded.shape == (1 + DRAWS,)
    assert folded[0] == 0.6
    # Four standard errors of a standard deviation, 1 / sqrt(2 DRAWS).
    assert np.std(folded[1:]) == pytest.approx(math.hypot(1.0, 2.0), rel=4 / math.sqrt(2 * DRAWS))
    assert (fold_wedge(rows[: 1 + DRAWS], None) == rows[: 1 + DRAWS]).all()


def test_two_tests_on_one_wedge_are_folded_with_the_same_errors() -> None:
    """What both owe to a step cancels draw by draw; another wedge's errors do not."""
    one, other = (rows_of((value, 100.0, -50.0))[:, 0] for value in (0.6, 0.7))
    elsewhere = WedgeRows(wedge="long-31", steps=WEDGE.steps, u_density=WEDGE.u_density)

    same = fold_wedge(one, WEDGE) - fold_wedge(other, WEDGE)
    apart = fold_wedge(one, WEDGE) - fold_wedge(other, elsewhere)

    assert same == pytest.approx(-0.1)
    assert np.std(apart[1:]) == pytest.approx(math.sqrt(10.0), rel=4 / math.sqrt(2 * DRAWS))


def test_what_does_not_hang_on_the_wedge_gets_its_estimate_as_rows() -> None:
    """Base plus fog has as many rows as the curve, and no slope."""
    drawn = rows_of((0.25, 0.0, 0.0))[: 1 + DRAWS, 0]

    rows = with_wedge_rows(drawn, WEDGE)

    assert rows.shape == (count_rows(WEDGE),) == (1 + DRAWS + 4,)
    assert (rows[1 + DRAWS :] == 0.25).all()
    assert (wedge_slopes(rows, WEDGE) == 0).all()
    assert with_wedge_rows(drawn, None) is drawn


def test_rows_beyond_the_draws_are_no_draws() -> None:
    """Neither the error of the draws nor the turns of a choice know of them."""
    drawn = np.concatenate([[0.5], np.full(DRAWS, 0.6), [9.0, 9.0]])

    assert error_of_draws(drawn) == np.sqrt(np.mean((drawn[1 : 1 + DRAWS] - 0.5) ** 2))
    assert alternating_signs(DRAWS + 3)[[0, DRAWS + 1, DRAWS + 2]].tolist() == [0.0, 0.0, 0.0]
    assert alternating_signs(DRAWS + 3)[1 : 1 + DRAWS].sum() == 0.0
    assert (np.abs(alternating_signs(DRAWS + 3)[1 : 1 + DRAWS]) == 1.0).all()
