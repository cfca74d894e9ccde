"""The slanted edge: how much of an edge's contrast film and scanner keep at each spatial frequency.

In the manner of ISO 12233: the edge crosses the pixels at a slant, so that all its pixels together sample it far finer
than one row does. Distances to the fitted edge are binned four times finer than the pixels, the binned edge is
differentiated, and its transform is the response. The difference of neighbouring bins is itself a filter whose
response, sin(2 pi f d) / (2 pi f d) with d a quarter pixel, is divided out, limited to a factor of 10 (derived here:
the 2014 edition's printed formula is told to have a misprint, seen in a secondary place).

It departs from the standard in five ways (project). Slow shading is taken out first. A bin averages the edge over its
own width, which reads sharp edges 0.4 % low: that response, sin(pi f d) / (pi f d), is divided out too. Distances are
taken square to the edge, not along the rows, so that any slant and both directions are alike. The edge is found by
fitting a blurred step to all pixels near it, for single rows of grainy film show no edge. The window about the edge is
as narrow as the edge allows, and flat in its middle half, for every further bin brings grain and no edge.
"""

import math

import numpy as np

from basefog.measure.intervals import student_factor
from basefog.picture.texture.edge_fit import EdgeFit, fit_edge
from basefog.picture.texture.edge_shading import remove_edge_shading
from basefog.records.content import FloatArray
from basefog.records.findings import EdgeResponse
from basefog.records.numbers import fixed
from basefog.records.scan_figures import EdgeSharpness, NotSeen

BIN_PX = 0.25
MOST_DENSITY_DIFFERENCE = 0.4
LEAST_DENSITY_DIFFERENCE = 0.05
LEAST_DEGREES = 2.0
MOST_DEGREES = 43.0
LEAST_LENGTH_PX = 60
LARGEST_CORRECTION = 10.0

MOST_HALF_INTERVAL = 0.25
"""Half the interval as a share of MTF50 beyond which the edge counts as too noisy (project)."""

FREQUENCIES = np.arange(0.0, 1.0 + 1e-9, 0.01)
"""Cycles a pixel; the bins carry the edge beyond the pixels' own limit of 0.5."""

_SPREADS_IN_WINDOW = 6.0
_LEAST_WINDOW_PX = 6.0
_BLOCK_PX = 12
_DRAWS = 400
_EMPTY_SHARE = 0.10


def measure_edge(density: FloatArray, pixels_per_mm: float, random: np.random.Generator) -> EdgeSharpness | NotSeen:
    """Return the response to a slanted edge and the frequency at which it is one half.

    MTF(f) = |sum_j w_j L_j exp(-2 pi i f d_j)| / (|sum_j w_j L_j| b(f) c(f)), L_j = (E_(j+1) - E_(j-1)) / 2 of the edge
    E in transmittance freed of shading, w the window, b(f) = sin(pi f d) / (pi f d), c(f) = max(sin(2 pi f d) /
    (2 pi f d), 1/10), d = 1/4 pixel. The interval resamples the edge's length in blocks of 12 pixels, so that grain
    correlated along the edge counts.

    Arguments: `density` (rows, columns) with one straight edge; `pixels_per_mm` on the film; `random`, seeded.

    Returns NotSeen, saying why, where there is no edge or too little of it, its slant is near 0 or 45 degrees, its
    densities differ by more than 0.4, or grain hides it.

    Source: the slanted-edge method of ISO 12233, of which no text was seen; bootstrap in blocks: H. R. Kunsch 1989.
    """
    found = _find_edge(density)
    if isinstance(found, NotSeen):
        return found
    transmittance, edge = found
    window = _window_of(edge)
    sums, counts = _bin_blocks(transmittance, edge, window)
    if np.mean(counts.sum(axis=0) == 0) > _EMPTY_SHARE:
        return NotSeen(
            why=f"at a slant of {fixed(edge.degrees, 1)} degrees the pixels repeat and leave gaps: lay "
            f"the edge at about "
            "5 degrees"
        )
    blocks = sums.shape[0]
    weights = np.vstack([np.ones(blocks), random.multinomial(blocks, np.full(blocks, 1 / blocks), size=_DRAWS)])
    responses = compute_response(weights @ sums, weights @ counts)
    halves = np.array([find_half(response) for response in responses])
    if not math.isfinite(halves[0]):
        return NotSeen(why="the response never falls to one half: the scan is sharpened, or too coarse for the film")
    factor = factor_of_blocks(blocks)
    spread = factor * _deviation(halves[1:], halves[0])
    if np.isnan(halves[1:]).mean() > 0.025 or spread > MOST_HALF_INTERVAL * halves[0]:
        return NotSeen(
            why="grain and noise hide the edge: the frequency of half response would be uncertain by "
            f"{fixed(100 * spread / halves[0], 0)}%; use a longer edge or one of more contrast (up to a density "
            f"difference of {MOST_DENSITY_DIFFERENCE:g})"
        )
    half = float(halves[0])
    return EdgeSharpness(
        mtf50=half * pixels_per_mm,
        low=(half - spread) * pixels_per_mm,
        high=(half + spread) * pixels_per_mm,
        response=_tabulate(responses, half, pixels_per_mm, factor),
        density_difference=edge.density_difference,
        degrees=edge.degrees,
    )


