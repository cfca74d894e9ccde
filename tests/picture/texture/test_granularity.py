"""Granularity through a round aperture: true values, shading, refusals, and intervals that cover."""

import math

import numpy as np
import pytest

from basefog.picture.texture.apertures import aperture_weights, average_through, measure_granularity
from basefog.picture.texture.shading import remove_shading
from basefog.records.content import FloatArray
from basefog.records.scan_figures import Granularity, NotSeen
from picture.texture.fields import grow_field

SIGMA = 0.0115


def measured(density: FloatArray, pitch_um: float, aperture_um: float = 48.0) -> Granularity:
    found = measure_granularity(density, pitch_um, aperture_um)
    assert isinstance(found, Granularity)
    return found


def refusal(density: FloatArray, pitch_um: float = 8.0) -> str:
    found = measure_granularity(density, pitch_um)
    assert isinstance(found, NotSeen)
    return found.why


def smooth_shading(shape: tuple[int, int]) -> FloatArray:
    """Return a lamp's fall-off and a tilt, 0.18 of density in all."""
    y, x = np.meshgrid(np.linspace(-1, 1, shape[0]), np.linspace(-1, 1, shape[1]), indexing="ij")
    return np.asarray(0.05 * x - 0.03 * y + 0.06 * (x * x + y * y) + 0.02 * x * y)


@pytest.mark.parametrize(("pitch_um", "spread_um"), [(9.5, 3.0), (8.0, 2.0), (8.0, 5.0), (5.0, 4.0), (2.5, 4.0)])
def test_the_pitch_of_the_scan_does_not_show(pitch_um: float, spread_um: float) -> None:
    """Grain of known granularity is measured as such by coarse and fine scans, fine and coarse grain, to 3 %."""
    size = round(2600 / pitch_um)
    field = grow_field(
        (size, size), pitch_um=pitch_um, spread_um=spread_um, sigma_48=SIGMA, seed=4, fine=3 if pitch_um > 4 else 2
    )
    found = measured(1.0 + field, pitch_um)

    assert found.sigma == pytest.approx(SIGMA, rel=0.03)
    assert found.density == pytest.approx(1.0, abs=0.004)


def test_the_weights_sum_to_one_and_reach_the_rim() -> None:
    """A tone is kept, and the area by which white noise falls is that of the circle."""
    weights = aperture_weights(12.0)

    assert weights.sum() == pytest.approx(1.0, abs=1e-12)
    assert 1 / (weights**2).sum() == pytest.approx(math.pi * 36.0, rel=0.01)
    assert average_through(np.full((40, 40), 0.9), 12.0) == pytest.approx(0.9, abs=1e-9)


def test_transmittance_is_averaged_not_density() -> None:
    """Half clear, half dense is seen as light sees it: a density of 0.26, not of 0.5."""
    stripes = np.tile([0.0, 1.0], (60, 30))

    assert average_through(stripes, 12.0).mean() == pytest.approx(-math.log10(0.55), abs=0.002)


def test_slow_shading_does_not_count() -> None:
    """A lamp's fall-off of 0.18 in density over the view changes granularity by less than 1 %."""
    field = grow_field((240, 240), pitch_um=8.0, spread_um=4.0, sigma_48=SIGMA, seed=4)
    plain, shaded = measured(1.0 + field, 8.0), measured(1.0 + field + smooth_shading(field.shape), 8.0)

    assert shaded.sigma == pytest.approx(plain.sigma, rel=0.01)
    assert average_through(1.0 + field + smooth_shading(field.shape), 6.0).std() > 3 * SIGMA


def test_taking_shading_away_eats_no_grain() -> None:
    """The mean over many of the smallest views allowed is true within 1.5 %: what the fit took is given back."""
    found = [
        measured(1.0 + grow_field((90, 90), pitch_um=8.0, spread_um=4.0, sigma_48=SIGMA, seed=seed, fine=2), 8.0).sigma
        for seed in range(60)
    ]

    assert math.sqrt(float(np.mean(np.square(found)))) == pytest.approx(SIGMA, rel=0.015)


