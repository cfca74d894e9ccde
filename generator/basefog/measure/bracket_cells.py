"""The readings of a bracket on a curve: where each is expected, where it was found, and how far it may be off.

Each is turned back to log exposure through the stock's own curve, so that contrast drops out.
"""

import math
from dataclasses import dataclass

import numpy as np

from basefog.measure.bracket_readings import BracketTable, draw_reading_errors
from basefog.measure.contrast import find_average_gradient
from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve
from basefog.measure.resampling import DRAWS
from basefog.measure.two_way import BoolArray, IntArray
from basefog.records.content import FloatArray
from basefog.records.vocabulary import LOG10_2

SECANT_REACH = 0.10
"""Log units either side of a predicted place over which the curve's slope there is taken (project)."""

INSIDE = 0.03
"""Density that a predicted place lies inside the readings of the curve, to serve (project)."""

LEAST_SHARE = 0.3
"""Share of the average gradient that the slope there has, to serve (project)."""

_PLACE_STEP = 0.005


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Cells:
    """The readings of a bracket on one curve: densities on its base, predicted places, slopes there, errors (n,)."""

    table: BracketTable
    curve: FittedCurve
    based: BoolArray
    density: FloatArray
    predicted: FloatArray
    slope: FloatArray

    @classmethod
    def of(cls, table: BracketTable, curve: FittedCurve) -> "Cells":
        """Return the readings of a bracket on a curve, on its base plus fog where both are known."""
        as_read = curve.axis == BRACKET_AXIS or not math.isfinite(curve.base_plus_fog[0])
        based = np.isfinite(table.base) & (not as_read)
        base = np.where(based, table.base - (0.0 if as_read else curve.base_plus_fog[0]), 0.0)
        density = table.density - base[table.frame]
        predicted = predict_places(curve, density, table.stops[table.frame], table.patch)
        low = np.clip(predicted - SECANT_REACH, curve.first, curve.last)
        high = np.clip(predicted + SECANT_REACH, curve.first, curve.last)
        rise = density_of(curve, high) - density_of(curve, low)
        slope = np.where(high > low, rise / np.where(high > low, high - low, 1.0), 0.0)
        return cls(table=table, curve=curve, based=based, density=density, predicted=predicted, slope=slope)

    def own_places(self) -> FloatArray:
        """Return where the curve has every reading, (n,); NaN where it is off the curve."""
        log_exposure, density = self.curve.log_exposure, self.curve.density[0]
        found = np.interp(self.density, density, log_exposure)
        return np.where((self.density >= density[0]) & (self.density <= density[-1]), found, np.nan)

    def serving(self) -> BoolArray:
        """Return which readings are predicted to lie inside the curve's readings and where it is steep enough."""
        ends = self.curve.density[0, [0, -1]]
        there = density_of(self.curve, self.predicted)
        inside = (self.predicted > self.curve.first) & (self.predicted < self.curve.last)
        inside &= (there >= ends[0] + INSIDE) & (there <= ends[1] - INSIDE)
        return np.asarray(inside & (self.slope >= LEAST_SHARE * _usual_gradient(self.curve)) & (self.slope > 0))

    def u_place(self, used: BoolArray) -> FloatArray:
        """Return u_fp of the readings that serve, log exposure: its own error and the curve's at its predicted place.

        The frame's base is not in it: its error moves a whole frame, and the frame's own effect takes that up.
        """
        drawn = self.curve.densities_at(self.predicted[used])
        u_curve = np.sqrt(np.mean((drawn[1 : 1 + DRAWS] - drawn[0]) ** 2, axis=0))
        return np.asarray(np.hypot(self.table.u_density[used], u_curve) / self.slope[used], dtype=np.float64)

    def on_drawn_curves(self, used: BoolArray) -> FloatArray:
        """Return where every row of the curve has the readings as they are, (rows, n used).

        A row that ends short of a reading is drawn on with the slope there: a draw lost would narrow the interval.
        """
        base = np.where(np.isfinite(self.curve.base_plus_fog), self.curve.base_plus_fog, 0.0)
        moved = self.based[self.table.frame[used]] * (base - base[0])[:, None]
        density = self.density[used] + moved
        low, high = self.curve.density[:, :1], self.curve.density[:, -1:]
        beyond = np.minimum(density - low, 0.0) + np.maximum(density - high, 0.0)
        found = find_log_exposures(self.curve, np.clip(density, low, high))
        return np.asarray(found + beyond / self.slope[used], dtype=np.float64)

    def moved_by_reading(self, own: FloatArray, used: BoolArray, key: str) -> FloatArray:
        """Return by how much other errors of reading move the readings on the curve as it is, (DRAWS, n used)."""
        of_patch, of_base = draw_reading_errors(self.table, key)
        errors = (of_patch - np.where(self.based, of_base, 0.0)[:, self.table.frame])[:, used]
        density, row = self.density[used] + errors, self.curve.density[0]
        beyond = np.minimum(density - row[0], 0.0) + np.maximum(density - row[-1], 0.0)
        return np.asarray(
            np.interp(density, row, self.curve.log_exposure) + beyond / self.slope[used] - own[used], dtype=np.float64
        )


