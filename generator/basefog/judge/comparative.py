"""The measures that are themselves differences to the reference and are formed from two figures: speed and printing."""

import math

from basefog.measure.intervals import missing, scale_parts
from basefog.measure.printing import compute_filter_factor
from basefog.measure.speed import why_axes_differ
from basefog.records.findings import Curve, MeasuredTest, Quantity
from basefog.records.vocabulary import LOG10_2

NO_REFERENCE = "the reference has no current test"


def measure_speed_from_reference(
    test: MeasuredTest, reference: MeasuredTest | None, point: Quantity, reference_point: Quantity | None
) -> Quantity:
    """Return (log H_m,ref - log H_m) / 0.3010 stops; positive is faster.

    Both log exposures must be absolute, or both relative on the same wedge; else no value.

    Arguments: the speed points, `reference_point` the reference's figure over all its repeats.
    """
    if reference is None or reference_point is None:
        return missing(NO_REFERENCE, "stops")
    if point.value is None:
        return missing(point.why or "", "stops")
    if reference_point.value is None:
        return missing(f"the reference has no speed point: {reference_point.why}", "stops")
    if why := why_curves_differ(test.curve, reference.curve):
        return missing(why, "stops")
    return Quantity(
        value=(reference_point.value - point.value) / LOG10_2,
        low=None,
        high=None,
        unit="stops",
        note=point.note,
        parts=None if point.parts is None else scale_parts(point.parts, -1 / LOG10_2),
        of_reference=None if reference_point.parts is None else scale_parts(reference_point.parts, -1 / LOG10_2),
    )


def measure_print_exposure(
    base: Quantity, reference_base: Quantity | None, reference_exposure_s: float | None
) -> Quantity:
    """Return t = t_ref x 10^(B - B_ref) in seconds: what prints the unexposed margin to the reference's black.

    Its error is that of both base plus fogs; the reference's own time is as it was set. No value where no time or
    either base is known.

    Arguments: base plus fogs in density, `reference_base` the reference's figure over all its repeats, None where the
    reference has no current test; `reference_exposure_s` in seconds.
    """
    if reference_base is None:
        return missing(NO_REFERENCE, "s")
    if reference_exposure_s is None:
        return missing("no print exposure of the reference is known (print.exposure_s or enlarging.exposure_s)", "s")
    for whose, quantity in (("", base), ("the reference's ", reference_base)):
        if quantity.value is None or quantity.parts is None:
            return missing(f"{whose}base plus fog is not known: {quantity.why}", "s")
    value = reference_exposure_s * compute_filter_factor((base.value or 0.0) - (reference_base.value or 0.0))
    notes = [
        f"{whose} base plus fog: {quantity.note}"
        for whose, quantity in (("this test's", base), ("the reference's", reference_base))
        if quantity.note
    ]
    per_density = value * math.log(10)
    return Quantity(
        value=value,
        low=None,
        high=None,
        unit="s",
        note="; ".join(notes) or None,
        parts=None if base.parts is None else scale_parts(base.parts, per_density),
        of_reference=None if reference_base.parts is None else scale_parts(reference_base.parts, per_density),
    )


def zero_by_definition(unit: str) -> Quantity:
    """Return the reference's own figure of what is counted from it."""
    note = "zero by definition: this is the reference"
    return Quantity(value=0.0, low=0.0, high=0.0, unit=unit, note=note)


def as_set(exposure_s: float) -> Quantity:
    """Return the reference's own print exposure in seconds: no measure, but what the others count from."""
    note = "as set: the other stocks' exposures count from this one"
    return Quantity(value=exposure_s, low=exposure_s, high=exposure_s, unit="s", note=note)


def why_curves_differ(curve: Curve | None, other: Curve | None) -> str:
    """Return why two tests' log exposures can't be compared; empty where they can, or where one has no curve."""
    return "" if curve is None or other is None else why_axes_differ(curve, other)
