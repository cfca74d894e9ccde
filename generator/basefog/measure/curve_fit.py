"""The characteristic curve of one test and its resampled likes: what every curve measure is computed from.

For the other modules of this room: `fit_test_curve(test, terms)` returns a `FittedCurve` or a `NoCurve` with the
reason. `FittedCurve.density_at` and `.log_exposure_at` work on all rows at once and return NaN outside the readings;
row 0 is always the estimate itself, and rows of the wedge may follow the draws (see `resampling`).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from basefog.measure.asked import Terms
from basefog.measure.calm_curve import calm_curves
from basefog.measure.noise import mean_variance, pool_reading_error
from basefog.measure.resampling import DRAWS, WedgeRows, draw_values, seeded_generator, with_wedge_rows
from basefog.measure.smoother import apply_to_rows, made_monotone, smoothing_matrix
from basefog.records.content import FloatArray, StepReadings, Test
from basefog.records.findings import LampPart
from basefog.records.numbers import fixed
from basefog.records.vocabulary import LOG10_2

FEWEST_STEPS = 6
"""Steps below which no curve is fitted (project)."""

GRID_STEP = 0.015
"""Aimed distance of the curve's grid, log units; straight between, that is within 0.0001 in density."""

SAME_EXPOSURE = 1e-6
"""Log units within which two steps had the same exposure."""

LARGEST_LOG_EXPOSURE = 12.0
"""Log exposure, either way, beyond which it is no logarithm that was typed."""

BRACKET_AXIS = "bracket"
"""The axis of a curve from the bracket's grey patch: zero is the test's own metered exposure."""

MODEL_ERROR = 0.0025
"""Standard uncertainty, density, that a point of the curve keeps however well was read (project, from the study).

Between two steps no smooth line tells how a curve turns. It hardly counts beside readings good to 0.01; where three
readings good to 0.005 are averaged, intervals without it did not hold on films that kink into their shoulder.
"""

FLAT_GRADIENT = 0.02
"""Gradient below which the lowest step may stand for base plus fog."""


STANDARD_SHUTTER_STOPS = 0.10
"""Standard deviation of one frame's exposure, stops, where no test tells it (common practice, no source)."""


def model_error_of_gradient(run: float) -> float:
    """Return the standard uncertainty of a mean gradient over a run of log units that the curve's model leaves.

    sqrt(2) 0.0025 / run: the two densities at its ends are taken to err by `MODEL_ERROR` each, independently.

    >>> round(model_error_of_gradient(1.30), 4)
    0.0027
    """
    return math.sqrt(2) * MODEL_ERROR / run