def _find_edge(density: FloatArray) -> tuple[FloatArray, EdgeFit] | NotSeen:
    """Return transmittance freed of shading and the edge that lies in it, or why there is none to be measured."""
    transmittance = 10.0**-density
    edge = fit_edge(transmittance)
    if edge is None:
        return NotSeen(why="no edge was found in the view")
    if why := _why_not(edge):
        return NotSeen(why=why)
    even = remove_edge_shading(transmittance, edge, min(_window_of(edge), edge.reach_px / 2))
    # Shading leans the fit too: once more without it.
    return even, fit_edge(even) or edge


def _window_of(edge: EdgeFit) -> float:
    return min(max(_LEAST_WINDOW_PX, _SPREADS_IN_WINDOW * edge.spread_px), edge.reach_px)


def compute_response(sums: FloatArray, counts: FloatArray, *, derivative_divided_out: bool = True) -> FloatArray:
    """Return the response at `FREQUENCIES`, one row for each row of binned edges, the bins' own width divided out.

    Arguments: `sums` and `counts` (n, bins) of transmittance in bins a quarter pixel wide, the edge in the middle;
    `derivative_divided_out` False leaves the response of the difference in, to show what it does.
    """
    edges = _fill_empty(sums, counts)
    spread = (edges[:, 2:] - edges[:, :-2]) / 2
    count = spread.shape[1]
    places = (np.arange(count) - (count - 1) / 2) * BIN_PX
    windowed = spread * _flat_window(count)
    waves = np.exp(-2j * np.pi * FREQUENCIES[:, None] * places[None, :])
    transform = np.abs(windowed @ waves.T)
    response = transform / transform[:, :1] / np.sinc(FREQUENCIES * BIN_PX)
    if derivative_divided_out:
        response = response / np.maximum(np.sinc(2 * FREQUENCIES * BIN_PX), 1 / LARGEST_CORRECTION)
    return np.asarray(response)


def factor_of_blocks(blocks: int) -> float:
    """Return how many bootstrap deviations make half a 95 % interval, where so many blocks were drawn from.

    Few blocks know their own scatter poorly: Student's factor at one degree of freedom less. The bootstrap's variance
    of a mean of n is the scatter about the mean over n^2, short of that over n (n - 1): sqrt(n / (n - 1)) makes it up.
    """
    return student_factor(blocks - 1) * math.sqrt(blocks / (blocks - 1))


def find_half(response: FloatArray) -> float:
    """Return the first frequency, in cycles a pixel, at which a response falls to one half; NaN where it never does."""
    below = np.flatnonzero(response < 0.5)
    if below.size == 0:
        return math.nan
    after = int(below[0])
    near, far = float(response[after - 1]), float(response[after])
    share = (near - 0.5) / (near - far)
    return float(FREQUENCIES[after - 1] + share * (FREQUENCIES[after] - FREQUENCIES[after - 1]))


