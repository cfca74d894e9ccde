"""The paper that the demo's prints are made on, as a known curve of reflection density."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True)
class TruePaper:
    """A paper: D(x) = base + (maximum - base) times a smooth step that is longer at the black end than at the white.

    `middle` is the log exposure at the middle of the step, `toe` and `shoulder` the widths of its two ends.
    """

    base: float
    maximum: float
    middle: float
    toe: float
    shoulder: float

    def density(self, log_exposure: FloatArray) -> FloatArray:
        """Return reflection density at a log exposure (relative to the paper's own axis)."""
        x = np.asarray(log_exposure, dtype=np.float64) - self.middle
        width = self.shoulder + (self.toe - self.shoulder) / (1.0 + np.exp(x / 0.3))
        return np.asarray(self.base + (self.maximum - self.base) / (1.0 + np.exp(-x / width)))


PAPERS: Final[Mapping[str, TruePaper]] = {
    "matt-grade-1": TruePaper(base=0.06, maximum=1.98, middle=1.20, toe=0.185, shoulder=0.27),
}
