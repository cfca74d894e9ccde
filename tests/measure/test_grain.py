"""Grain and sharpness of a test from what its scans showed: what is stated, and every reason for a null."""

from dataclasses import replace

import numpy as np
import pytest

from basefog.measure.grain import measure_grain_of_test, spectrum_of_test
from basefog.records.findings import EdgeResponse, Quantity, Spectrum
from basefog.records.scan_figures import (
    Correlation,
    EdgeSharpness,
    GrainFigures,
    Granularity,
    NotSeen,
    TestFigures,
)

ARRAY = np.zeros(3)
SEEN = Granularity(sigma=0.0100, low=0.0095, high=0.0106, density=1.21, apertures=900, degrees_of_freedom=700.0)
EDGE = EdgeSharpness(
    mtf50=40.0,
    low=38.0,
    high=42.0,
    response=EdgeResponse(cycles_per_mm=ARRAY, response=ARRAY, low=ARRAY, high=ARRAY),
    density_difference=0.25,
    degrees=5.0,
)
NOTHING = NotSeen(why="no negative was scanned")


def view(seen: Granularity | NotSeen = SEEN, *, name: str = "even", lossy: bool = False) -> GrainFigures:
    return GrainFigures(
        view=name,
        granularity=seen,
        correlation=Correlation(width_um=15.0, low_um=14.0, high_um=16.0),
        spectrum=Spectrum(cycles_per_mm=ARRAY, power_um2=ARRAY),
        lossy=lossy,
    )


def measured(
    *grain: GrainFigures, base: float | None = 0.21, edge: EdgeSharpness | NotSeen = EDGE
) -> dict[str, Quantity]:
    figures = TestFigures(grain=grain, print_grain=NotSeen(why="no print was scanned"), edge=edge)
    return measure_grain_of_test(figures, base_density=base, paper_white=0.05)


def test_a_view_at_net_density_one_is_stated_as_it_was_read() -> None:
    """A thousand times the standard deviation, with the net density that it was read at."""
    found = measured(view())

    assert found["rms_granularity"].value == pytest.approx(10.0)
    assert found["rms_granularity"].at_density == pytest.approx(1.0)
    assert found["grain_correlation"] == Quantity(value=15.0, low=14.0, high=16.0, unit="um")
    assert (found["mtf50"].value, found["mtf50"].low, found["mtf50"].high) == (40.0, 38.0, 42.0)
    assert found["mtf50"].note == "film, taking lens and scanner together; edge of 0.25 in density"
    assert found["print_graininess"].why == "no print was scanned"


@pytest.mark.parametrize(
    ("base", "why"),
    [
        (None, "the net density of the view isn't known: base plus fog is missing"),
        (0.45, "the view has a net density of 0.76, and granularity is stated from 0.8 to 1.2 only"),
        (0.0, "the view has a net density of 1.21, and granularity is stated from 0.8 to 1.2 only"),
    ],
)
def test_the_net_density_must_be_known_and_near_one(base: float | None, why: str) -> None:
    """Granularity has no value outside 0.8 to 1.2 net, and says so; the rest of the view is measured all the same."""
    found = measured(view(), base=base)

    assert found["rms_granularity"].value is None
    assert (found["rms_granularity"].why or "").startswith(why)
    assert found["grain_correlation"].value == 15.0


def test_what_was_not_seen_says_why() -> None:
    """The reason is that of the pixels."""
    uneven = NotSeen(why="the area is uneven")
    of_view = measured(replace(view(uneven), correlation=uneven), edge=NotSeen(why="no edge was found in the view"))
    of_none = measure_grain_of_test(
        TestFigures(grain=NOTHING, print_grain=NOTHING, edge=NOTHING), base_density=0.2, paper_white=None
    )

    assert of_view["rms_granularity"].why == of_view["grain_correlation"].why == "the area is uneven"
    assert of_view["mtf50"].why == "no edge was found in the view"
    assert {quantity.why for quantity in of_none.values()} == {"no negative was scanned"}
    assert [quantity.unit for quantity in of_none.values()] == ["1", "um", "1", "cycles/mm"]


def test_a_prints_white_is_its_base() -> None:
    """A print is stated at a density above its paper's white, and says where that is not known."""
    figures = TestFigures(grain=NOTHING, print_grain=(view(),), edge=NOTHING)
    known = measure_grain_of_test(figures, base_density=None, paper_white=0.21)["print_graininess"]
    unknown = measure_grain_of_test(figures, base_density=0.21, paper_white=None)["print_graininess"]

    assert known.value == pytest.approx(10.0)
    assert unknown.why == "the net density of the view isn't known: the paper's white is missing"


def test_the_spectrum_is_that_of_the_negative() -> None:
    """None where nothing of the negative was seen."""
    seen = view()

    assert spectrum_of_test(TestFigures(grain=(seen,), print_grain=NOTHING, edge=NOTHING)) is seen.spectrum
    assert spectrum_of_test(TestFigures(grain=NOTHING, print_grain=(seen,), edge=NOTHING)) is None