def predict_places(curve: FittedCurve, density: FloatArray, stops: FloatArray, patch: IntArray) -> FloatArray:
    """Return the place on the curve's axis where each reading is expected from all frames of its patch, (n,).

    m_p + 0.3010 s_f, where m_p makes the sum over the frames of |D_fp - C(m_p + 0.3010 s_f)| least: the median of
    x_fp - 0.3010 s_f with the curve's slope as weight. A plain median would be drawn off by the frames that lie in the
    toe or off the curve, where a place means nothing; here they weigh nothing. No reading decides its own place.

    Arguments: `density`, on the curve's base, `stops` and `patch`, all (n,).
    """
    found = np.empty(density.size)
    reach = LOG10_2 * np.abs(stops).max(initial=0.0)
    width = curve.last - curve.first + 2 * reach
    places = np.linspace(curve.first - reach, curve.last + reach, math.ceil(width / _PLACE_STEP) + 1)
    for number in np.unique(patch):
        own = patch == number
        shift = LOG10_2 * stops[own]
        misfit = np.abs(density[own] - density_of(curve, places[:, None] + shift)).sum(axis=1)
        # Readings wholly off the curve leave a flat bottom; its middle is off the curve too.
        least = np.flatnonzero(misfit <= misfit.min() + 1e-9)
        found[own] = (places[least[0]] + places[least[-1]]) / 2 + shift
    return found


def find_log_exposures(curve: FittedCurve, density: FloatArray) -> FloatArray:
    """Return where every row of a curve reaches its densities: (rows, k) -> (rows, k), NaN where it does not.

    As `FittedCurve.log_exposure_at`, for many densities a row at once.
    """
    rows, size = curve.density.shape
    rung = float(curve.density.max() - curve.density.min()) + 1.0
    lift = rung * np.arange(rows)[:, None]
    # A density far off would stray onto another row's rung; it is not reached in either case.
    low, high = curve.density[:, :1], curve.density[:, -1:]
    held = np.clip(np.where(np.isnan(density), low, density), low, high)
    below = np.searchsorted((curve.density + lift).ravel(), (held + lift).ravel()).reshape(density.shape)
    flat = np.clip(below - size * np.arange(rows)[:, None], 1, size - 1) + size * np.arange(rows)[:, None]
    left, right = curve.density.ravel()[flat - 1], curve.density.ravel()[flat]
    rise = np.where(right > left, right - left, 1.0)
    step = (curve.last - curve.first) / (size - 1)
    place = curve.first + step * (flat - size * np.arange(rows)[:, None] - 1 + np.clip((held - left) / rise, 0.0, 1.0))
    return np.where((density >= low) & (density <= high), place, np.nan)


def density_of(curve: FittedCurve, places: FloatArray) -> FloatArray:
    """Return row 0 of the curve at any places, held at its ends beyond them."""
    return np.asarray(np.interp(places, curve.log_exposure, curve.density[0]), dtype=np.float64)


def _usual_gradient(curve: FittedCurve) -> float:
    """Return the average gradient, else the curve's greatest slope over 0.20 log units."""
    average = float(find_average_gradient(curve)[0])
    if math.isfinite(average):
        return average
    centres = np.clip(curve.log_exposure, curve.first + SECANT_REACH, max(curve.last - SECANT_REACH, curve.first))
    low = np.clip(centres - SECANT_REACH, curve.first, curve.last)
    high = np.clip(centres + SECANT_REACH, curve.first, curve.last)
    return float(np.max((density_of(curve, high) - density_of(curve, low)) / (high - low)))
