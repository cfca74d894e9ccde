"""What light a film sees: illuminant, eye, patches and sensitisings over 400 to 700 nm in steps of 10 nm.

The patches' reflectances and the films' sensitivities are smooth functions of our own; only the eye and the
illuminant are the standard ones.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

WAVELENGTH_NM: Final[FloatArray] = np.arange(400.0, 701.0, 10.0)

# CIE 1924 photopic luminous efficiency, 400 to 700 nm by 10 nm.
# fmt: off
EYE: Final[FloatArray] = np.array([
    0.000396, 0.00121, 0.0040, 0.0116, 0.0230, 0.0380, 0.0600, 0.09098,
    0.13902, 0.20802, 0.3230, 0.5030, 0.7100, 0.8620, 0.9540, 0.99495,
    0.9950, 0.9520, 0.8700, 0.7570, 0.6310, 0.5030, 0.3810, 0.2650,
    0.1750, 0.1070, 0.0610, 0.0320, 0.0170, 0.00821, 0.004102,
])
# fmt: on


def compute_illuminant_a(wavelength_nm: FloatArray) -> FloatArray:
    """Return the relative power of CIE illuminant A, 100 at 560 nm.

    Source: CIE S 014-2, the closed formula.

    >>> round(float(compute_illuminant_a(np.array([700.0]))[0]), 2)
    198.26
    """
    w = wavelength_nm
    at_560 = np.expm1(1.435e7 / (2848.0 * 560.0))
    return np.asarray(100.0 * (560.0 / w) ** 5 * at_560 / np.expm1(1.435e7 / (2848.0 * w)))


TUNGSTEN: Final[FloatArray] = compute_illuminant_a(WAVELENGTH_NM)


def _rise(at_nm: float, width_nm: float) -> FloatArray:
    return np.asarray(1.0 / (1.0 + np.exp(-(WAVELENGTH_NM - at_nm) / width_nm)))


def _band(at_nm: float, width_nm: float) -> FloatArray:
    return np.asarray(np.exp(-0.5 * ((WAVELENGTH_NM - at_nm) / width_nm) ** 2))


REFLECTANCES: Final[Mapping[str, FloatArray]] = {
    "grey": np.full(31, 0.18),
    "deep": np.full(31, 0.05),
    "red": 0.045 + 0.62 * _rise(608.0, 9.0),
    "green": 0.05 + 0.30 * _band(532.0, 32.0),
    "blue": 0.05 + 0.38 * _band(448.0, 30.0),
    "yellow": 0.06 + 0.72 * _rise(512.0, 12.0),
    "skin": 0.16 + 0.18 * _rise(470.0, 30.0) + 0.30 * _rise(585.0, 14.0),
}
"""Reflectances of the control strip's patches, by patch id."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Sensitivity:
    """A film's sensitising: its own blue sensitivity, dyes for green and red, and where the red ends."""

    blue: float = 1.0
    green: float = 0.75
    red: float = 0.70
    red_end_nm: float = 650.0

    def spectrum(self) -> FloatArray:
        """Return the relative sensitivity to equal energy at each wavelength."""
        halide = self.blue * (1.0 - _rise(490.0, 12.0))
        green_dye = self.green * _band(548.0, 30.0)
        red_dye = self.red * _band(615.0, 34.0)
        return np.asarray((halide + green_dye + red_dye + 0.03) * (1.0 - _rise(self.red_end_nm, 7.0)))


def compute_eye_reflectance(patch: str) -> float:
    """Return the luminous reflectance of a patch under tungsten light.

    >>> round(compute_eye_reflectance("grey"), 6)
    0.18
    """
    weight = EYE * TUNGSTEN
    return float((REFLECTANCES[patch] * weight).sum() / weight.sum())


def compute_film_reflectance(patch: str, sensitivity: Sensitivity) -> float:
    """Return the reflectance of a patch as a film sees it under tungsten light: a neutral keeps its own."""
    weight = sensitivity.spectrum() * TUNGSTEN
    return float((REFLECTANCES[patch] * weight).sum() / weight.sum())
