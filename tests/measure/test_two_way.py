import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.measure.two_way import (
    find_linked,
    find_residuals,
    find_shifts,
    leave_out,
    solve_known_rows,
    solve_two_way,
    standardise,
)
from basefog.records.content import FloatArray

ROWS, COLUMNS = 6, 5
ROW = np.repeat(np.arange(ROWS), COLUMNS)
COLUMN = np.tile(np.arange(COLUMNS), ROWS)
U = np.full(ROW.size, 0.01)


def table(seed: int = 1, error: float = 0.0) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return row effects, column effects (the first zero) and the values they give."""
    generator = np.random.default_rng(seed)
    rows, columns = generator.normal(size=ROWS), np.append(0.0, generator.normal(size=COLUMNS - 1))
    return rows, columns, rows[ROW] + columns[COLUMN] + error * generator.standard_normal(ROW.size)


def test_exact_values_are_recovered() -> None:
    """Without error the effects are those the values were made from, whatever the weights and with cells missing."""
    rows, columns, values = table()
    there = np.array([number % 7 != 3 for number in range(ROW.size)])
    weight = np.random.default_rng(2).uniform(0.1, 10.0, ROW.size)

    fit = solve_two_way(ROW[there], COLUMN[there], weight[there], rows=ROWS, columns=COLUMNS, zero=0)

    assert fit.rows @ values[there] == pytest.approx(rows)
    assert fit.columns @ values[there] == pytest.approx(columns)
    assert fit.degrees == there.sum() - ROWS - COLUMNS + 1


def test_full_table_of_equal_weights_is_means() -> None:
    """Balanced, a column's effect is its mean less the zero column's: the closed form of the two-way layout."""
    values = table(error=0.3)[2]
    means = values.reshape(ROWS, COLUMNS).mean(axis=0)

    fit = solve_two_way(ROW, COLUMN, np.ones(ROW.size), rows=ROWS, columns=COLUMNS, zero=2)

    assert fit.columns @ values == pytest.approx(means - means[2])
    # h = 1/I + 1/J - 1/(I J) for every cell of an I x J table.
    assert fit.leverage == pytest.approx(1 / ROWS + 1 / COLUMNS - 1 / (ROWS * COLUMNS))


def test_weights_count_as_so_many_readings() -> None:
    """A value of weight 3 counts as three values of weight 1."""
    values = table(error=0.3)[2]
    weight = np.ones(ROW.size)
    weight[7] = 3.0
    again = np.append(np.arange(ROW.size), [7, 7])

    once = solve_two_way(ROW, COLUMN, weight, rows=ROWS, columns=COLUMNS, zero=0)
    thrice = solve_two_way(ROW[again], COLUMN[again], np.ones(again.size), rows=ROWS, columns=COLUMNS, zero=0)

    assert once.columns @ values == pytest.approx(thrice.columns @ values[again])
    assert once.leverage[7] == pytest.approx(3 * thrice.leverage[7])


def test_leverage_is_a_values_share_in_its_own_prediction() -> None:
    """Moving one value by 1 moves its prediction by h; all leverages add up to the number of effects."""
    values = table(error=0.3)[2]
    weight = np.random.default_rng(3).uniform(0.5, 2.0, ROW.size)
    moved = values.copy()
    moved[11] += 1.0

    fit = solve_two_way(ROW, COLUMN, weight, rows=ROWS, columns=COLUMNS, zero=0)
    change = (moved - find_residuals(fit, ROW, COLUMN, moved)) - (values - find_residuals(fit, ROW, COLUMN, values))

    assert change[11] == pytest.approx(fit.leverage[11])
    assert fit.leverage.sum() == pytest.approx(ROWS + COLUMNS - 1)


def test_standardised_residuals_have_unit_size() -> None:
    """Z has mean square 1 at every cell where the errors are as said, near and far from being decided by one value."""
    generator = np.random.default_rng(4)
    there = np.array([number not in {1, 2, 3, 7, 8} for number in range(ROW.size)])
    u_values = generator.uniform(0.5, 2.0, there.sum())
    fit = solve_two_way(ROW[there], COLUMN[there], u_values**-2, rows=ROWS, columns=COLUMNS, zero=0)
    z = np.array(
        [
            standardise(find_residuals(fit, ROW[there], COLUMN[there], errors), u_values, fit.leverage)
            for errors in u_values * generator.standard_normal((4000, there.sum()))
        ]
    )

    # The mean of 4000 squares is known to sqrt(2 / 4000) = 0.022; 25 cells are within four times that.
    assert np.mean(z**2, axis=0) == pytest.approx(1.0, abs=0.09)


def test_a_value_that_decides_its_own_prediction_has_no_residual() -> None:
    """The only value of a row fits exactly: z is zero and not a division by zero."""
    assert standardise(np.array([1e-17, 0.2]), np.array([0.1, 0.1]), np.array([1.0, 0.75])) == pytest.approx([0.0, 4.0])


def test_effects_without_values_are_nan() -> None:
    """A row or column nothing was read of has no effect, and disturbs no other."""
    there = (ROW != 2) & (COLUMN != 4)
    rows, columns, values = table()

    fit = solve_two_way(ROW[there], COLUMN[there], U[there], rows=ROWS, columns=COLUMNS, zero=0)

    assert np.isnan((fit.rows @ values[there])[2])
    assert np.isnan((fit.columns @ values[there])[4])
    assert np.delete(fit.rows @ values[there], 2) == pytest.approx(np.delete(rows, 2))
    assert (fit.columns @ values[there])[:4] == pytest.approx(columns[:4])


def test_unlinked_values_are_refused() -> None:
    """Rows that share no column with the zero column's rows can't be set against it."""
    linked = find_linked(np.array([0, 0, 1, 1, 2]), np.array([0, 1, 2, 3, 1]), zero=0)

    assert linked.tolist() == [True, True, False, False, True]
    with pytest.raises(ValueError, match="linked to the zero column"):
        solve_two_way(np.array([0, 1]), np.array([0, 1]), np.ones(2), rows=2, columns=2, zero=0)


@pytest.mark.parametrize("by", [-0.2, 0.2])
def test_a_gross_error_is_left_out(by: float) -> None:
    """A value twenty uncertainties off goes, and only it."""
    values = table(error=0.01)[2]
    values[13] += by

    found = leave_out(ROW, COLUMN, values, U, zero=0)

    assert (found.left, found.stuck) == ((13,), ())
    assert np.flatnonzero(~found.kept).tolist() == [13]


def test_nothing_is_left_out_of_honest_values() -> None:
    """Over 300 tables of normal errors, 9000 values, hardly one is beyond four: 0.6 are expected."""
    left = sum(len(leave_out(ROW, COLUMN, table(seed, 0.01)[2], U, zero=0).left) for seed in range(300))

    assert left <= 4


def test_understated_errors_leave_nothing_out() -> None:
    """Where all values scatter five times as much as said, the limit goes up with their median."""
    left = sum(len(leave_out(ROW, COLUMN, table(seed, 0.05)[2], U, zero=0).left) for seed in range(50))

    assert left <= 4


def test_limit_is_four() -> None:
    """A value goes just beyond |z| = 4 and stays just below, all else fitting exactly."""
    values = table()[2]
    h = 1 / ROWS + 1 / COLUMNS - 1 / (ROWS * COLUMNS)
    # Its residual is (1 - h) of its own error.
    just = 4.0 * 0.01 / np.sqrt(1 - h)
    below, beyond = values.copy(), values.copy()
    below[8] += 0.99 * just
    beyond[8] += 1.01 * just

    assert leave_out(ROW, COLUMN, below, U, zero=0).left == ()
    assert leave_out(ROW, COLUMN, beyond, U, zero=0).left == (8,)


def test_the_worst_goes_first_and_five_at_most() -> None:
    """Six gross errors: the five worst go, by size, and the sixth is told."""
    row, column = np.repeat(np.arange(13), 8), np.tile(np.arange(8), 13)
    values, at = np.zeros(row.size), [0, 17, 34, 51, 68, 85]
    values[at] = [0.5, 1.0, -1.5, 2.0, -2.5, 3.0]

    found = leave_out(row, column, values, np.full(row.size, 0.01), zero=0)

    assert found.left == (85, 68, 51, 34, 17)
    assert found.stuck == (0,)


@pytest.mark.parametrize(("columns", "left", "stuck"), [(4, (5,), ()), (3, (), (5,))])
def test_rows_keep_three_values(columns: int, left: tuple[int, ...], stuck: tuple[int, ...]) -> None:
    """From four values of a row one may go; from three none, which is told."""
    row, column = np.repeat(np.arange(9), columns), np.tile(np.arange(columns), 9)
    values = np.zeros(row.size)
    values[5] = 0.5

    found = leave_out(row, column, values, np.full(row.size, 0.01), zero=0)

    assert (found.left, found.stuck) == (left, stuck)


@pytest.mark.parametrize(("rows", "left", "stuck"), [(4, (5,), ()), (3, (), (5,))])
def test_columns_keep_three_values(rows: int, left: tuple[int, ...], stuck: tuple[int, ...]) -> None:
    """From four values of a column one may go; from three none, which is told."""
    row, column = np.repeat(np.arange(rows), 9), np.tile(np.arange(9), rows)
    values = np.zeros(row.size)
    values[5] = 0.5

    found = leave_out(row, column, values, np.full(row.size, 0.01), zero=0)

    assert (found.left, found.stuck) == (left, stuck)


@settings(max_examples=30, deadline=None)
@given(
    seed=st.integers(0, 1000),
    by=st.lists(st.floats(-3, 3), min_size=ROWS, max_size=ROWS),
)
def test_a_constant_on_a_row_changes_no_column(seed: int, by: list[float]) -> None:
    """What a frame's exposure adds to all its values is taken up by the frame alone."""
    values = table(seed, 0.3)[2]
    weight = np.random.default_rng(seed).uniform(0.1, 10.0, ROW.size)

    fit = solve_two_way(ROW, COLUMN, weight, rows=ROWS, columns=COLUMNS, zero=0)
    moved = values + np.array(by)[ROW]

    assert fit.columns @ moved == pytest.approx(fit.columns @ values, abs=1e-9)
    assert fit.rows @ moved == pytest.approx(fit.rows @ values + by, abs=1e-9)


