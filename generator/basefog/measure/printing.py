"""Printing: the exposure that base plus fog asks for, and how it changes with magnification."""

import math

from basefog.measure.intervals import missing
from basefog.records.content import Enlarging, Test
from basefog.records.findings import Quantity
from basefog.records.vocabulary import LOG10_2


def compute_filter_factor(density: float) -> float:
    """Return the exposure factor 10^D that a neutral filter of diffuse density D asks for.

    Film base and fog are such a filter in a diffuse enlarger; a condenser head sees more of them than their diffuse
    density, and no single factor says how much more.

    >>> round(compute_filter_factor(0.30), 4)
    1.9953
    """
    return float(10**density)


def compute_enlarging_factor(magnification: float, new_magnification: float) -> float:
    """Return the exposure factor (m2 + 1)^2 / (m1 + 1)^2 from one linear magnification to another.

    Raises ValueError where a magnification isn't above 0.

    >>> round(compute_enlarging_factor(2, 4), 4)
    2.7778
    """
    if not (magnification > 0 and new_magnification > 0):
        raise ValueError("magnification and new_magnification must be above 0")
    return ((new_magnification + 1) / (magnification + 1)) ** 2


def find_reference_exposure_s(reference: Test, enlarging: Enlarging) -> float | None:
    """Return t_ref in seconds: the reference's own print exposure, else the series'; None where neither is known."""
    return reference.print_exposure_s if reference.print_exposure_s is not None else enlarging.exposure_s


def express_in_stops(exposure: Quantity, reference_exposure_s: float) -> Quantity:
    """Return a print exposure as stops more than the reference's: log2(t / t_ref), with its interval.

    Raises ValueError where `reference_exposure_s` isn't above 0.

    >>> express_in_stops(Quantity(value=24.0, low=24.0, high=24.0, unit="s"), 12.0).value
    1.0
    """
    return _express(exposure, reference_exposure_s, "stops")


def express_in_percent(exposure: Quantity, reference_exposure_s: float) -> Quantity:
    """Return a print exposure as per cent more than the reference's: 100 (t / t_ref - 1), with its interval.

    Raises ValueError where `reference_exposure_s` isn't above 0.

    >>> express_in_percent(Quantity(value=15.0, low=15.0, high=15.0, unit="s"), 12.0).value
    25.0
    """
    return _express(exposure, reference_exposure_s, "%")


def _express(exposure: Quantity, reference_exposure_s: float, unit: str) -> Quantity:
    if not reference_exposure_s > 0:
        raise ValueError("reference_exposure_s must be above 0")
    if exposure.value is None or exposure.low is None or exposure.high is None:
        return missing(exposure.why or "it was not measured", unit)
    ratios = [time_s / reference_exposure_s for time_s in (exposure.value, exposure.low, exposure.high)]
    if unit == "stops":
        value, low, high = (math.log10(ratio) / LOG10_2 for ratio in ratios)
    else:
        value, low, high = (100 * (ratio - 1) for ratio in ratios)
    return Quantity(value=value, low=low, high=high, unit=unit, note=exposure.note)
