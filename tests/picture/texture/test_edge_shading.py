"""Slow shading about an edge: taken out in every direction, and nothing else with it."""

import math

import numpy as np
import pytest

from basefog.picture.texture.edge import measure_edge
from basefog.picture.texture.edge_fit import fit_edge
from basefog.picture.texture.edge_shading import remove_edge_shading
from basefog.records.content import FloatArray
from basefog.records.scan_figures import EdgeSharpness
from picture.texture.fields import draw_edge, half_of_edge

SHADING = 0.02


def half_of(density: FloatArray) -> float:
    found = measure_edge(density, 1.0, np.random.default_rng(1))
    assert isinstance(found, EdgeSharpness)
    return found.mtf50


def tilt(shape: tuple[int, int], degrees: float, amount: float = SHADING) -> FloatArray:
    """Return a plane of density that rises by `amount` over the width of the view, in any direction."""
    rows, columns = shape
    y = (np.arange(rows) - (rows - 1) / 2)[:, None] / columns
    x = (np.arange(columns) - (columns - 1) / 2)[None, :] / columns
    return np.asarray(amount * (math.cos(math.radians(degrees)) * x + math.sin(math.radians(degrees)) * y))


@pytest.mark.parametrize(
    ("shape", "spread_px"), [((200, 200), 1.0), ((200, 80), 0.7), ((200, 80), 2.0), ((120, 160), 1.0)]
)
def test_shading_does_not_move_the_half(shape: tuple[int, int], spread_px: float) -> None:
    """Across the edge, along it and between, of either sign: 0.02 of density moves the half by less than 0.5 %.

    Without the plane it is moved by up to 1.7 %.
    """
    density = -np.log10(draw_edge(shape, degrees=5.0, spread_px=spread_px))
    true = half_of_edge(degrees=5.0, spread_px=spread_px)
    plain = half_of(density)
    found = [half_of(density + tilt(shape, degrees)) for degrees in (5.0, 185.0, 95.0, 50.0)]

    assert found == pytest.approx([true] * 4, rel=0.005)
    assert found == pytest.approx([plain] * 4, rel=0.0005)


@pytest.mark.parametrize("difference", [0.25, -0.25])
def test_what_comes_back_is_the_edge(difference: float) -> None:
    """Taking the plane out gives the edge as it was drawn, pixel by pixel, whichever side is the darker."""
    shape = (150, 110)
    drawn = draw_edge(shape, degrees=-12.0, spread_px=1.2, offset_px=8.0, difference=difference)
    shaded = drawn * 10.0 ** -tilt(shape, 30.0, 0.05)
    edge = fit_edge(shaded)
    assert edge is not None

    assert np.abs(remove_edge_shading(shaded, edge, 8.0) / drawn - 1).max() < 2e-4


def test_grain_tilts_the_sides_by_little() -> None:
    """With grain of 0.04 in density a pixel, shaded edges read what the same edges read unshaded, within 0.5 %.

    The truth lies within 1 % of their mean, of which grain makes most.
    """
    shape = (200, 120)
    clean = -np.log10(draw_edge(shape, degrees=5.0, spread_px=1.0))
    random = np.random.default_rng(25)
    grains = [random.normal(0.0, 0.04, shape) for _ in range(8)]
    plain = [half_of(clean + grain) for grain in grains]
    shaded = [half_of(clean + grain + tilt(shape, 20.0)) for grain in grains]

    assert shaded == pytest.approx(plain, rel=0.005)
    assert np.mean(shaded) == pytest.approx(half_of_edge(degrees=5.0, spread_px=1.0), rel=0.02)


def test_what_lies_in_a_corner_is_no_shading() -> None:
    """A dark corner that is no part of the two sides does not tilt them: the half stays within 0.5 %."""
    shape = (200, 200)
    density = -np.log10(draw_edge(shape, degrees=5.0, spread_px=1.0))
    plain = half_of(density)
    density[:70, :40] += 0.6

    assert half_of(density) == pytest.approx(plain, rel=0.005)


def test_a_narrow_side_leaves_the_view_as_it_is() -> None:
    """Where one side has hardly any room beyond the edge there is nothing to fit a plane to."""
    shape = (120, 120)
    drawn = draw_edge(shape, degrees=3.0, spread_px=0.8, offset_px=48.0) * 10.0 ** -tilt(shape, 0.0)
    edge = fit_edge(drawn)
    assert edge is not None

    assert remove_edge_shading(drawn, edge, 14.0) is drawn
    assert remove_edge_shading(drawn, edge, 4.0) is not drawn
