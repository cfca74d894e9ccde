"""Simulated series of bracketed tests: films in closed form, shutters that scatter, readings that are rounded."""

import math
from dataclasses import dataclass

import numpy as np

from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve, fit_curve
from basefog.records.content import FloatArray, Frame, StepReadings, Test
from basefog.records.vocabulary import LOG10_2
from measure.bench_content import PLACE, make_frame, make_test
from measure.study.cells import steps_of
from measure.study.curves import BASE_PLUS_FOG, KINDS, STEPS

PATCHES = {"dark": -0.85, "skin": 0.55, "red": -0.60, "blue": -1.60, "grey": 0.0, "white": 2.2, "black": -3.6}
"""Mean stops from the grey patch. White and black run off the curve, or into its toe, for much of the bracket."""

FOLLOWED = ("dark", "skin", "red", "blue", "white")
"""Patches whose errors are followed; black is only there to be left out where it means nothing."""

BRACKET = tuple(third / 3 for third in range(-6, 7))
"""Thirteen frames, two stops either side."""

GREY_PLACE = 1.85
"""Log exposure of the grey patch at 0 stops on the study's axis: 1.1 above the speed points."""

QUANTUM = 0.01
"""Readings are displayed to two decimals."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """What is simulated: the shutter's scatter, stops; readings of each patch; with a wedge exposure or without."""

    shutter_stops: float
    readings: int
    wedge: bool
    repeatability: float = 0.01


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Film:
    """One film: a kind of curve, its contrast and place against the study's, and its patches' stops from grey."""

    kind: str
    contrast: float
    shift: float
    stops: dict[str, float]

    def net_density(self, log_exposure: FloatArray | float) -> FloatArray:
        """Return net density at log exposures on the study's axis."""
        return np.asarray(self.contrast * KINDS[self.kind](np.asarray(log_exposure) - self.shift))

    def shadow_match_to(self, other: "Film") -> float:
        """Return the true shadow match, stops, by the closed form on a grid of 0.0005."""
        grid = np.linspace(-1.0, 4.0, 10001)
        aim = other.net_density(GREY_PLACE + LOG10_2 * other.stops["dark"])
        reached = np.interp(aim, self.net_density(grid), grid)
        return float((reached - GREY_PLACE) / LOG10_2 - self.stops["dark"])


def draw_film(generator: np.random.Generator, stops: dict[str, float]) -> Film:
    """Return a film of any kind, contrast and speed, with those stops from grey."""
    kinds = sorted(KINDS)
    return Film(
        kind=kinds[int(generator.integers(len(kinds)))],
        contrast=float(generator.uniform(0.85, 1.15)),
        shift=float(generator.uniform(-0.15, 0.15)),
        stops=stops,
    )


def draw_stops(generator: np.random.Generator) -> dict[str, float]:
    """Return patches' stops from grey as one film renders them: about the mean, 0.2 stop either way."""
    return {
        patch: stops + (0.0 if patch == "grey" else float(generator.normal(0.0, 0.2)))
        for patch, stops in PATCHES.items()
    }


def expose(film: Film, cell: Cell, generator: np.random.Generator, name: str) -> tuple[Test, FittedCurve]:
    """Return a test of a film with its bracket read, and the curve that it gives."""
    offsets = cell.shutter_stops * generator.standard_normal(len(BRACKET))
    frames = tuple(
        make_frame(
            f"{number:02d}",
            stops,
            {
                patch: _read(film.net_density(GREY_PLACE + LOG10_2 * (stops + offset + place)), cell, generator)
                for patch, place in film.stops.items()
            },
            base=_read(np.array(0.0), cell, generator),
        )
        for number, (stops, offset) in enumerate(zip(BRACKET, offsets.tolist(), strict=True))
    )
    test = make_test(name, frames=frames)
    curve = _fit_wedge(film, cell, generator, name) if cell.wedge else _fit_grey(frames, cell, name)
    return test, curve


def _read(net_density: FloatArray, cell: Cell, generator: np.random.Generator) -> tuple[float, ...]:
    """Return the readings of one net density, rounded as the densitometer shows them."""
    readings = BASE_PLUS_FOG + net_density + cell.repeatability * generator.standard_normal(cell.readings)
    return tuple(np.round(np.maximum(readings, 0.0) / QUANTUM) * QUANTUM)


def _fit_wedge(film: Film, cell: Cell, generator: np.random.Generator, name: str) -> FittedCurve:
    errors = cell.repeatability * generator.standard_normal((STEPS.size + 1, cell.readings))
    read = np.round((BASE_PLUS_FOG + np.append(film.net_density(STEPS), 0.0)[:, None] + errors) / QUANTUM) * QUANTUM
    return _fit(steps_of(read[:-1]), tuple(read[-1]), cell, name, "contact-21")


def _fit_grey(frames: tuple[Frame, ...], cell: Cell, name: str) -> FittedCurve:
    """Return the grey patch's curve, each frame's exposure uncertain by the usual shutter."""
    steps = [
        StepReadings(
            step=frame.frame,
            log_exposure=LOG10_2 * frame.stops,
            u_log_exposure=LOG10_2 * cell.shutter_stops,
            readings=frame.patches["grey"],
            place=PLACE,
        )
        for frame in frames
    ]
    base = tuple(sorted(reading for frame in frames for reading in frame.base))
    return _fit(steps, base, cell, name, BRACKET_AXIS)


def _fit(steps: list[StepReadings], base: tuple[float, ...], cell: Cell, name: str, axis: str) -> FittedCurve:
    # Rounding is the same for all n: per reading it counts as q sqrt(n / 12).
    error = math.hypot(cell.repeatability, QUANTUM * math.sqrt(cell.readings / 12))
    found = fit_curve(steps, base, repeatability=error, key=name, absolute=False, axis=axis)
    if not isinstance(found, FittedCurve):
        raise TypeError(found.why)
    return found