def test_shading_is_one_surface_of_the_second_order() -> None:
    """What is taken away has six terms: a ripple of three waves over the view stays."""
    ripple = np.tile(np.sin(np.linspace(0, 6 * math.pi, 120)), (100, 1))

    assert np.ptp(remove_shading(smooth_shading((100, 120)))) < 1e-4
    assert remove_shading(ripple).std() > 0.95 * ripple.std()


def test_intervals_cover() -> None:
    """Of 120 views, 90 to 99 % have the true granularity in their 95 % intervals."""
    held = 0
    for seed in range(120):
        field = grow_field((100, 100), pitch_um=8.0, spread_um=4.5, sigma_48=SIGMA, seed=1000 + seed, fine=2)
        found = measured(1.0 + field, 8.0)
        held += found.low <= SIGMA <= found.high

    assert 0.90 <= held / 120 <= 0.99


def test_a_larger_view_is_surer() -> None:
    """Four times the area halves the interval."""
    small, large = (
        measured(1.0 + grow_field((size, size), pitch_um=8.0, spread_um=4.0, sigma_48=SIGMA, seed=5), 8.0)
        for size in (120, 240)
    )

    ratio = (large.high - large.low) / large.sigma / ((small.high - small.low) / small.sigma)

    assert ratio == pytest.approx(0.48, abs=0.06)


def test_a_coarse_scan_is_refused() -> None:
    """At 10 um the aperture spans 4.8 pixels."""
    why = "an aperture of 48 um spans only 4.8 pixels, at least 5 are needed: scan finer"

    assert refusal(np.ones((200, 200)), 10.0) == why


def test_a_small_area_is_refused() -> None:
    """84 pixels of 8 um hold 14 apertures, and 14 times 14 is 196."""
    why = "only 196 apertures of 48 um fit into the view, at least 200 are needed: choose a larger even area"

    assert refusal(np.ones((84, 84))) == why


def test_a_narrow_strip_is_refused() -> None:
    """A strip of a single aperture's width holds 300 of them, and no room to tell grain from shading."""
    why = "the view is too narrow for apertures of 48 um: choose a larger even area"

    assert refusal(np.ones((8, 1800))) == why


def test_no_grain_is_refused() -> None:
    """A computed tone has no granularity of zero."""
    assert refusal(np.ones((100, 100))) == "the area has no grain at all: every place has one density"


def test_uneven_areas_are_refused() -> None:
    """A ripple that slow shading does not explain is refused, though it is no larger than the grain."""
    field = grow_field((240, 240), pitch_um=8.0, spread_um=4.0, sigma_48=SIGMA, seed=6)
    ripple = SIGMA * np.sin(np.linspace(0, 8 * math.pi, 240))[None, :]

    assert refusal(1.0 + field + ripple).startswith("the area is uneven")


def test_lettering_is_refused() -> None:
    """Black on white, far beyond any grain, is refused and not computed."""
    density = 0.1 + 2.5 * (np.indices((240, 240)).sum(axis=0) // 20 % 2)

    assert refusal(density)


def test_specks_are_refused() -> None:
    """A few specks of dust, each the size of an aperture, are refused, for they would rule the deviation."""
    density = 1.0 + grow_field((240, 240), pitch_um=8.0, spread_um=4.0, sigma_48=SIGMA, seed=7)
    for row, column in np.random.default_rng(8).integers(10, 225, (12, 2)):
        density[row : row + 5, column : column + 5] += 0.2

    assert refusal(density).startswith("a few places differ far from the rest")


def test_honest_grain_is_hardly_ever_refused() -> None:
    """None of 60 even views of the smallest size allowed is called uneven."""
    fields = (
        grow_field((90, 90), pitch_um=8.0, spread_um=6.5, sigma_48=SIGMA, seed=500 + seed, fine=2) for seed in range(60)
    )
    refused = [found.why for field in fields if isinstance(found := measure_granularity(1.0 + field, 8.0), NotSeen)]

    assert refused == []
