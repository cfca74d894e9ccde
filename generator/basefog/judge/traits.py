"""How each measure is compared: on which scale, and how its test-to-test scatter is told."""

import math
from typing import Final

from basefog.records.findings import Quantity
from basefog.records.vocabulary import LOG10_2

IN_LOGARITHMS: Final = frozenset({"iso_speed", "contrast_corrected_speed"})
"""Speeds are compared by their logarithms (measures.md, "Verdicts")."""

RELATIVE_SCATTER: Final = frozenset(
    {
        "iso_speed",
        "contrast_corrected_speed",
        "print_exposure",
        "matching_time",
        "rms_granularity",
        "grain_correlation",
        "print_graininess",
        "mtf50",
    }
)
"""Measures whose scatter is a share of the test's own value."""

OF_SCANS: Final = frozenset({"rms_granularity", "grain_correlation", "print_graininess", "mtf50"})

GRADIENTS: Final = frozenset(
    {"average_gradient", "shadow_gradient", "middle_gradient", "highlight_gradient", "contrast_index", "gamma"}
)
"""Measures whose scatter between batches the strips' (high - low) tells, as a share."""

SPEEDS_PER_DENSITY: Final = {
    "speed_point": 1.0,
    "iso_speed": 1.0,
    "contrast_corrected_speed": 1.0,
    "speed_from_reference": 1 / LOG10_2,
}
"""Units of the measure's scale for each log unit: the strips' (low - base), over the gradient, tells their scatter."""

TO_REFERENCE: Final = frozenset({"speed_from_reference", "shadow_match", "print_exposure"})
"""Measures that are themselves formed with the reference, whose error they carry."""

ON_THE_AXIS: Final = frozenset({"speed_point", "iso_speed", "contrast_corrected_speed"})
"""Measures that two tests can only be compared by where their log exposures are on one axis."""

NOT_POOLED: Final = frozenset({"matching_time"})
"""What a stock's figure takes from its current test alone."""

NOT_JUDGED: Final = frozenset({"matching_time"})
"""What is no difference to the reference and not subtracted from its like: a time of the stock's own."""


def place_on_scale(name: str, quantity: Quantity) -> float:
    """Return the value on the scale on which the measure is compared, that of its parts.

    Raises ValueError for a quantity without a value.

    >>> place_on_scale("iso_speed", Quantity(value=100.0, low=90.0, high=110.0, unit="ISO", exact=110.0)).__round__(4)
    2.0414
    """
    if quantity.value is None:
        raise ValueError("quantity must have a value")
    exact = quantity.value if quantity.exact is None else quantity.exact
    return math.log10(exact) if name in IN_LOGARITHMS else exact


def scale_of_share(name: str, value: float) -> float:
    """Return what a share of a test's own value is on the scale of the measure.

    >>> scale_of_share("mtf50", 40.0), round(scale_of_share("iso_speed", 400.0), 4)
    (40.0, 0.4343)
    """
    return 1 / math.log(10) if name in IN_LOGARITHMS else abs(value)


def has_difference(name: str) -> bool:
    """Return whether two tests' values of a measure can be set against each other."""
    return name not in NOT_JUDGED
