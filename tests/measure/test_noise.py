import math

import numpy as np
import pytest

from basefog.measure.noise import mean_variance, pool_reading_error


def test_without_replicates_the_stated_repeatability_stands() -> None:
    """Single readings say nothing of their own error."""
    assert pool_reading_error([(0.5,), (0.9,), ()], 0.008) == pytest.approx(0.008)


def test_readings_that_agree_do_not_make_a_test_better_than_stated() -> None:
    """The stated repeatability stands where it is larger than what is pooled: agreement may be chance, or copying."""
    assert pool_reading_error([(0.5, 0.5)] * 50, 0.01) == 0.01


def test_the_stated_repeatability_counts_for_twenty_replicates() -> None:
    """One step read twice 0.08 apart, sum of squares 0.0032, beside 20 x 0.01^2: over 21 of them (project)."""
    expected = math.sqrt((20 * 0.01**2 + 0.0032) / 21)

    assert pool_reading_error([(0.50, 0.58), (0.9,)], 0.01) == pytest.approx(expected)


def test_many_replicates_outweigh_the_stated_repeatability() -> None:
    """With thousands of replicates the error is theirs: pooled sample variance, numpy's with ddof 1."""
    readings = 0.03 * np.random.Generator(np.random.PCG64(5)).standard_normal((1000, 4))
    expected = float(np.sqrt(readings.var(axis=1, ddof=1).mean()))

    found = pool_reading_error([tuple(row) for row in readings.tolist()], 0.01)

    # The stated 0.01 still counts as 20 of 3,020 readings.
    assert found == pytest.approx(expected, rel=0.005)


def test_a_repeatability_must_be_above_zero() -> None:
    """No reading is perfect."""
    with pytest.raises(ValueError, match="repeatability must be above 0"):
        pool_reading_error([(0.5,)], 0.0)


def test_rounding_is_the_same_for_all_readings() -> None:
    """The error of a mean of n readings is sqrt(r^2 / n + q^2 / 12): n readings don't divide the rounding."""
    assert mean_variance(0.008, 1, 0.0) == pytest.approx(0.008**2)
    assert mean_variance(0.008, 4, 0.0) == pytest.approx(0.004**2)
    assert mean_variance(0.008, 4, 0.01) == pytest.approx(0.004**2 + 0.01**2 / 12)
    # Readings rounded to hundredths never tell a mean better than 0.0029, however many they are.
    assert math.sqrt(mean_variance(0.008, 10**6, 0.01)) == pytest.approx(0.00289, abs=0.00001)
