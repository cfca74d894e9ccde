"""One test while it is being measured: what one module of this room hands to the next."""

from collections.abc import Mapping
from dataclasses import dataclass

from basefog.measure.curve_fit import FittedCurve
from basefog.records.content import FloatArray, Test
from basefog.records.findings import Quantity


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Work:
    """A test, its fitted curve (None, and why), its base plus fog, and the measures of the curve by measure id.

    `base_plus_fog` (1 + DRAWS,) is NaN where it isn't known; it may be known where there is no curve. `measures`
    holds every measure that `curve_measures.measure_curve` computes, base plus fog among them.
    """

    test: Test
    curve: FittedCurve | None
    curve_why: str | None
    base_plus_fog: FloatArray
    measures: Mapping[str, Quantity]
