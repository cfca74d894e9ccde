"""Invented scans of known texture: Gaussian grain as pixels would average it, and slanted edges in closed form."""

import math

import numpy as np
from scipy.optimize import brentq
from scipy.special import erf, j1

from basefog.records.content import FloatArray


def grow_field(
    shape: tuple[int, int], *, pitch_um: float, spread_um: float, sigma_48: float, seed: int, fine: int = 4
) -> FloatArray:
    """Return deviations of density: white noise spread by a Gaussian, averaged over the pixels' squares.

    `sigma_48` is the field's own standard deviation through an ideal circle of 48 um, before any pixel saw it.
    """
    rows, columns = shape[0] * fine, shape[1] * fine
    pitch = pitch_um / fine
    white = np.fft.rfft2(np.random.default_rng(seed).standard_normal((rows, columns)))
    fy, fx = np.fft.fftfreq(rows, pitch)[:, None], np.fft.rfftfreq(columns, pitch)[None, :]
    grain = np.fft.irfft2(white * np.exp(-2 * (math.pi * spread_um) ** 2 * (fx**2 + fy**2)), s=(rows, columns))
    pixels = grain.reshape(shape[0], fine, shape[1], fine).mean(axis=(1, 3))
    return np.asarray(pixels * sigma_48 / _sigma_through_48(spread_um, pitch))


def _sigma_through_48(spread_um: float, pitch_um: float) -> float:
    """Return the standard deviation through 48 um of unit white noise of a pitch, spread: the integral of W |M|^2."""
    f = np.linspace(1e-9, 0.25, 20_001)
    through = (2 * j1(math.pi * 48 * f) / (math.pi * 48 * f)) ** 2
    power = pitch_um**2 * np.exp(-((2 * math.pi * spread_um * f) ** 2))
    return math.sqrt(float(np.trapezoid(power * through * 2 * math.pi * f, f)))


def draw_edge(
    shape: tuple[int, int], *, degrees: float, spread_px: float, offset_px: float = 0.3, difference: float = 0.25
) -> FloatArray:
    """Return the transmittance of an edge blurred by a Gaussian and averaged over the pixels' squares.

    `degrees` is the direction square to the edge, from rightwards to downwards.
    """
    fine = 8
    y = ((np.arange(shape[0] * fine) + 0.5) / fine - shape[0] / 2)[:, None]
    x = ((np.arange(shape[1] * fine) + 0.5) / fine - shape[1] / 2)[None, :]
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    step = 0.5 * (1 + erf((c * x + s * y - offset_px) / (spread_px * math.sqrt(2))))
    seen = step.reshape(shape[0], fine, shape[1], fine).mean(axis=(1, 3))
    return np.asarray(0.2 + 0.2 * (10.0**difference - 1) * seen)


def response_of_edge(frequency: float, *, degrees: float, spread_px: float) -> float:
    """Return what a Gaussian and a pixel's square leave of an edge, by theory, at cycles a pixel."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    square = float(np.sinc(frequency * c) * np.sinc(frequency * s))
    return math.exp(-2 * (math.pi * spread_px * frequency) ** 2) * square


def half_of_edge(*, degrees: float, spread_px: float) -> float:
    """Return the frequency of half response by theory, cycles a pixel."""
    return float(
        brentq(lambda f: response_of_edge(f, degrees=degrees, spread_px=spread_px) - 0.5, 1e-3, 0.7, xtol=1e-12)
    )
