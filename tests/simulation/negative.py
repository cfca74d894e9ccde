"""The negative: the still life on a test's film, where the camera stood that day, and a fine scan of a part of it."""

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.optimize import brentq

from simulation.grain import compute_scatter, grow_grain
from simulation.materials import BANDS_NM
from simulation.readings import BRACKET_REACH_STOPS, BRACKET_STEP_STOPS, GREY_REFLECTANCE, compute_patch_log_h
from simulation.spectra import TUNGSTEN, WAVELENGTH_NM
from simulation.subject import FRAME_MM, PART_MM, PART_PIXELS_PER_MM, Subject
from simulation.truths import CAMERA_FLARE, TESTS, Film, TestTruth, compute_metered_log_h

Floats = NDArray[np.float32]

REFERENCE: Final = "corvane-200/2026-03-07"
SCAN_PIXELS_PER_MM: Final = 112.0
SCAN_MM: Final = (26.75, 4.55, 7.4, 8.7)
"""Left, top, width and height of the scanned part on the film."""
LENS_SIGMA_UM: Final = 3.0
SCANNER_SIGMA_UM: Final = 2.5
SCAN_DENSITY_RANGE: Final = 2.048
SCAN_LEVELS: Final = 1024
"""Scans keep this many levels over the range: 0.002 of density, a tenth of the finest grain or less."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Remount:
    """How the camera stood against the reference's day: turned, nearer, and moved on the film."""

    degrees: float = 0.0
    scale: float = 1.0
    right_mm: float = 0.0
    down_mm: float = 0.0


def compute_remount(test: TestTruth) -> Remount:
    """Return how the camera stood on a test's day; as it was on the reference's."""
    if test.key == REFERENCE:
        return Remount()
    random = test.random("remount")
    return Remount(
        degrees=float(np.clip(random.normal(0.0, 0.6), -1.5, 1.5)),
        scale=1.0 + float(np.clip(random.normal(0.0, 0.006), -0.014, 0.014)),
        right_mm=float(random.uniform(-0.2, 0.2)),
        down_mm=float(random.uniform(-0.2, 0.2)),
    )


@cache
def compute_chosen_stops(test: TestTruth) -> float:
    """Return the stops of the frame whose deep grey truly comes nearest to the reference's metered frame."""
    reference = next(candidate for candidate in TESTS if candidate.key == REFERENCE)
    target = _deep_density(reference, 0.0)
    count = int(2 * BRACKET_REACH_STOPS / BRACKET_STEP_STOPS) + 1
    stops = [float(-BRACKET_REACH_STOPS + index * BRACKET_STEP_STOPS) for index in range(count)]
    return min(stops, key=lambda s: abs(_deep_density(test, s) - target))


def _deep_density(test: TestTruth, stops: float) -> float:
    return float(test.curve().net_density(np.array([compute_patch_log_h(test, "deep", stops)]))[0])


def compute_band_weights(film: Film) -> Floats:
    """Return what share of a grey's light each of the six bands gives to a film."""
    weight = film.sensitivity.spectrum() * TUNGSTEN
    edges = np.searchsorted(WAVELENGTH_NM, np.array(BANDS_NM[:-1]))
    return np.asarray(np.add.reduceat(weight, edges) / weight.sum(), dtype=np.float32)


def expose(light: Floats, test: TestTruth) -> Floats:
    """Return the log exposure that the camera gives the film for light of the subject, the chosen frame of a test."""
    seen = light @ compute_band_weights(test.film)
    metered = compute_metered_log_h(test.exposure_index)
    metered += math.log10(2.0) * (compute_chosen_stops(test) + test.meter_error_stops)
    ratio = (seen + CAMERA_FLARE) / (GREY_REFLECTANCE + CAMERA_FLARE)
    return np.asarray(metered + np.log10(ratio), dtype=np.float32)


def develop(log_h: Floats, test: TestTruth, *, pitch_um: float, purpose: str, scanner_um: float = 0.0) -> Floats:
    """Return the density of the negative: light spread in lens and emulsion, the curve, then grain.

    A scanner's spread is put on the light too, so that the grain keeps the figures that the truths state.
    """
    film, curve = test.film, test.curve()
    spread_px = math.hypot(film.blur_sigma_um, LENS_SIGMA_UM, scanner_um) / pitch_um
    net = curve.net_density(np.log10(spread_light(10.0 ** log_h.astype(np.float64), spread_px)))
    grain = grow_grain(net.shape, pitch_um=pitch_um, sigma_um=film.grain_sigma_um, random=test.random(purpose))
    density = curve.base_plus_fog + net + film.granularity / 1000.0 * compute_scatter(net) * grain
    return np.asarray(np.maximum(density, 0.0), dtype=np.float32)


