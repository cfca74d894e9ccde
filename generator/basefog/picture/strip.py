"""The emblem of a stock: its own strip, wedge steps as greys computed from its curve."""

import io
import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from basefog.records.content import FloatArray
from basefog.records.findings import Curve
from basefog.records.numbers import to_whole

STEP_LOG_EXPOSURE: Final = 0.15
"""Steps of the emblem where none are given: half a stop each, as the usual 21-step wedge has them."""


def compute_strip_greys(curve: Curve, log_exposures: Sequence[float] | None = None) -> tuple[int, ...]:
    """Return the strip as it would look on a light table, one grey (0 to 255) a step, least exposed first.

    The bare table is the page's white: a step of density D lets 10^-D of the light through, and that share becomes a
    grey by the sRGB encoding (IEC 61966-2-1). Nothing is stretched, so strips of different stocks compare by eye.
    `log_exposures` are on the curve's own axis; without them the strip has a step each 0.15. A step beyond the curve
    is left out, for no density is known there.
    """
    exposures = _even_steps(curve) if log_exposures is None else np.sort(np.asarray(log_exposures, dtype=np.float64))
    known = exposures[(exposures >= curve.log_exposure[0] - 1e-9) & (exposures <= curve.log_exposure[-1] + 1e-9)]
    return tuple(grey_of_density(float(density)) for density in np.interp(known, curve.log_exposure, curve.density))


def grey_of_density(density: float) -> int:
    """Return the display grey of a transmission density, 255 at density zero.

    >>> [grey_of_density(density) for density in (0.0, 0.3, 1.0, 3.0)]
    [255, 188, 89, 3]
    """
    transmittance = min(math.pow(10.0, -density), 1.0)
    linear = transmittance <= 0.0031308
    encoded = 12.92 * transmittance if linear else 1.055 * math.pow(transmittance, 1 / 2.4) - 0.055
    return to_whole(255 * encoded)


def stack_strips(strips: Sequence[Sequence[int]]) -> bytes:
    """Return strips as one greyscale PNG, a row of pixels a strip and a pixel a step; short ones end in white.

    Raises ValueError where there is no strip with a step.
    """
    from PIL import Image  # only a page that shows many strips needs it

    width = max((len(strip) for strip in strips), default=0)
    if not width:
        raise ValueError("strips: none has a step")
    rows = np.full((len(strips), width), 255, dtype=np.uint8)
    for row, strip in zip(rows, strips, strict=True):
        row[: len(strip)] = strip
    out = io.BytesIO()
    Image.fromarray(rows).save(out, "PNG", optimize=True)
    return out.getvalue()


def _even_steps(curve: Curve) -> FloatArray:
    first, last = float(curve.log_exposure[0]), float(curve.log_exposure[-1])
    steps = np.arange(int((last - first) / STEP_LOG_EXPOSURE + 1e-9) + 1, dtype=np.float64)
    return np.asarray(first + STEP_LOG_EXPOSURE * steps, dtype=np.float64)
