"""The slanted edge: closed forms at many slants, why the derivative is divided out, refusals, and intervals."""

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from basefog.picture.texture.edge import FREQUENCIES, compute_response, factor_of_blocks, find_half, measure_edge
from basefog.picture.texture.edge_fit import fit_edge
from basefog.records.content import FloatArray
from basefog.records.scan_figures import EdgeSharpness, NotSeen
from picture.texture.fields import draw_edge, half_of_edge, response_of_edge


def measured(transmittance: FloatArray, pixels_per_mm: float = 1.0) -> EdgeSharpness:
    found = measure_edge(-np.log10(transmittance), pixels_per_mm, np.random.default_rng(1))
    assert isinstance(found, EdgeSharpness)
    return found


def refusal(transmittance: FloatArray) -> str:
    found = measure_edge(-np.log10(transmittance), 1.0, np.random.default_rng(1))
    assert isinstance(found, NotSeen)
    return found.why


@pytest.mark.parametrize("degrees", [-9.0, 3.0, 5.0, 12.0, 30.0, 40.0, 96.0])
@pytest.mark.parametrize("spread_px", [0.7, 2.0])
def test_half_response_at_every_slant(degrees: float, spread_px: float) -> None:
    """A Gaussian and the pixels' squares leave half at the frequency that theory says, within 0.3 %."""
    found = measured(draw_edge((130, 120), degrees=degrees, spread_px=spread_px))

    assert found.mtf50 == pytest.approx(half_of_edge(degrees=degrees, spread_px=spread_px), rel=0.003)
    assert found.degrees == pytest.approx(min(abs(degrees) % 90, 90 - abs(degrees) % 90), abs=0.02)
    assert found.density_difference == pytest.approx(0.25, abs=0.001)


def test_the_whole_response() -> None:
    """The curve follows theory within 0.01 up to the pixels' limit, in cycles/mm of the film."""
    found = measured(draw_edge((200, 200), degrees=5.0, spread_px=1.0), pixels_per_mm=120.0)
    curve = found.response
    theory = [response_of_edge(f / 120.0, degrees=5.0, spread_px=1.0) for f in curve.cycles_per_mm]

    assert curve.cycles_per_mm[-1] == pytest.approx(60.0)
    assert np.abs(curve.response - theory).max() < 0.01
    assert (curve.low <= curve.response).all()
    assert (curve.response <= curve.high).all()


def test_the_edge_is_found_to_a_part_of_a_pixel() -> None:
    """Direction to 0.01 degree and place to 0.01 pixel, in either direction of light."""
    for difference in (0.25, -0.25):
        edge = fit_edge(draw_edge((120, 140), degrees=7.0, spread_px=1.2, offset_px=3.4, difference=difference))

        assert edge is not None
        assert edge.normal_degrees == pytest.approx(7.0, abs=0.01)
        assert edge.offset_px == pytest.approx(3.4, abs=0.01)


def test_the_derivative_must_be_divided_out() -> None:
    """The difference of bins a quarter pixel apart has the response sin(pi f / 2) / (pi f / 2): low by 10 % at 0.5."""
    # A bin shows the mean over its width.
    places = (np.arange(401 * 8) - 401 * 4 + 0.5) / 32
    edge = np.array([0.5 * (1 + math.erf(x / (0.5 * math.sqrt(2)))) for x in places])
    bins = edge.reshape(1, 401, 8).mean(axis=2)
    corrected = compute_response(bins, np.ones_like(bins))[0]
    plain = compute_response(bins, np.ones_like(bins), derivative_divided_out=False)[0]
    theory = np.exp(-2 * (math.pi * 0.5 * FREQUENCIES) ** 2)
    half = math.sqrt(math.log(2) / 2) / math.pi / 0.5

    assert np.abs(corrected - theory)[FREQUENCIES <= 0.8].max() < 3e-4
    assert plain[50] / corrected[50] == pytest.approx(0.9003, abs=1e-4)
    assert find_half(corrected) == pytest.approx(half, rel=1e-3)
    assert find_half(plain) < 0.98 * half


def test_intervals_cover() -> None:
    """Of 30 grainy edges, at least 26 have the true frequency in their 95 % intervals, and they are not far off."""
    clean = draw_edge((200, 60), degrees=5.0, spread_px=0.9)
    true = half_of_edge(degrees=5.0, spread_px=0.9)
    random = np.random.default_rng(21)
    found = [measured(clean * 10.0 ** random.normal(0.0, 0.04, clean.shape)) for _ in range(30)]

    assert sum(edge.low <= true <= edge.high for edge in found) >= 26
    assert np.mean([edge.mtf50 for edge in found]) == pytest.approx(true, rel=0.03)