def differences(count: int) -> FloatArray:
    """Return the covariance of the differences of neighbours among `count` + 1 errors of unit size."""
    return 2.0 * np.eye(count) - np.eye(count, k=1) - np.eye(count, k=-1)


def test_values_that_err_together_weigh_by_their_covariance() -> None:
    """The mean of differences of neighbours is a straight line's slope: weights as (i + 1)(K - i), h their share."""
    count = 9
    at = np.arange(count)
    parabola = (at + 1.0) * (count - at)

    fit = solve_known_rows(np.ones(count, dtype=np.intp), differences(count), np.zeros((1, count)), columns=2, zero=0)

    assert fit.columns[1] == pytest.approx(parabola / parabola.sum())
    assert fit.columns[0] == pytest.approx(0.0)
    assert fit.leverage == pytest.approx(parabola / parabola.sum())
    assert fit.degrees == count - 1


def test_known_rows_are_drawn_back_by_what_they_may_err() -> None:
    """A row of variance 3 whose two values err by 1 each takes 3 / 3.5 of their mean; an empty column is NaN."""
    row, column = np.array([0, 0, 1, 1]), np.array([1, 2, 1, 2])
    same = np.equal.outer(row, row).astype(np.float64)
    values = np.array([0.7, 1.7, -0.7, 0.3])

    fit = solve_known_rows(column, 3.0 * same + np.eye(4), 3.0 * same[[0, 2]], columns=4, zero=0)

    assert fit.columns[:3] @ values == pytest.approx([0.0, 0.0, 1.0])
    assert np.isnan(fit.columns[3]).all()
    assert fit.rows @ values == pytest.approx([0.7 * 3 / 3.5, -0.7 * 3 / 3.5])


