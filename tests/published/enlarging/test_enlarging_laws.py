"""Enlarging exposure: the change with magnification, and base plus fog as a neutral filter.

Sources: worked examples of the (m + 1)^2 law in a photographic question-and-answer page (4 x 5 in negative to 8 x 10
and to 16 x 20) and in a darkroom discussion (8 x 10 to 11 x 14), both secondary; The Wellington Photographic Handbook,
printed page 81 (edition not checked), worked example of distances. Density as the logarithm of opacity: F. Hurter and
V. C. Driffield, J. Soc. Chem. Ind. 9 (1890) 455, the table of one, two and three layers that pass a tenth each, seen
after a modern transcription.
"""

import pytest

from basefog.measure.printing import (
    compute_enlarging_factor,
    compute_filter_factor,
    express_in_stops,
    measure_print_exposure,
)
from basefog.records.findings import Quantity


@pytest.mark.parametrize(
    ("magnification", "new", "published", "half_digit"),
    [
        (2.0, 4.0, 2.78, 0.005),
        (2.0, 2.8, 1.6, 0.05),
    ],
)
def test_time_grows_as_the_square_of_magnification_plus_one(
    magnification: float, new: float, published: float, half_digit: float
) -> None:
    """The published factors come back to half a unit of their last digit."""
    assert compute_enlarging_factor(magnification, new) == pytest.approx(published, abs=half_digit)


@pytest.mark.parametrize("focal_length", [20.0, 30.0, 60.0])
def test_handbook_example_of_distances(focal_length: float) -> None:
    """3 1/2 minutes at a distance of 192 become 2 minutes 8 seconds at 150, whatever the lens.

    A lens of focal length f throws an image of magnification m at the distance f (m + 1), so that the handbook's
    squares of distances are the squares of m + 1. Tolerance: half a second; the exact figure is 128.17 s.
    """
    far, near = (distance / focal_length - 1 for distance in (192.0, 150.0))

    assert 210 * compute_enlarging_factor(far, near) == pytest.approx(128, abs=0.5)


@pytest.mark.parametrize(("density", "opacity"), [(1.0, 10.0), (2.0, 100.0), (3.0, 1000.0)])
def test_layers_that_pass_a_tenth_each(density: float, opacity: float) -> None:
    """One, two and three layers that each pass a tenth of the light have opacities of 10, 100 and 1000."""
    assert compute_filter_factor(density) == pytest.approx(opacity, rel=1e-12)


@pytest.mark.parametrize(
    ("higher", "factor", "stops"), [(0.10, 1.2589, 0.3322), (0.15, 1.4125, 0.4983), (0.30, 1.9953, 0.9966)]
)
def test_base_plus_fog_is_a_neutral_filter(higher: float, factor: float, stops: float) -> None:
    """The time grows by the opacity of the base plus fog that the reference hasn't.

    The figures follow from the definition of density (10^D, D / log10 2), computed apart; tolerance half a digit.
    """
    reference = Quantity(value=0.24, low=0.24, high=0.24, unit="D")
    fogged = Quantity(value=0.24 + higher, low=0.24 + higher, high=0.24 + higher, unit="D")

    found = measure_print_exposure(fogged, reference, 10.0, is_reference=False)

    assert found.value == pytest.approx(10.0 * factor, abs=0.0005)
    assert express_in_stops(found, 10.0).value == pytest.approx(stops, abs=0.00005)