def _why_not(edge: EdgeFit) -> str | None:
    if edge.length_px < LEAST_LENGTH_PX:
        return (
            f"only {fixed(edge.length_px, 0)} pixels of the edge lie in the view, at least {LEAST_LENGTH_PX} are needed"
        )
    if edge.density_difference > MOST_DENSITY_DIFFERENCE:
        return (
            f"the edge's sides differ by {fixed(edge.density_difference, 2)} in density, at most "
            f"{MOST_DENSITY_DIFFERENCE:g} are measured: beyond it the film does not answer in proportion"
        )
    if edge.density_difference < LEAST_DENSITY_DIFFERENCE:
        return (
            f"no edge was found in the view: its sides differ by only {fixed(edge.density_difference, 2)} in density, "
            f"at least {LEAST_DENSITY_DIFFERENCE:g} are needed"
        )
    if not LEAST_DEGREES <= edge.degrees <= MOST_DEGREES:
        return (
            f"the edge is slanted by {fixed(edge.degrees, 1)} degrees, {LEAST_DEGREES:g} to {MOST_DEGREES:g} are "
            "needed: lay it at about 5 degrees"
        )
    if edge.reach_px < _LEAST_WINDOW_PX:
        return "the edge lies too near the border of the view"
    return None


def _bin_blocks(transmittance: FloatArray, edge: EdgeFit, window_px: float) -> tuple[FloatArray, FloatArray]:
    """Return sums and counts of transmittance by block along the edge and by bin across it."""
    across, along = edge.distances(transmittance.shape)
    bins = 2 * math.ceil(window_px / BIN_PX) + 1
    index = np.floor(across / BIN_PX + bins / 2).astype(np.int64)
    start = along.min()
    blocks = max(2, int((along.max() - start) / _BLOCK_PX))
    block = np.minimum(((along - start) / (along.max() - start) * blocks).astype(np.int64), blocks - 1)
    near = (index >= 0) & (index < bins)
    flat = block[near] * bins + index[near]
    sums = np.bincount(flat, weights=transmittance[near], minlength=blocks * bins).reshape(blocks, bins)
    counts = np.bincount(flat, minlength=blocks * bins).reshape(blocks, bins).astype(np.float64)
    used = counts.sum(axis=1) > 0
    return sums[used], counts[used]


def _fill_empty(sums: FloatArray, counts: FloatArray) -> FloatArray:
    """Return the means of bins; an empty one lies straight between its neighbours."""
    edges = sums / np.maximum(counts, 1.0)
    places = np.arange(edges.shape[1])
    for row in np.flatnonzero((counts == 0).any(axis=1)):
        full = counts[row] > 0
        edges[row] = np.interp(places, places[full], edges[row, full])
    return np.asarray(edges)


def _flat_window(count: int) -> FloatArray:
    """Return a window that is flat over its middle half and falls as a cosine to its ends (J. W. Tukey 1967)."""
    from scipy.signal.windows import tukey

    return np.asarray(tukey(count, 0.5), dtype=np.float64)


def _deviation(draws: FloatArray, value: float) -> float:
    found = draws[np.isfinite(draws)]
    return math.sqrt(float(np.mean((found - value) ** 2))) if found.size else math.inf


def _tabulate(responses: FloatArray, half: float, pixels_per_mm: float, factor: float) -> EdgeResponse:
    """Return the response with its band, up to the pixels' own limit, or beyond it where the half comes late."""
    last = max(0.5, min(1.0, 1.5 * half))
    shown = last + 1e-9 > FREQUENCIES
    value = responses[0, shown]
    spread = factor * np.sqrt(np.mean((responses[1:, shown] - value) ** 2, axis=0))
    columns = (FREQUENCIES[shown] * pixels_per_mm, value, np.maximum(value - spread, 0.0), value + spread)
    frequency, value, low, high = (np.ascontiguousarray(column) for column in columns)
    for column in (frequency, value, low, high):
        column.setflags(write=False)
    return EdgeResponse(cycles_per_mm=frequency, response=value, low=low, high=high)