@dataclass(frozen=True, kw_only=True, slots=True)
class NoCurve:
    """Why a test has no curve, in the tester's words; its base plus fog (rows,) where that was read."""

    why: str
    base_plus_fog: FloatArray | None = None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SmoothedFrames:
    """The frames whose grey readings a bracket's own curve was smoothed from, k of them, and how each erred.

    `log_exposure` (k,), nominal, rising; `operator` (g, k) takes their mean densities to the curve's grid. `u_exposure`
    (k,), log exposure, is the standard uncertainty of a frame's exposure, `shift` (k,) what it comes to in density
    there, and `u_density` (k,) that of its mean reading. `drawn_exposures` (DRAWS, k) is the part of the exposures in
    the drawn curves' errors, log exposure.
    """

    log_exposure: FloatArray
    operator: FloatArray
    u_exposure: FloatArray
    shift: FloatArray
    u_density: FloatArray
    drawn_exposures: FloatArray


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FittedCurve:
    """A fitted characteristic curve with all its draws.

    `log_exposure` (g,): the even grid from the first to the last reading. `density` (rows, g): row 0 the curve, then
    the resampled ones, then those of the wedge, if `wedge` says so; every row is non-decreasing. `calm_density`,
    alike, serves to find the straight line (see `calm_curve`); None lets the curve itself serve. `lamp` is what a log
    exposure owes to the lamp; `smoothed`, on the bracket's own axis alone, what its frames owe to the shutter.
    `base_plus_fog` (rows,) is NaN throughout where it can't be had and `base_why` says why;
    `base_note` says how it departs from the plain definition. `reading_error` is the standard deviation of one reading;
    `misfit`, how many times their error the mean readings scatter about the curve (its expected size is 1).
    `absolute`, `axis`: as in `records.findings.Curve`; `note`: what the curve was made from where that was not the
    wedge exposure.
    """

    log_exposure: FloatArray
    density: FloatArray
    base_plus_fog: FloatArray
    base_why: str | None
    base_note: str | None
    reading_error: float
    absolute: bool
    axis: str
    note: str | None
    calm_density: FloatArray | None = None
    misfit: float = 1.0
    wedge: WedgeRows | None = None
    lamp: LampPart | None = None
    smoothed: SmoothedFrames | None = None
    _rung: float = field(init=False, repr=False)
    _ladder: FloatArray = field(init=False, repr=False)

    def __post_init__(self) -> None:
        # Every row lifted clear of the one before: all of them in one rising line, which one search goes through.
        rung = float(self.density.max() - self.density.min()) + 1.0
        lift = rung * np.arange(self.density.shape[0])
        object.__setattr__(self, "_rung", rung)
        object.__setattr__(self, "_ladder", (self.density + lift[:, None]).ravel())

    @property
    def first(self) -> float:
        """Log exposure of the first reading."""
        return float(self.log_exposure[0])

    @property
    def last(self) -> float:
        """Log exposure of the last reading."""
        return float(self.log_exposure[-1])

    def density_at(self, log_exposure: FloatArray | float) -> FloatArray:
        """Return the density of every draw at a log exposure.

        Arguments: `log_exposure`, one number for all draws, one a row (rows,), or several a row (rows, k).
        Returns (rows,) or (rows, k), NaN outside the readings and where the argument is NaN.
        """
        place = (np.asarray(log_exposure, dtype=np.float64) - self.first) / self._step
        rows = np.arange(self.density.shape[0])
        if place.ndim < 2:
            place = np.broadcast_to(place, rows.shape)
        else:
            rows = rows[:, None]
        last = self.log_exposure.size - 1
        # A hair of rounding must not push the first or last reading itself outside.
        inside = (place >= -1e-9) & (place <= last + 1e-9)
        left = np.clip(np.where(inside, place, 0.0).astype(np.intp), 0, last - 1)
        share = np.clip(np.where(inside, place, np.nan) - left, 0.0, 1.0)
        low, high = self.density[rows, left], self.density[rows, left + 1]
        return np.asarray(low + share * (high - low), dtype=np.float64)

    def densities_at(self, log_exposure: FloatArray) -> FloatArray:
        """Return the density of every draw at a row of log exposures inside the readings, (k,) -> (rows, k)."""
        place = np.clip((log_exposure - self.first) / self._step, 0.0, self.log_exposure.size - 1.0)
        left = np.minimum(place.astype(np.intp), self.log_exposure.size - 2)
        share = place - left
        return np.asarray(self.density[:, left] * (1 - share) + self.density[:, left + 1] * share, dtype=np.float64)

    def log_exposure_at(self, density: FloatArray | float) -> FloatArray:
        """Return the log exposure at which every draw reaches a density; the first such point where it is flat.

        Arguments: `density`, one number for all draws, or one a row (rows,).
        Returns (rows,), NaN where the draw starts above the density or ends below it, or the argument is NaN.
        """
        aim = np.broadcast_to(np.asarray(density, dtype=np.float64), self.density.shape[:1])
        rows = np.arange(self.density.shape[0])
        last = self.log_exposure.size - 1
        # NaN sorts beyond everything; the test for what is reached turns it back into NaN.
        below = np.searchsorted(self._ladder, aim + self._rung * rows) - rows * self.log_exposure.size
        right = np.clip(below, 1, last)
        low, high = self.density[rows, right - 1], self.density[rows, right]
        rise = np.where(high > low, high - low, 1.0)
        found = self.first + self._step * (right - 1 + np.clip((aim - low) / rise, 0.0, 1.0))
        reached = (aim >= self.density[:, 0]) & (aim <= self.density[:, -1])
        return np.where(reached, found, np.nan)

    @property
    def _step(self) -> float:
        return (self.last - self.first) / (self.log_exposure.size - 1)


def fit_test_curve(test: Test, terms: Terms, *, shutter_stops: float = STANDARD_SHUTTER_STOPS) -> FittedCurve | NoCurve:
    """Return the curve of a test: from its wedge exposure, else from the grey patch of its bracket (noted).

    The bracket also serves where a wedge exposure was read and gives no curve; what that lacked is then in the note.

    Arguments: `shutter_stops`, the standard deviation of one frame's exposure, for a curve from a bracket.
    """
    repeatability = terms.repeatability
    if test.wedge is None:
        return _fit_bracket(test, terms.grey_patch, repeatability, shutter_stops)
    from_wedge = fit_curve(
        test.wedge.steps,
        test.wedge.base,
        repeatability=repeatability,
        quantum=test.wedge.quantum,
        key=test.key,
        absolute=test.wedge.absolute,
        # A relative column of one test is on nobody else's axis.
        axis=test.wedge.wedge or f"log_exposure of {test.key}",
        wedge=test.wedge.wedge,
        lamp=_lamp_of(test),
    )
    if isinstance(from_wedge, FittedCurve):
        return from_wedge
    from_bracket = _fit_bracket(test, terms.grey_patch, repeatability, shutter_stops)
    if isinstance(from_bracket, NoCurve):
        return from_wedge
    return replace(from_bracket, note=f"{from_bracket.note} that gives a curve: {from_wedge.why}")


