"""One test while it is being measured: what one module of this room hands to the next."""

from collections.abc import Mapping
from dataclasses import dataclass

from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve
from basefog.measure.frames_fit import FramesFit, NoFramesFit
from basefog.records.content import FloatArray, Test
from basefog.records.findings import Quantity


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Work:
    """A test, its fitted curve (None, and why), its base plus fog, the measures of the curve, its frames together.

    `base_plus_fog` (rows,) is NaN where it isn't known; it may be known where there is no curve. `measures` holds
    every measure that `curve_measures.measure_curve` computes, base plus fog among them.
    """

    test: Test
    curve: FittedCurve | None
    curve_why: str | None
    base_plus_fog: FloatArray
    measures: Mapping[str, Quantity]
    frames: FramesFit | NoFramesFit

    @property
    def has_wedge(self) -> bool:
        """Whether the curve comes from a wedge exposure."""
        return self.curve is not None and self.curve.axis != BRACKET_AXIS
