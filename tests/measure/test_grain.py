"""Grain and sharpness of a test from what its scans showed: what is stated, and every reason for a null."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.measure.grain import (
    FILM_EXPONENT,
    Exponent,
    bring_to_one,
    choose_view,
    measure_grain_of_test,
    spectrum_of_test,
)
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

    assert (found["rms_granularity"].value, found["rms_granularity"].as_read) == pytest.approx((10.0, 10.0))
    assert (found["rms_granularity"].low, found["rms_granularity"].high) == pytest.approx((9.5, 10.6))
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

    film = TestFigures(grain=(seen,), print_grain=NOTHING, edge=NOTHING)
    paper = TestFigures(grain=NOTHING, print_grain=(seen,), edge=NOTHING)

    assert spectrum_of_test(film, base_density=0.2) is seen.spectrum
    assert spectrum_of_test(paper, base_density=0.2) is None


def at_net(net: float, sigma: float = 0.0100, *, freedom: float = 700.0, name: str = "even") -> GrainFigures:
    """Return a view at a net density above a base of 0.21."""
    low, high = sigma * (1 - 1.96 / np.sqrt(2 * freedom)), sigma * (1 + 1.96 / np.sqrt(2 * freedom))
    seen = replace(SEEN, sigma=sigma, low=low, high=high, density=0.21 + net, degrees_of_freedom=freedom)
    return view(seen, name=name)


@pytest.mark.parametrize("net", [0.8, 0.9, 1.1, 1.2])
def test_one_view_is_brought_to_one_by_the_films_exponent(net: float) -> None:
    """Sigma D^-0.77, both figures told; 0.12 |ln D| is added to the sampling error, in squares."""
    found = measured(at_net(net))["rms_granularity"]
    relative = math.hypot(1 / math.sqrt(2 * 700), 0.12 * math.log(net))
    value = 10.0 * net**-0.77
    assert found.value is not None
    assert found.half_width is not None

    assert found.value == pytest.approx(value, rel=1e-12)
    assert (found.as_read, found.at_density) == pytest.approx((10.0, net))
    assert found.half_width / found.value == pytest.approx(1.96 * relative, rel=1e-9)
    assert found.high == pytest.approx(value * (1 + 1.96 * relative), rel=1e-9)


@pytest.mark.parametrize("net", [0.79, 1.21])
def test_the_range_of_net_density_is_from_08_to_12(net: float) -> None:
    """At 0.79 and 1.21 nothing is stated, however many views there are about it."""
    found = measured(at_net(net), at_net(0.5), at_net(1.5))["rms_granularity"]

    assert found.value is None
    assert f"net density of {net:.2f}" in (found.why or "")


def test_a_print_is_brought_by_its_own_exponent() -> None:
    """A print stays as it was read, and is the less sure the farther it is from 1.0: 0.4 |ln D|."""
    figures = TestFigures(grain=NOTHING, print_grain=(at_net(0.9),), edge=NOTHING)
    found = measure_grain_of_test(figures, base_density=None, paper_white=0.21)["print_graininess"]
    relative = math.hypot(1 / math.sqrt(2 * 700), 0.4 * math.log(0.9))
    assert found.half_width is not None

    assert (found.value, found.as_read) == pytest.approx((10.0, 10.0))
    assert found.half_width == pytest.approx(19.6 * relative, rel=1e-9)


def test_the_view_nearest_one_is_stated() -> None:
    """Granularity, correlation and spectrum are of the view nearest net density 1.0 that has a granularity."""
    far, near = at_net(1.19, name="far"), at_net(0.9, 0.0090, name="near")
    near = replace(near, correlation=Correlation(width_um=18.0, low_um=17.0, high_um=19.0))
    uneven = view(NotSeen(why="the area is uneven"), name="uneven")

    assert choose_view((far, uneven, near), 0.21) is near
    assert choose_view((far, uneven, near), 0.0) is near
    assert choose_view((far, uneven, near), 0.6) is far
    assert choose_view((uneven, far), None) is far
    assert choose_view((uneven,), 0.21) is uneven
    found = measured(far, uneven, near)
    assert found["rms_granularity"].as_read == pytest.approx(9.0)
    assert found["grain_correlation"].value == 18.0
    figures = TestFigures(grain=(far, uneven, near), print_grain=NOTHING, edge=NOTHING)
    assert spectrum_of_test(figures, base_density=0.21) is near.spectrum


def test_many_views_tell_the_exponent() -> None:
    """Views by the thousand of apertures outweigh the prior: the power that they follow is used, and error shrinks."""
    nets, power = (0.55, 0.85, 1.45), 1.1
    grain = [at_net(net, 0.0100 * net**power, freedom=1e6) for net in nets]
    alone, beside = (measured(*views)["rms_granularity"] for views in (grain[1:2], grain))
    assert alone.half_width is not None
    assert beside.half_width is not None

    assert beside.value == pytest.approx(10.0, rel=1e-4)
    assert alone.value == pytest.approx(10.0 * 0.85 ** (power - 0.77), rel=1e-9)
    assert beside.half_width < 0.1 * alone.half_width


def test_two_views_and_the_prior_are_weighed_by_their_variances() -> None:
    """The exponent is the mean of 0.77 +- 0.12 and of the slope, each by its inverse variance."""
    net, sigma, freedom = (0.6, 0.9), (0.0080, 0.0100), (400.0, 900.0)
    slope = math.log(0.0100 / 0.0080) / math.log(0.9 / 0.6)
    of_slope = (0.5 / 400 + 0.5 / 900) / math.log(0.9 / 0.6) ** 2
    power = (0.77 / 0.12**2 + slope / of_slope) / (1 / 0.12**2 + 1 / of_slope)

    value, _ = bring_to_one(net, sigma, freedom, 1, FILM_EXPONENT)

    assert value == pytest.approx(0.0100 * 0.9**-power, rel=1e-12)


@pytest.mark.parametrize("outside", [0.3, 0.499, 1.501, 2.0])
def test_views_outside_the_range_tell_no_exponent(outside: float) -> None:
    """A view below 0.5 or above 1.5 leaves the figure as it is; at 0.5 and at 1.5 one counts."""
    plain = bring_to_one([0.9], [0.01], [700.0], 0, FILM_EXPONENT)
    inside = 0.5 if outside < 1 else 1.5

    assert bring_to_one([0.9, outside], [0.01, 0.02], [700.0, 700.0], 0, FILM_EXPONENT) == pytest.approx(plain)
    assert bring_to_one([0.9, inside], [0.01, 0.02], [700.0, 700.0], 0, FILM_EXPONENT) != pytest.approx(plain)


def test_a_view_below_the_base_is_no_hindrance() -> None:
    """A view of the clear edge, thinner than the base that was read, has no logarithm and is left out."""
    assert measured(at_net(1.0), at_net(-0.01))["rms_granularity"].value == pytest.approx(10.0)


NETS = st.floats(0.4, 1.6)


@given(
    views=st.lists(st.tuples(NETS, st.floats(0.003, 0.05), st.floats(200, 9000)), min_size=1, max_size=5),
    first=st.floats(0.8, 1.2),
)
def test_the_error_is_propagated(views: list[tuple[float, float, float]], first: float) -> None:
    """The variance is that of every view and of the prior, each by how far the result follows it."""
    net, sigma, freedom = (list(column) for column in zip(*views, strict=True))
    net[0] = first

    def log_of(sigma: list[float], prior: Exponent = FILM_EXPONENT) -> float:
        return math.log(bring_to_one(net, sigma, freedom, 0, prior)[0])

    _, relative = bring_to_one(net, sigma, freedom, 0, FILM_EXPONENT)
    step = 1e-4
    moved = [
        (log_of([s * math.exp(step * (i == j)) for j, s in enumerate(sigma)]) - log_of(sigma)) / step
        for i in range(len(sigma))
    ]
    by_prior = (log_of(sigma, replace(FILM_EXPONENT, value=0.77 + step)) - log_of(sigma)) / step
    variance = sum(m**2 / (2 * f) for m, f in zip(moved, freedom, strict=True)) + (0.12 * by_prior) ** 2

    assert relative == pytest.approx(math.sqrt(variance), rel=1e-5)


def test_intervals_hold_the_granularity_at_one() -> None:
    """Of 3,000 films whose exponents scatter as the prior says, 93 to 97 % of the intervals hold the true figure."""
    random = np.random.default_rng(31)
    held = 0
    for _ in range(3000):
        count, power = int(random.integers(1, 4)), random.normal(0.77, 0.12)
        nets = [random.uniform(0.8, 1.2), *random.uniform(0.5, 1.5, count - 1)]
        freedoms = random.uniform(200, 2000, count)
        sigmas = [0.01 * n**power * math.sqrt(random.chisquare(f) / f) for n, f in zip(nets, freedoms, strict=True)]
        value, relative = bring_to_one(nets, sigmas, freedoms.tolist(), 0, FILM_EXPONENT)
        held += abs(math.log(value / 0.01)) <= 1.96 * relative

    assert 0.93 < held / 3000 < 0.97
