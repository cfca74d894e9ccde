"""Net shadow density against stops, on a bracket's own frames alone: for tests without a wedge exposure."""

import numpy as np

from basefog.measure.bracket_readings import BracketTable
from basefog.measure.crossing import find_crossings, fit_rising_rows
from basefog.measure.resampling import DRAWS, seeded_generator
from basefog.measure.smoother import apply_to_rows
from basefog.records.content import FloatArray
from basefog.records.vocabulary import LOG10_2

TYPICAL_BEND = 1.0
"""Typical second derivative of density by log exposure in the shadows, per (log unit)^1.5: see `smoother`."""

LEVEL = 1e-9
"""A rise no larger than rounding."""


def find_net_shadows(table: BracketTable, base_plus_fog: FloatArray, patch: str) -> tuple[FloatArray, FloatArray]:
    """Return the net density of a patch on every frame, (rows, F), and its uncertainty without the common base, (F,).

    Net of the frame's own base where that was read, else of the test's base plus fog, (rows,). NaN where the patch was
    not read or there is neither base. The readings are as they are in every row: only the common base moves.
    """
    own = table.patch == (table.patches.index(patch) if patch in table.patches else -1)
    density, u_density = np.full(len(table.frames), np.nan), np.full(len(table.frames), np.nan)
    density[table.frame[own]] = table.density[own]
    u_density[table.frame[own]] = table.u_density[own]
    base = np.where(np.isnan(table.base), base_plus_fog[:, None], table.base)
    return density - base, np.hypot(u_density, table.u_base)


def fit_shadow_curve(
    stops: FloatArray, net: FloatArray, u_net: FloatArray, *, shutter_stops: float, key: str
) -> tuple[FloatArray, FloatArray] | None:
    """Return a grid in stops and the smooth rising curve of net shadow density on it, (rows, g); None where level.

    Each frame's variance is u^2 + (0.3010 g s_shutter)^2, g the curve's own slope there by log exposure. Rows 1 to
    DRAWS have other errors of that size.

    Arguments: `stops` (k,) rising or level, two different ones at least; `net` (rows, k); `u_net` (k,), above 0;
    `shutter_stops`, s_shutter; `key`, the test's name, which alone seeds the draws.
    """
    first = _smooth(stops, net[:1], u_net)
    slope = np.interp(stops, first[0], np.gradient(first[1][0], LOG10_2 * first[0]))
    u_frame = np.hypot(u_net, LOG10_2 * shutter_stops * slope)
    errors = np.zeros(net.shape)
    generator = seeded_generator(key, "shadows")
    errors[1 : 1 + DRAWS] = u_frame * generator.standard_normal((DRAWS, stops.size))
    grid, curves = _smooth(stops, net + errors, u_frame)
    return None if curves[0, -1] - curves[0, 0] <= LEVEL else (grid, curves)


def read_at_metered(grid: FloatArray, curves: FloatArray) -> FloatArray:
    """Return every row's net shadow density at 0 stops, (rows,), NaN where no frame is that low or that high."""
    if not grid[0] - LEVEL <= 0.0 <= grid[-1] + LEVEL:
        return np.full(curves.shape[0], np.nan)
    right = int(np.clip(np.searchsorted(grid, 0.0), 1, grid.size - 1))
    share = float(np.clip(-grid[right - 1] / (grid[right] - grid[right - 1]), 0.0, 1.0))
    return np.asarray(curves[:, right - 1] * (1 - share) + curves[:, right] * share, dtype=np.float64)


def find_stops(grid: FloatArray, curves: FloatArray, aims: FloatArray) -> FloatArray:
    """Return the stops at which every row reaches its aim, (rows,), NaN where it does not."""
    return find_crossings(grid, curves, aims)


def _smooth(stops: FloatArray, net: FloatArray, u_net: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the grid in stops and the curves; frames at one exposure are one point."""
    sites, place = np.unique(stops, return_inverse=True)
    weights = np.zeros((stops.size, sites.size))
    weights[np.arange(stops.size), place] = u_net**-2
    total = weights.sum(axis=0)
    merged = apply_to_rows(net, weights / total)
    grid, curves = fit_rising_rows(LOG10_2 * sites, merged, 1 / total, typical_derivative=TYPICAL_BEND)
    return grid / LOG10_2, curves