def _lamp_of(test: Test) -> LampPart | None:
    """Return what a log exposure through the wedge owes to the lamp; None where it is relative or has no stated error.

    A `log_exposure` column is taken as it stands.
    """
    exposure = test.exposure
    if test.wedge is None or test.wedge.wedge is None or exposure.lux_s is None or exposure.u_lux_s is None:
        return None
    return LampPart(lux_s=exposure.lux_s, u_lux_s=exposure.u_lux_s, per_log_unit=1.0)


def _fit_bracket(
    test: Test, grey_patch: str | None, repeatability: float, shutter_stops: float
) -> FittedCurve | NoCurve:
    """Return the curve of a bracket's grey patch on its relative axis; the wedge's own base counts first."""
    if test.bracket is None or grey_patch is None:
        return NoCurve(why="no wedge exposure was read")
    steps = tuple(
        StepReadings(
            step=frame.frame,
            log_exposure=LOG10_2 * frame.stops,
            u_log_exposure=LOG10_2 * shutter_stops,
            readings=frame.patches.get(grey_patch, ()),
            place=frame.place,
        )
        for frame in test.bracket.frames
    )
    of_wedge = () if test.wedge is None else test.wedge.base
    return fit_curve(
        steps,
        of_wedge or tuple(sorted(reading for frame in test.bracket.frames for reading in frame.base)),
        repeatability=repeatability,
        quantum=test.bracket.quantum,
        key=test.key,
        absolute=False,
        axis=BRACKET_AXIS,
        note="from the grey patch of the bracketed frames, for want of a wedge exposure",
    )


def fit_curve(
    steps: Sequence[StepReadings],
    base: Sequence[float],
    *,
    repeatability: float,
    key: str,
    absolute: bool,
    axis: str,
    quantum: float = 0.0,
    note: str | None = None,
    wedge: str | None = None,
    lamp: LampPart | None = None,
) -> FittedCurve | NoCurve:
    """Return the curve through the mean readings of the steps, or why there is none.

    A smoothing spline on the third derivative (see `smoother`), each mean weighted by s^2 / n + q^2 / 12, s the pooled
    error of a reading (see `noise`) and q the last decimal that was typed, then made non-decreasing. It is smoothed
    little: the measures rest on two points or on wide windows, so that stiffness would win them half their scatter at
    most and bias them by as much. The draws are readings anew, the spline's own densities plus normal errors, fitted
    alike: one matrix product for all. How stiff, and that the intervals hold, was found by the project's simulation
    study (tests/measure/study), whose table stands in `study_results.json`.

    An error u of a step's log exposure is to first order an error of gradient x u in its density. Where a wedge gives
    the log exposures that error is the wedge's, the same for every test on it: it gets rows of its own (`WedgeRows`)
    and no share in the draws. Elsewhere, as with the shutter of a bracket, it is a further error of every reading.

    Arguments: `steps`, in any order; `base`, readings of unexposed film; `repeatability`, density, above 0;
    `quantum`, density; `key`, the test's name, which alone seeds the resampling; `wedge`, the id of the wedge whose
    calibration the steps' `u_log_exposure` are; `lamp`, what a log exposure owes to the lamp.

    Returns `NoCurve` below six different exposures, or where the log exposures can't be logarithms.
    Raises ValueError where the repeatability is not above 0.
    """
    read = _merge_equal_exposures(steps)
    error = pool_reading_error([step.readings for step in read] + [base], repeatability)
    base_draws = _draw_base(base, error, quantum, key)
    if len(read) < FEWEST_STEPS:
        why = f"{len(read)} different exposures were read, and a curve takes at least {FEWEST_STEPS}"
        return NoCurve(why=why, base_plus_fog=base_draws)
    sites = np.array([step.log_exposure for step in read])
    if np.abs(sites).max() > LARGEST_LOG_EXPOSURE:
        why = f"the log exposures run from {sites[0]:g} to {sites[-1]:g}, and no film's decimal logarithms do"
        return NoCurve(why=why, base_plus_fog=base_draws)
    means = np.array([float(np.mean(step.readings)) for step in read])
    variance = np.array([mean_variance(error, len(step.readings), quantum) for step in read])
    u_site = np.array([step.u_log_exposure for step in read])
    grid = np.linspace(sites[0], sites[-1], max(2, round((sites[-1] - sites[0]) / GRID_STEP)) + 1)
    plain = smoothing_matrix(sites, variance, np.concatenate([grid, sites]))
    at_site = np.gradient(plain[: grid.size] @ means, grid)
    shift = np.interp(sites, grid, at_site) * u_site
    wedge_rows = None if wedge is None else _list_wedge_rows(wedge, read, u_site)
    u_mean = np.sqrt(variance + (shift**2 if wedge is None else 0.0))
    normal = seeded_generator(key, "curve").standard_normal((DRAWS, sites.size))
    fitted = plain[grid.size :] @ means
    left_over = np.eye(sites.size) - plain[grid.size :]
    readings = np.vstack(
        [
            means,
            fitted + u_mean * normal,
            *([] if wedge_rows is None else [_move_steps(means, shift, u_site > 0)]),
        ]
    )
    density = made_monotone(apply_to_rows(readings, plain[: grid.size].T))
    base_why = base_note = None
    if base_draws is None:
        gradient = float((density[0, 1] - density[0, 0]) / (grid[1] - grid[0]))
        base_why, base_note = _judge_lowest_step(gradient)
        base_draws = readings[: 1 + DRAWS, 0].copy() if base_why is None else np.full(1 + DRAWS, np.nan)
    smoothed = None
    if axis == BRACKET_AXIS:
        # Of a drawn error of density, normal u_mean, the exposure's part is normal too (conditional distribution).
        alone = seeded_generator(key, "exposures").standard_normal(normal.shape)
        smoothed = SmoothedFrames(
            log_exposure=sites,
            operator=plain[: grid.size],
            u_exposure=u_site,
            shift=shift,
            u_density=np.sqrt(variance),
            drawn_exposures=u_site * (shift * normal + np.sqrt(variance) * alone) / u_mean,
        )
    misfit_error = np.sqrt(u_mean**2 + (0.0 if wedge is None else shift**2))
    return FittedCurve(
        log_exposure=grid,
        density=density,
        base_plus_fog=with_wedge_rows(base_draws, wedge_rows),
        base_why=base_why,
        base_note=base_note,
        reading_error=error,
        misfit=math.sqrt(float(np.sum((left_over @ means) ** 2) / np.sum((left_over * misfit_error) ** 2))),
        absolute=absolute,
        axis=axis,
        note=note,
        calm_density=calm_curves(sites, variance, grid, readings),
        wedge=wedge_rows,
        lamp=lamp,
        smoothed=smoothed,
    )