def spread_light(light: NDArray[np.float64], sigma_px: float) -> NDArray[np.float64]:
    """Return light spread by a Gaussian, exactly even where that is narrower than a pixel; mirrored at the border."""
    margin = 24
    wide = np.pad(light, margin, mode="reflect")
    fy, fx = np.fft.fftfreq(wide.shape[0])[:, None], np.fft.rfftfreq(wide.shape[1])[None, :]
    response = np.exp(-2.0 * (math.pi * sigma_px) ** 2 * (fy * fy + fx * fx))
    spread = np.fft.irfft2(np.fft.rfft2(wide) * response, s=wide.shape)[margin:-margin, margin:-margin]
    # A narrow Gaussian, sampled, has faint negative lobes: no place gets less light than the darkest had.
    return np.asarray(np.maximum(spread, light.min()))


def sample_light(image: Floats, rows: NDArray[np.float64], columns: NDArray[np.float64]) -> Floats:
    """Return the subject's light at places of a rendered picture, smoothly between its pixels."""
    bands = [
        map_coordinates(image[..., band], [rows, columns], order=3, mode="reflect") for band in range(image.shape[2])
    ]
    return np.asarray(np.maximum(np.stack(bands, axis=-1), 1e-4), dtype=np.float32)


def place_on_film(
    right_mm: NDArray[np.float64], down_mm: NDArray[np.float64], remount: Remount
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return where the reference's camera would have put what this camera puts at places of the film, in mm."""
    x, y = right_mm - FRAME_MM[0] / 2 - remount.right_mm, down_mm - FRAME_MM[1] / 2 - remount.down_mm
    c, s = math.cos(math.radians(remount.degrees)), math.sin(math.radians(remount.degrees))
    return (
        (c * x + s * y) / remount.scale + FRAME_MM[0] / 2,
        (c * y - s * x) / remount.scale + FRAME_MM[1] / 2,
    )


def scan_negative(subject: Subject, test: TestTruth) -> NDArray[np.uint16]:
    """Return the scan of the part of a test's negative round the card: 16 bits, linear in density, thin is bright.

    The camera's turn and scale are about the card here and not the frame's middle, as the card was framed afresh.
    """
    left, top, width, height = SCAN_MM
    rows = (np.arange(round(height * SCAN_PIXELS_PER_MM)) + 0.5) / SCAN_PIXELS_PER_MM
    columns = (np.arange(round(width * SCAN_PIXELS_PER_MM)) + 0.5) / SCAN_PIXELS_PER_MM
    down, right = np.meshgrid(rows, columns, indexing="ij")
    middle_x, middle_y = FRAME_MM[0] / 2 - width / 2, FRAME_MM[1] / 2 - height / 2
    x, y = place_on_film(right + middle_x, down + middle_y, compute_remount(test))
    x, y = x - middle_x + left, y - middle_y + top
    part_rows = (y - PART_MM[1]) * PART_PIXELS_PER_MM - 0.5
    part_columns = (x - PART_MM[0]) * PART_PIXELS_PER_MM - 0.5
    pitch_um = 1000.0 / SCAN_PIXELS_PER_MM
    log_h = expose(sample_light(subject.part, part_rows, part_columns), test)
    density = develop(log_h, test, pitch_um=pitch_um, purpose="grain", scanner_um=SCANNER_SIGMA_UM)
    step = 65536 // SCAN_LEVELS
    level = np.round((1.0 - density / SCAN_DENSITY_RANGE) * 65535.0 / step)
    return np.asarray(np.clip(level, 0, SCAN_LEVELS - 1) * step, dtype=np.uint16)


def compute_mtf50(film: Film) -> float:
    """Return the frequency in cycles/mm at which lens, film, scanner and drawing leave half the contrast.

    The drawing takes two rays across a pixel, whose mean has the response cos(pi f p / 2).
    """
    sigma_mm = math.hypot(film.blur_sigma_um, LENS_SIGMA_UM, SCANNER_SIGMA_UM) / 1000.0
    pixel_mm = 1.0 / PART_PIXELS_PER_MM

    def response(frequency: float) -> float:
        return math.exp(-2.0 * (math.pi * sigma_mm * frequency) ** 2) * math.cos(math.pi * frequency * pixel_mm / 2.0)

    return float(brentq(lambda f: response(f) - 0.5, 1.0, 110.0))
