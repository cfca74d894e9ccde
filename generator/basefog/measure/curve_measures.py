"""Every measure that one characteristic curve gives, and the curve itself as others see it."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from types import MappingProxyType

import numpy as np

from basefog.measure.contrast import (
    TONES,
    measure_average_gradient,
    measure_contrast_index,
    measure_gamma,
    measure_tone_gradient,
)
from basefog.measure.curve_fit import FittedCurve, NoCurve
from basefog.measure.intervals import missing, quantity_from_draws
from basefog.measure.resampling import WedgeRows, half_widths
from basefog.measure.speed import measure_contrast_corrected_speed, measure_iso_speed, measure_speed_point
from basefog.measure.useful_range import measure_useful_range
from basefog.records.content import FloatArray, read_only
from basefog.records.findings import Curve, Quantity, Remark
from basefog.records.numbers import fixed
from basefog.records.vocabulary import MEASURE_BY_ID

GRADIENT_WINDOW = 0.30
"""Log units over which the curve's local gradient is the mean slope: one stop (project)."""

END_RUN = 0.15
"""Log units before the last reading over which a curve is asked whether it still rises: half a stop (project)."""


def measure_base_plus_fog(curve: FittedCurve) -> Quantity:
    """Return the mean of the base readings; without one the lowest step where the curve is flat there (noted)."""
    return quantity_from_draws(curve.base_plus_fog, "D", why=curve.base_why or "", note=curve.base_note)


def measure_maximum_density(curve: FittedCurve) -> Quantity:
    """Return the curve at its last reading; a lower bound where it still rises there by more than its error.

    It still rises where it gains more over its last 0.15 log units than half the interval of its end (project).
    """
    end = quantity_from_draws(curve.density[:, -1], "D", why="", wedge=curve.wedge)
    rise = float(curve.density[0, -1] - curve.density_at(max(curve.first, curve.last - END_RUN))[0])
    if end.half_width is not None and rise > end.half_width:
        return replace(end, bound="lower", note="the curve still rises at its last reading")
    return end


LARGEST_MISFIT = 3.0
"""Scatter of the readings about the curve, in units of their error, that is remarked on beyond (project)."""

MEASURERS: MappingProxyType[str, Callable[[FittedCurve], Quantity]] = MappingProxyType(
    {
        "base_plus_fog": measure_base_plus_fog,
        "maximum_density": measure_maximum_density,
        "speed_point": measure_speed_point,
        "iso_speed": measure_iso_speed,
        "contrast_corrected_speed": measure_contrast_corrected_speed,
        "average_gradient": measure_average_gradient,
        "contrast_index": measure_contrast_index,
        "gamma": measure_gamma,
        **{tone: partial(measure_tone_gradient, measure=tone) for tone in TONES},
        "useful_range": measure_useful_range,
    }
)
"""The measures of one curve, in contract order."""


def measure_curve(curve: FittedCurve | NoCurve) -> dict[str, Quantity]:
    """Return every measure of a curve; where there is none all but base plus fog are without a value, and say why."""
    if isinstance(curve, FittedCurve):
        return {name: _noted(measurer(curve), curve.note) for name, measurer in MEASURERS.items()}
    found = {name: missing(curve.why, MEASURE_BY_ID[name].unit) for name in MEASURERS}
    if curve.base_plus_fog is not None:
        found["base_plus_fog"] = quantity_from_draws(curve.base_plus_fog, "D", why="")
    return found


def tabulate_curve(curve: FittedCurve) -> Curve:
    """Return the curve on its grid with its pointwise 95 % bands of density and gradient.

    The gradient is the mean slope over GRADIENT_WINDOW, less where the readings end (project): the slope at a point
    would follow single readings, and a reader would take their error for the film's character.
    """
    gradient = _mean_slopes(curve)
    low, high = _band(curve.density, curve.wedge)
    gradient_low, gradient_high = _band(gradient, curve.wedge)
    return Curve(
        log_exposure=read_only(curve.log_exposure),
        density=read_only(curve.density[0]),
        low=low,
        high=high,
        gradient=read_only(gradient[0]),
        gradient_low=gradient_low,
        gradient_high=gradient_high,
        absolute=curve.absolute,
        axis=curve.axis,
        note=curve.note,
    )


def _mean_slopes(curve: FittedCurve) -> FloatArray:
    """Return the mean slope about each point of the grid for every draw, (rows, g)."""
    last = curve.log_exposure.size - 1
    step = (curve.last - curve.first) / last
    reach = max(1, round(GRADIENT_WINDOW / 2 / step))
    points = np.arange(last + 1)
    left, right = np.maximum(points - reach, 0), np.minimum(points + reach, last)
    return np.asarray((curve.density[:, right] - curve.density[:, left]) / ((right - left) * step), dtype=np.float64)


def remark_on_curve(curve: FittedCurve | None) -> tuple[Remark, ...]:
    """Return a remark where the readings scatter about the curve by far more than the error they are said to have."""
    if curve is None or curve.misfit <= LARGEST_MISFIT:
        return ()
    return (
        Remark(
            message=f"the readings scatter about a smooth curve by {fixed(curve.misfit, 1)} times their stated error "
            f"({fixed(curve.reading_error, 3)} for one reading): the intervals may be too narrow",
            mend="read the steps again, or state the densitometer's repeatability as it is",
        ),
    )


def _band(rows: FloatArray, wedge: WedgeRows | None) -> tuple[FloatArray, FloatArray]:
    """Return the pointwise 95 % band round row 0, from readings and wedge."""
    half = half_widths(rows, wedge)
    return read_only(rows[0] - half), read_only(rows[0] + half)


def _noted(quantity: Quantity, note: str | None) -> Quantity:
    if note is None or quantity.value is None:
        return quantity
    return replace(quantity, note=note if quantity.note is None else f"{quantity.note}; {note}")
