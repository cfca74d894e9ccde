"""Any two of many: the printed studentised range, and three groups compared by SAS and MATLAB.

Sources: H. L. Harter, "Tables of range and studentized range", Ann. Math. Stat. 31 (1960) 1122-1147, table 3, 95 %; as
quoted in SciPy 1.17.1's own tests (scipy/stats/tests/test_distributions.py), not seen in the paper. The groups:
"One-way ANOVA using SAS PROC ANOVA & PROC GLM", SAS tutorials (2007), minutes to relief of three brands; the
intervals of SAS's MEANS / TUKEY and MATLAB's multcompare as quoted in scipy/stats/tests/test_hypotests.py.
"""

import math

import numpy as np
import pytest

from basefog.judge.factors import range_factor

COUNTS = (2, 8, 14, 20)
HARTER: dict[float | None, tuple[float, float, float, float]] = {
    1: (17.97, 45.40, 54.33, 59.56),
    3: (4.501, 8.853, 10.35, 11.24),
    10: (3.151, 5.305, 6.028, 6.467),
    20: (2.950, 4.768, 5.357, 5.714),
    120: (2.800, 4.363, 4.842, 5.126),
    None: (2.772, 4.286, 4.743, 5.012),
}
GROUPS = {
    "equal": ([24.5, 23.5, 26.4, 27.1, 29.9], [28.4, 34.2, 29.5, 32.2, 30.1], [26.1, 28.3, 24.3, 26.2, 27.8]),
    "unequal": (
        [24.5, 23.5, 26.28, 26.4, 27.1, 29.9, 30.1, 30.1],
        [28.4, 34.2, 29.5, 32.2, 30.1],
        [26.1, 28.3, 24.3, 26.2, 27.8],
    ),
}


@pytest.mark.parametrize("degrees", HARTER)
def test_harters_table(degrees: float | None) -> None:
    """All four counts agree to four digits, within a unit of the last.

    Half a unit would do but for 5.305 (8 figures, 10 degrees), where scipy.stats.studentized_range also has 5.3042.
    """
    for count, printed in zip(COUNTS, HARTER[degrees], strict=True):
        unit = 10.0 ** (math.floor(math.log10(printed)) - 3)

        assert range_factor(count, degrees) * math.sqrt(2) == pytest.approx(printed, abs=unit)


@pytest.mark.parametrize(
    ("groups", "pair", "interval", "digits"),
    [
        ("equal", (1, 2), (0.6908409751403, 7.9891590248597), 1e-6),  # MATLAB
        ("equal", (1, 2), (0.6908830568, 7.989116943), 1e-4),  # SAS, whose factor has five digits
        ("equal", (1, 0), (0.9508409751403, 8.2491590248597), 1e-6),
        ("unequal", (1, 0), (0.2679292645, 7.022070736), 1e-6),  # SAS
        ("unequal", (1, 2), (0.5934764007, 8.086523599), 1e-6),
        ("unequal", (2, 0), (-4.07207069748500, 2.68207069748500), 1e-6),  # MATLAB
    ],
)
def test_intervals_of_three_groups(
    groups: str, pair: tuple[int, int], interval: tuple[float, float], digits: float
) -> None:
    """Tukey's interval, and Kramer's where groups are unequal, is the factor times the difference's standard error."""
    values = [np.array(group) for group in GROUPS[groups]]
    degrees = sum(len(group) - 1 for group in values)
    variance = sum(float(np.var(group)) * len(group) for group in values) / degrees
    one, other = values[pair[0]], values[pair[1]]

    difference = float(one.mean() - other.mean())
    half = range_factor(3, degrees) * math.sqrt(variance * (1 / len(one) + 1 / len(other)))

    assert (difference - half, difference + half) == pytest.approx(interval, abs=digits)
