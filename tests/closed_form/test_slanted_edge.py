"""Slanted edges of known response, by the mathematics of Gaussians and squares.

The method is that of ISO 12233, of which no text was seen; the numbers are mathematics. A Gaussian of deviation s has
the response exp(-2 pi^2 s^2 f^2), a square pixel sin(pi f) / (pi f). Solved from these: a Gaussian alone
halves at 0.187391 / s; one pixel of Gaussian together with the pixel's square halve at 0.17996 cycles a pixel. The
difference of bins a quarter pixel apart has the response 0.9959, 0.9745, 0.9003 at 0.1, 0.25, 0.5 cycles a pixel
(derived).
"""

import numpy as np
import pytest

from basefog.picture.texture.edge import FREQUENCIES, compute_response, find_half, measure_edge
from basefog.records.scan_figures import EdgeSharpness
from picture.texture.fields import draw_edge, half_of_edge


def test_five_degrees_one_pixel() -> None:
    """At 5 degrees, a Gaussian of one pixel and the pixel's square halve at 0.17996 cycles a pixel, within 2 %."""
    edge = draw_edge((200, 200), degrees=5.0, spread_px=1.0)
    found = measure_edge(-np.log10(edge), 1.0, np.random.default_rng(1))
    assert isinstance(found, EdgeSharpness)

    assert found.mtf50 == pytest.approx(0.17996, rel=0.02)


@pytest.mark.parametrize("degrees", [4.0, 10.0, 20.0])
def test_two_pixels_at_other_slants(degrees: float) -> None:
    """A Gaussian of two pixels alone halves at 0.09370; with the pixel's square a little lower, as solved."""
    edge = draw_edge((160, 160), degrees=degrees, spread_px=2.0)
    found = measure_edge(-np.log10(edge), 1.0, np.random.default_rng(1))
    assert isinstance(found, EdgeSharpness)

    assert found.mtf50 == pytest.approx(half_of_edge(degrees=degrees, spread_px=2.0), rel=0.02)
    assert 0.95 * 0.09370 < found.mtf50 < 0.09370


def test_the_response_of_the_difference() -> None:
    """Without the correction the response is low by the factors derived, and the half comes too early."""
    bins = np.cumsum(np.exp(-0.5 * ((np.arange(401) - 200) * 0.25 / 0.4) ** 2))[None, :]
    right = compute_response(bins, np.ones_like(bins))[0]
    plain = compute_response(bins, np.ones_like(bins), derivative_divided_out=False)[0]
    at = [int(np.argmin(np.abs(FREQUENCIES - f))) for f in (0.1, 0.25, 0.5)]

    assert (plain / right)[at] == pytest.approx([0.9959, 0.9745, 0.9003], abs=1e-4)
    assert find_half(plain) < find_half(right) * 0.97
