"""Enlarging exposure at another magnification: worked examples.

Source: public questions and answers of darkroom workers, two of them seen: a 4 x 5 in negative printed to 8 x 10 and
then to 16 x 20 (magnifications 2 and 4) takes 2.78 times the exposure; from 8 x 10 to 11 x 14 (2 and 2.8), about 1.6.
"""

import pytest

from basefog.measure.printing import compute_enlarging_factor


@pytest.mark.parametrize(
    ("magnification", "new", "published", "half_digit"),
    [
        (2.0, 4.0, 2.78, 0.005),
        (2.0, 2.8, 1.6, 0.05),
    ],
)
def test_published_factors_come_back(magnification: float, new: float, published: float, half_digit: float) -> None:
    """The published factors come back to half a unit of their last digit."""
    assert compute_enlarging_factor(magnification, new) == pytest.approx(published, abs=half_digit)
