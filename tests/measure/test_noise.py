import math

import numpy as np
import pytest

from basefog.measure.noise import pool_reading_error


def test_without_replicates_the_stated_repeatability_stands() -> None:
    """Single readings say nothing of their own error."""
    assert pool_reading_error([(0.5,), (0.9,), ()], 0.008) == pytest.approx(0.008)


def test_two_readings_that_agree_do_not_make_a_step_perfect() -> None:
    """The stated repeatability counts for 20 replicates (project): one step read twice alike lowers it by 1 in 21."""
    expected = 0.01 * math.sqrt(20 / 21)

    assert pool_reading_error([(0.5, 0.5), (0.9,)], 0.01) == pytest.approx(expected)


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
