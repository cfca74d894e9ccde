"""What a densitometer reads of a test: the wedge exposure, the bracketed frames and the control strip."""

import hashlib
import math
from collections.abc import Mapping
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from simulation.spectra import compute_film_reflectance
from simulation.tables import Cell
from simulation.truths import (
    BATCH_NOMINAL,
    CAMERA_FLARE,
    REPEATABILITY,
    SHUTTER_STOPS,
    STANDARD_LUX_S,
    U_WEDGE,
    BatchTruth,
    TestTruth,
    compute_metered_log_h,
)

FloatArray = NDArray[np.float64]

STEP_COUNT = 21
BRACKET_REACH_STOPS = 2
BRACKET_STEP_STOPS = Fraction(1, 3)
GREY_REFLECTANCE = 0.18


def compute_wedge() -> tuple[FloatArray, FloatArray]:
    """Return the step wedge's densities as certified and as they truly are, step 1 the lightest."""
    random = np.random.default_rng(2101)
    nominal = 0.05 + 0.15 * np.arange(STEP_COUNT)
    certified = np.round(nominal + random.normal(0.0, 0.012, STEP_COUNT), 3)
    return certified, certified + random.normal(0.0, U_WEDGE, STEP_COUNT)


def compute_wedge_rows() -> list[list[Cell]]:
    """Return the wedge's calibration table."""
    certified, _ = compute_wedge()
    rows: list[list[Cell]] = [["step", "density", "u_density"]]
    return rows + [[str(step), float(density), U_WEDGE] for step, density in enumerate(certified, start=1)]


def read_wedge_exposure(test: TestTruth) -> list[list[Cell]]:
    """Return the readings of a test's wedge exposure: steps, then the unexposed base."""
    _, true_wedge = compute_wedge()
    curve, random = test.curve(), test.random("wedge")
    lux_s = STANDARD_LUX_S if test.lux_s is None else test.lux_s
    densities = curve.density(math.log10(lux_s) - true_wedge)
    names = ["reading"] if test.replicates == 1 else [f"reading {n}" for n in range(1, test.replicates + 1)]
    if test.wedge == "cgats":
        names = ["D_VIS"]
    rows: list[list[Cell]] = [["step", *names]]
    for step, density in enumerate(densities, start=1):
        rows.append([str(step), *_read(float(density), test.replicates, random)])
    return [*rows, ["base", *_read(curve.base_plus_fog, test.replicates, random)]]


def compute_patch_log_h(test: TestTruth, patch: str, stops: float) -> float:
    """Return the log exposure of a patch on the frame given so many stops, shutter true, camera flare included."""
    seen = compute_film_reflectance(patch, test.film.sensitivity) + CAMERA_FLARE
    from_grey = math.log10(seen / (GREY_REFLECTANCE + CAMERA_FLARE))
    return compute_metered_log_h(test.exposure_index) + from_grey + math.log10(2.0) * (stops + test.meter_error_stops)


def read_bracket(test: TestTruth) -> list[list[Cell]]:
    """Return the readings of a test's bracketed frames, thinnest negative first, each shutter time a little off."""
    curve, random = test.curve(), test.random("bracket")
    rows: list[list[Cell]] = [["frame", "stops", *(["base"] if test.frame_base else []), *test.patches]]
    count = int(2 * BRACKET_REACH_STOPS / BRACKET_STEP_STOPS) + 1
    for index in range(count):
        stops = -BRACKET_REACH_STOPS + index * BRACKET_STEP_STOPS
        given = float(stops) + random.normal(0.0, SHUTTER_STOPS)
        log_h = np.array([compute_patch_log_h(test, patch, given) for patch in test.patches])
        row: list[Cell] = [str(index + 1), _stops_text(stops)]
        if test.frame_base:
            row += _read(curve.base_plus_fog, 1, random)
        for density in curve.density(log_h):
            row += _read(float(density), 1, random)
        rows.append(row)
    return rows


def read_control_strip(batch: BatchTruth) -> Mapping[str, float]:
    """Return the densities read on a batch's control strip, to two decimals, as typed into the batch's file."""
    seed = int.from_bytes(hashlib.sha256(batch.id.encode()).digest()[:8], "big")
    random = np.random.default_rng(seed)
    base = BATCH_NOMINAL["base"] + batch.fog
    return {
        step: round(base + (nominal - BATCH_NOMINAL["base"]) * batch.activity + random.normal(0.0, REPEATABILITY), 2)
        for step, nominal in BATCH_NOMINAL.items()
    }


def _read(density: float, times: int, random: np.random.Generator) -> list[float]:
    return [max(0.0, round(float(value), 3)) for value in density + random.normal(0.0, REPEATABILITY, times)]


def _stops_text(stops: Fraction) -> str:
    return "0" if stops == 0 else f"{'+' if stops > 0 else '-'}{abs(stops)}"
