"""Base plus fog as a neutral filter: the exposure that it asks for, by the definition of density."""

from dataclasses import replace

import pytest

from basefog.judge.comparative import measure_print_exposure
from basefog.measure.intervals import quantity_from_parts
from basefog.measure.printing import express_in_stops
from basefog.records.findings import ErrorParts


@pytest.mark.parametrize(
    ("higher", "factor", "stops"), [(0.10, 1.2589, 0.3322), (0.15, 1.4125, 0.4983), (0.30, 1.9953, 0.9966)]
)
def test_base_plus_fog_is_a_neutral_filter(higher: float, factor: float, stops: float) -> None:
    """The time grows by the opacity of the base plus fog that the reference hasn't.

    The figures follow from the definition of density (10^D, D / log10 2), computed apart; tolerance half a digit.
    """
    reference, fogged = (quantity_from_parts(base, "D", ErrorParts(unshared=0.0)) for base in (0.24, 0.24 + higher))

    found = measure_print_exposure(fogged, reference, 10.0)

    assert found.value == pytest.approx(10.0 * factor, abs=0.0005)
    exact = replace(found, low=found.value, high=found.value)
    assert express_in_stops(exact, 10.0).value == pytest.approx(stops, abs=0.00005)
