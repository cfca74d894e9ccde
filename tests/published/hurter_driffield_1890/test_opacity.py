"""Density as the logarithm of opacity: layers that each pass a tenth of the light.

Source: F. Hurter and V. C. Driffield, J. Soc. Chem. Ind. 9(5), 31 May 1890, 455-469, the table of one, two and three
layers, seen in modern notes that follow it and not in print: densities 1, 2, 3 and opacities 10, 100, 1000.
"""

import pytest

from basefog.measure.printing import compute_filter_factor


@pytest.mark.parametrize(("density", "opacity"), [(1.0, 10.0), (2.0, 100.0), (3.0, 1000.0)])
def test_layers_that_pass_a_tenth_each(density: float, opacity: float) -> None:
    """One, two and three layers that each pass a tenth of the light have opacities of 10, 100 and 1000."""
    assert compute_filter_factor(density) == pytest.approx(opacity, rel=1e-12)
