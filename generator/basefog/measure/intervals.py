"""From draws to quantities with 95 % intervals and the parts of their error."""

import math
from dataclasses import replace

import numpy as np

from basefog.measure.resampling import NORMAL_FACTOR, WedgeRows, drawn_rows, wedge_slopes
from basefog.records.content import FloatArray
from basefog.records.findings import ErrorParts, LampPart, Quantity, WedgePart

TAIL = 0.025
"""Probability left out on each side of a 95 % interval."""

LOST_SHARE = 0.025
"""Share of draws outside the readings from which a note says so."""

LEVEL_SLOPE = 1e-9
"""Change for each unit of a step's density up to which a quantity does not hang on that step."""


def missing(why: str, unit: str = "1") -> Quantity:
    """Return a quantity that can't be had, with the reason in the tester's words."""
    return Quantity(value=None, low=None, high=None, unit=unit, why=why)


def quantity_from_draws(
    draws: FloatArray,
    unit: str,
    *,
    why: str,
    bound: str | None = None,
    note: str | None = None,
    wedge: WedgeRows | None = None,
    lamp: LampPart | None = None,
    u_model: float = 0.0,
) -> Quantity:
    """Return the estimate in row 0 of the draws with its 95 % interval and the parts of its error.

    The interval is x +- 1.96 sqrt(mean((x* - x)^2) + u_model^2 + wedge + lamp), x the estimate and x* the draws. The
    deviations are taken from the estimate, not from the mean of the draws: a measure that resampling shifts is itself
    shifted by reading error, and its interval is the wider for it. Draws that are NaN (the resampled curve does not
    reach) are left out, and a note says so from 2.5 % of them on.

    Arguments: `draws` (rows,), in `unit`; `why`, used where row 0 is NaN; `wedge`, whose rows follow the draws;
    `lamp`, what the quantity owes to the lamp; `u_model`, the standard uncertainty, in `unit`, that is left however
    well was read (see `curve_fit.MODEL_ERROR`).

    Returns a quantity without a value, carrying `why`, where row 0 is NaN.

    Source: the parametric bootstrap, B. Efron, Ann. Statist. 7 (1979) 1; that this interval covers is shown by the
    project's own simulation study.

    >>> round(quantity_from_draws(np.array([0.60, 0.59, 0.61]), "1", why="").low, 4)
    0.5804
    """
    value = float(draws[0])
    if not math.isfinite(value):
        return missing(why, unit)
    drawn = drawn_rows(draws)
    others = drawn[np.isfinite(drawn)]
    if others.size == 0:
        return missing("the readings end too close to it to say how sure it is", unit)
    parts = parts_of_draws(draws, wedge, lamp=lamp, u_model=u_model)
    lost = 1 - others.size / drawn.size
    notes = [note] if note else []
    if lost > LOST_SHARE:
        notes.append(f"within error of where the readings end: {lost:.0%} of the resampled curves do not reach it")
    return quantity_from_parts(value, unit, parts, bound=bound, note="; ".join(notes) or None)


def parts_of_draws(
    draws: FloatArray, wedge: WedgeRows | None, *, lamp: LampPart | None = None, u_model: float = 0.0
) -> ErrorParts:
    """Return where the error of a quantity comes from: what its draws hold, and how it hangs on wedge and lamp.

    The model's error counts as unshared: two films, or two tests whose steps fall elsewhere, need not err alike.

    Arguments: as for `quantity_from_draws`; row 0 of the draws, and some others, must not be NaN.
    """
    drawn = drawn_rows(draws)
    others = drawn[np.isfinite(drawn)]
    part = None if wedge is None else _wedge_part(draws, wedge)
    return ErrorParts(
        unshared=float(np.mean((others - float(draws[0])) ** 2)) + u_model**2,
        wedge=None if part is None or not part.by_step else part,
        lamp=lamp,
    )


def quantity_from_parts(
    value: float, unit: str, parts: ErrorParts, *, bound: str | None = None, note: str | None = None
) -> Quantity:
    """Return a value with the 95 % interval that the parts of its error give.

    >>> quantity_from_parts(1.0, "1", ErrorParts(unshared=0.0001)).half_width.__round__(4)
    0.0196
    """
    half = NORMAL_FACTOR * math.sqrt(parts.variance)
    return Quantity(value=value, low=value - half, high=value + half, unit=unit, bound=bound, note=note, parts=parts)


def scale_parts(parts: ErrorParts, factor: float) -> ErrorParts:
    """Return the parts of a quantity times a factor."""
    wedge, lamp = parts.wedge, parts.lamp
    return ErrorParts(
        unshared=parts.unshared * factor**2,
        wedge=wedge and replace(wedge, by_step={step: slope * factor for step, slope in wedge.by_step.items()}),
        lamp=lamp and replace(lamp, per_log_unit=lamp.per_log_unit * factor),
    )


def _wedge_part(rows: FloatArray, wedge: WedgeRows) -> WedgePart:
    slopes = wedge_slopes(rows, wedge)
    used = [index for index, slope in enumerate(slopes) if abs(slope) > LEVEL_SLOPE]
    return WedgePart(
        wedge=wedge.wedge,
        by_step={wedge.steps[index]: float(slopes[index]) for index in used},
        u_density={wedge.steps[index]: float(wedge.u_density[index]) for index in used},
    )


def student_factor(degrees_of_freedom: int) -> float:
    """Return Student's two-sided 95 % factor.

    Raises ValueError where there are no degrees of freedom. Source: Student, Biometrika 6 (1908) 1 (from memory).

    >>> round(student_factor(10), 3)
    2.228
    """
    if degrees_of_freedom < 1:
        raise ValueError("degrees_of_freedom must be at least 1")
    from scipy.special import stdtrit  # slow to import, and only a series with repeats needs it

    return float(stdtrit(degrees_of_freedom, 1 - TAIL))