def _list_wedge_rows(wedge: str, read: Sequence[StepReadings], u_site: FloatArray) -> WedgeRows | None:
    """Return the rows of the steps that were read and whose calibration has a stated error; None without any."""
    known = [index for index, u_density in enumerate(u_site) if u_density > 0]
    if not known:
        return None
    return WedgeRows(wedge=wedge, steps=tuple(read[index].step for index in known), u_density=u_site[known])


def _move_steps(means: FloatArray, shift: FloatArray, known: NDArray[np.bool_]) -> FloatArray:
    """Return the readings that stand for each known step's calibrated density moved up, and down: two rows a step.

    A denser step of the wedge lets less light through: its reading then belongs to less exposure, as one that is
    larger by the gradient would.
    """
    count = int(known.sum())
    rows = np.repeat(means[None, :], 2 * count, axis=0)
    places = np.flatnonzero(known)
    rows[2 * np.arange(count), places] += shift[places]
    rows[2 * np.arange(count) + 1, places] -= shift[places]
    return rows


def _merge_equal_exposures(steps: Sequence[StepReadings]) -> list[StepReadings]:
    """Return the steps that were read, by rising log exposure, those of one exposure as one."""
    merged: list[StepReadings] = []
    for step in sorted(steps, key=lambda step: (step.log_exposure, step.step)):
        if not step.readings:
            continue
        if merged and step.log_exposure - merged[-1].log_exposure < SAME_EXPOSURE:
            merged[-1] = replace(merged[-1], readings=tuple(sorted(merged[-1].readings + step.readings)))
        else:
            merged.append(step)
    return merged


def _draw_base(base: Sequence[float], error: float, quantum: float, key: str) -> FloatArray | None:
    """Return base plus fog (1 + DRAWS,): the mean of its readings; None where there are none."""
    if not base:
        return None
    mean = np.array([float(np.mean(base))])
    u_mean = np.array([math.sqrt(mean_variance(error, len(base), quantum))])
    return draw_values(mean, u_mean, seeded_generator(key, "base"))[:, 0]


def _judge_lowest_step(gradient: float) -> tuple[str | None, str | None]:
    """Return why the lowest step can't stand for base plus fog, and the note where it can."""
    if gradient < FLAT_GRADIENT:
        return None, "no base was read; the lowest step stands for it"
    return (
        "no base was read, and the lowest step can't stand for it: the curve rises there by "
        f"{fixed(gradient, 2)} a log unit, and {FLAT_GRADIENT:.2f} is the limit"
    ), None