def test_shifts_of_values_that_err_alone_are_the_plain_ones() -> None:
    """With a diagonal covariance z is r / (u sqrt(1 - h)), and zero where h = 1."""
    u_values = np.random.default_rng(6).uniform(0.5, 2.0, ROW.size)
    fit = solve_two_way(ROW, COLUMN, u_values**-2, rows=ROWS, columns=COLUMNS, zero=0)
    residuals = find_residuals(fit, ROW, COLUMN, table(error=1.0)[2])

    shifts, errors = find_shifts(residuals, np.diag(u_values**2), fit.rows[ROW] + fit.columns[COLUMN], np.eye(ROW.size))
    none, unknown = find_shifts(np.zeros(2), np.eye(2), np.diag([1.0, 0.0]), np.eye(2))

    assert shifts / errors == pytest.approx(standardise(residuals, u_values, fit.leverage))
    assert none.tolist() == [0.0, 0.0]
    assert unknown.tolist() == [np.inf, 1.0]


def test_a_value_is_judged_against_what_the_others_say_of_it() -> None:
    """Among values that err together by 1 and alone by 0.1, one that is off by 1 is ten alone off, and only it."""
    covariance = np.full((8, 8), 1.0) + 0.01 * np.eye(8)
    residuals = np.full(8, 2.0)
    residuals[3] += 1.0

    shifts, errors = find_shifts(residuals, covariance, np.zeros((8, 8)), np.eye(8))

    assert shifts[3] == pytest.approx(1.0, abs=0.01)
    assert errors[3] == pytest.approx(0.1 * np.sqrt(8 / 7), rel=0.01)
    assert np.abs(np.delete(shifts / errors, 3)).max() < 2.0
    # By each value's own error alone it is no more than 3 off, and the others 2.
    assert standardise(residuals, np.sqrt(np.diag(covariance)), np.zeros(8)).max() < 3.0


def test_what_moves_many_values_is_told_by_all_of_them() -> None:
    """A shift along v, of values that err alone by 1, is v'r / v'v, known to 1 / |v|."""
    direction = np.array([[1.0], [2.0], [-2.0], [0.0]])

    shifts, errors = find_shifts(0.5 * direction[:, 0], np.eye(4), np.zeros((4, 4)), direction)

    assert shifts == pytest.approx([0.5])
    assert errors == pytest.approx([1 / 3])
