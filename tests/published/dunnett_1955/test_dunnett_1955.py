"""Many treatments against one control: printed factors, and the worked blood counts.

Source: C. W. Dunnett, "A multiple comparison procedure for comparing several treatments with a control", J. Am. Stat.
Assoc. 50 (1955) 1096-1121, tables 2a and 2b (two-sided), pages 1119-1120. Its figures, and the intervals that R's
multcomp (glht, confint) gives for its example, were seen as quoted in SciPy 1.17.1's own tests
(scipy/stats/tests/test_multicomp.py), not in the paper. So was the second example: M. L. Thomson and M. D. Short, J.
Appl. Physiol. 26 (1969) 535, table 1.

The two-sided tables of 1955 are exact for one and two treatments and too wide beyond; exact ones followed in C. W.
Dunnett, "New tables for multiple comparisons with a control", Biometrics 20 (1964) 482. Both facts, and the figures of
1964 below, are from memory.
"""

import math

import numpy as np
import pytest

from basefog.judge.factors import dunnett_factor

COUNTS = ([7.40, 8.50, 7.20, 8.24, 9.84, 8.32], [[9.76, 8.80, 7.68, 9.36], [12.80, 9.68, 12.16, 9.20, 10.55]])
CLEARANCE = ([2.9, 3.0, 2.5, 2.6, 3.2], [[3.8, 2.7, 4.0, 2.4], [2.8, 3.4, 3.7, 2.2, 2.0]])


@pytest.mark.parametrize(("treatments", "degrees", "printed"), [(1, 10, 2.23), (2, 30, 2.32)])
def test_exact_entries_of_1955(treatments: int, degrees: int, printed: float) -> None:
    """One and two treatments agree to half a unit of the last digit."""
    assert dunnett_factor([0.5] * treatments, degrees) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(("treatments", "degrees", "printed"), [(3, 10, 2.81), (3, 20, 2.57), (4, 60, 2.55)])
def test_wide_entries_of_1955(treatments: int, degrees: int, printed: float) -> None:
    """Three and four treatments are printed too wide, by no more than 2 %."""
    found = dunnett_factor([0.5] * treatments, degrees)

    assert found < printed < 1.02 * found


@pytest.mark.parametrize(
    ("treatments", "degrees", "printed"),
    [(2, 10, 2.57), (3, 10, 2.76), (3, 20, 2.54), (4, 60, 2.51), (2, None, 2.21), (4, None, 2.44), (5, None, 2.51)],
)
def test_entries_of_1964(treatments: int, degrees: int | None, printed: float) -> None:
    """The tables of 1964 agree to half a unit of the last digit (from memory)."""
    assert dunnett_factor([0.5] * treatments, degrees) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("data", "low", "high"),
    [
        (COUNTS, [-1.2564116462124, 0.8396273539789], [2.5564116462124, 4.4163726460211]),
        (CLEARANCE, [-0.6898153448579, -1.0333456251632], [1.4598153448579, 0.9933456251632]),
    ],
)
def test_intervals_of_unequal_groups(
    data: tuple[list[float], list[list[float]]], low: list[float], high: list[float]
) -> None:
    """Groups of 4, 5 and 6 have R's 95 % intervals to 0.0004: R draws at random to some 1e-4 of a factor."""
    control, treated = data
    groups = [control, *treated]
    degrees = sum(len(group) - 1 for group in groups)
    sigma = math.sqrt(sum(float(np.var(group)) * len(group) for group in groups) / degrees)

    factor = dunnett_factor([len(group) / (len(group) + len(control)) for group in treated], degrees)

    for group, lower, upper in zip(treated, low, high, strict=True):
        difference = float(np.mean(group) - np.mean(control))
        half = factor * sigma * math.sqrt(1 / len(group) + 1 / len(control))
        assert difference - half == pytest.approx(lower, abs=0.0004)
        assert difference + half == pytest.approx(upper, abs=0.0004)