@pytest.mark.parametrize("values", [[1.0, 4.0, 2.0, 2.5, 0.5], [3.0, 5.0]])
def test_few_blocks_have_students_interval(values: list[float]) -> None:
    """Of a mean the bootstrap's deviation, by the factor, is the half width by Student's formula, t s / sqrt(n)."""
    count = len(values)
    # All draws that there are, each as likely as the others.
    draws = [np.mean(drawn) for drawn in itertools.product(values, repeat=count)]
    half = float(stats.t.ppf(0.975, count - 1) * np.std(values, ddof=1) / math.sqrt(count))

    assert factor_of_blocks(count) * float(np.std(draws)) == pytest.approx(half, rel=1e-9)


def test_the_interval_is_that_of_few_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    """An edge of 70 pixels is drawn again from six blocks, and its interval and band are by the factor of six."""
    asked: list[int] = []

    def double(blocks: int) -> float:
        asked.append(blocks)
        return 2 * factor_of_blocks(blocks)

    grain = 10.0 ** np.random.default_rng(24).normal(0.0, 0.01, (70, 60))
    grainy = draw_edge((70, 60), degrees=5.0, spread_px=0.9) * grain
    plain = measured(grainy)
    monkeypatch.setattr("basefog.picture.texture.edge.factor_of_blocks", double)
    wide = measured(grainy)

    assert asked == [6]
    assert wide.high - wide.mtf50 == pytest.approx(2 * (plain.high - plain.mtf50))
    assert wide.mtf50 - wide.low == pytest.approx(2 * (plain.mtf50 - plain.low))
    assert wide.response.high - wide.response.response == pytest.approx(
        2 * (plain.response.high - plain.response.response)
    )


def test_no_edge_is_refused() -> None:
    """Grain alone, and a slow shading, are no edge."""
    random = np.random.default_rng(22)
    grain = 0.2 * 10.0 ** random.normal(0.0, 0.04, (150, 150))

    assert refusal(grain) == "no edge was found in the view"
    assert refusal(np.full((20, 20), 0.3)) == "no edge was found in the view"


def test_too_steep_a_step_is_refused() -> None:
    """Sides that differ by 0.5 in density are refused."""
    why = refusal(draw_edge((120, 120), degrees=5.0, spread_px=1.0, difference=0.5))

    assert why.startswith("the edge's sides differ by 0.50 in density, at most 0.4 are measured")


def test_too_faint_a_step_is_refused() -> None:
    """Sides that differ by 0.03 in density are refused."""
    why = refusal(draw_edge((120, 120), degrees=5.0, spread_px=1.0, difference=0.03))

    assert why.startswith("no edge was found in the view: its sides differ by only 0.03")


@pytest.mark.parametrize("degrees", [0.0, 1.2, 44.6, 89.0])
def test_edges_along_or_half_way_are_refused(degrees: float) -> None:
    """Near 0 and near 45 degrees the pixels sample an edge no finer than one row does."""
    assert refusal(draw_edge((120, 120), degrees=degrees, spread_px=1.0)).startswith("the edge is slanted by ")


def test_slants_at_which_pixels_repeat_are_refused() -> None:
    """A slant of one in two leaves gaps between the distances."""
    degrees = math.degrees(math.atan(0.5))

    assert "the pixels repeat and leave gaps" in refusal(draw_edge((120, 120), degrees=degrees, spread_px=1.0))


def test_too_short_an_edge_is_refused() -> None:
    """Fifty rows are too few."""
    why = refusal(draw_edge((50, 120), degrees=5.0, spread_px=1.0))

    assert why == "only 49 pixels of the edge lie in the view, at least 60 are needed"


def test_an_edge_at_the_border_is_refused() -> None:
    """There must be room on both sides."""
    why = refusal(draw_edge((120, 120), degrees=3.0, spread_px=0.8, offset_px=55.5))

    assert why == "the edge lies too near the border of the view"


def test_grain_that_hides_the_edge_is_refused() -> None:
    """A faint edge in coarse grain would have a frequency that is uncertain by more than a third."""
    clean = draw_edge((150, 150), degrees=5.0, spread_px=1.0, difference=0.2)
    grain = 10.0 ** np.random.default_rng(23).normal(0.0, 0.12, clean.shape)

    assert refusal(clean * grain).startswith("grain and noise hide the edge")


def test_a_response_that_never_halves_has_no_frequency() -> None:
    """NaN where a response stays above one half."""
    assert math.isnan(find_half(np.full(FREQUENCIES.size, 0.8)))
