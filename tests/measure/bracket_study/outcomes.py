"""What the fit makes of simulated series: errors, coverage and false verdicts, counted over whole series."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.frames_fit import FramesFit, fit_frames
from basefog.measure.patch_stops import PatchStops, measure_patch_stops
from basefog.measure.shadow_match import (
    Shadows,
    Target,
    describe_frames,
    find_target,
    match_shadows,
    read_shadows,
)
from measure.bracket_study.brackets import BRACKET, FOLLOWED, QUANTUM, Cell, Film, draw_film, draw_stops, expose

STOCKS = 4
"""Stocks of a series beside its reference; the first two render colours as it does."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Outcome:
    """How one cell came out, shares and stops.

    `difference_rms` is the error of a patch's difference to the reference; `coverage` of its 95 % interval;
    `false_verdicts` the share of patches of equal stocks told to differ; `test_rms` the error of one test's figure.
    `off_frames` is how many frames the chosen one lay from the true one, at most; `null_share` patches without figure.
    """

    shutter_stops: float
    readings: int
    wedge: bool
    series: int
    difference_rms: float
    worst_patch_rms: float
    coverage: float
    poorest_patch_coverage: float
    false_verdicts: float
    shadow_rms: float
    shadow_coverage: float
    shadow_half_width: float
    shutter_told: float
    off_frames: int
    null_share: float
    left_out_share: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Measured:
    film: Film
    fit: FramesFit
    patches: dict[str, PatchStops]
    shadows: Shadows


def simulate(cell: Cell, series: int, *, seed: int = 1890) -> Outcome:
    """Return how a number of series of one cell came out."""
    generator = np.random.Generator(np.random.PCG64([seed, round(cell.shutter_stops * 100), cell.readings, cell.wedge]))
    errors: list[tuple[str, float, float, bool]] = []
    matches: list[tuple[float, float]] = []
    told: list[float] = []
    off, nulls, left, read = 0, 0, 0, 0
    for number in range(series):
        reference, *stocks = _measure_series(cell, generator, number)
        target = find_target([reference.shadows])
        if not isinstance(target, Target):
            raise TypeError(target.why)
        for place, stock in enumerate(stocks):
            nulls += sum(stock.patches[patch].draws is None for patch in FOLLOWED)
            errors += list(_compare(stock, reference, equal=place < 2))
            match = match_shadows(stock.shadows, target, is_reference=False)
            true = stock.film.shadow_match_to(reference.film)
            left += sum(reading.left_out for reading in stock.fit.readings)
            read += len(stock.fit.readings)
            if stock.fit.exposures_repeat_stops is not None:
                told.append(stock.fit.exposures_repeat_stops)
            if match.quantity.value is None or match.quantity.half_width is None:
                continue
            matches.append((match.quantity.value - true, match.quantity.half_width))
            frames = describe_frames(stock.shadows, target, match, stock.shadows.frames)
            chosen = next(at for at, frame in enumerate(frames) if frame.chosen)
            off = max(off, abs(chosen - int(np.argmin(np.abs(np.array(BRACKET) - true)))))
    patch = np.array([name for name, _, _, _ in errors])
    error, half = (np.array([entry[part] for entry in errors], dtype=np.float64) for part in (1, 2))
    equal = np.array([is_equal for _, _, _, is_equal in errors])
    held = np.abs(error) <= half
    shadow_error, shadow_half = np.array(matches).T
    return Outcome(
        shutter_stops=cell.shutter_stops,
        readings=cell.readings,
        wedge=cell.wedge,
        series=series,
        difference_rms=_rms(error),
        worst_patch_rms=max(_rms(error[patch == name]) for name in FOLLOWED if (patch == name).any()),
        coverage=float(held.mean()),
        poorest_patch_coverage=min(float(held[patch == name].mean()) for name in FOLLOWED if (patch == name).any()),
        false_verdicts=float(np.mean(~held[equal])),
        shadow_rms=_rms(shadow_error),
        shadow_coverage=float(np.mean(np.abs(shadow_error) <= shadow_half)),
        shadow_half_width=float(shadow_half.mean()),
        shutter_told=_rms(np.array(told)) if told else float("nan"),
        off_frames=off,
        null_share=nulls / (series * STOCKS * len(FOLLOWED)),
        left_out_share=left / read,
    )


def _measure_series(cell: Cell, generator: np.random.Generator, number: int) -> Sequence[_Measured]:
    stops = draw_stops(generator)
    films = [draw_film(generator, stops if place < 3 else draw_stops(generator)) for place in range(1 + STOCKS)]
    return [_measure(film, cell, generator, f"film-{place}/{number}") for place, film in enumerate(films)]


def _measure(film: Film, cell: Cell, generator: np.random.Generator, name: str) -> _Measured:
    stock, number = name.split("/")
    key = f"{stock}-{number}/2026-01-10"
    test, curve = expose(film, cell, generator, key)
    fit = fit_frames(test, curve, grey_patch="grey", repeatability=cell.repeatability, quantum=QUANTUM)
    if not isinstance(fit, FramesFit):
        raise TypeError(fit.why)
    shadows = read_shadows(
        test,
        fit,
        curve.base_plus_fog,
        shadow_patch="dark",
        repeatability=cell.repeatability,
        quantum=QUANTUM,
        shutter_stops=cell.shutter_stops,
    )
    if not isinstance(shadows, Shadows):
        raise TypeError(shadows.why)
    return _Measured(film=film, fit=fit, patches=dict(measure_patch_stops(fit, FOLLOWED)), shadows=shadows)


def _compare(stock: _Measured, reference: _Measured, *, equal: bool) -> Iterator[tuple[str, float, float, bool]]:
    """Yield, for every patch that both have: its name, the error of the difference, its half width, and if equal."""
    for patch in FOLLOWED:
        one, other = stock.patches[patch], reference.patches[patch]
        if one.draws is None or other.draws is None:
            continue
        true = stock.film.stops[patch] - reference.film.stops[patch]
        error = float(one.draws[0] - other.draws[0]) - true
        yield patch, error, 1.959964 * float(np.sqrt(one.variance + other.variance)), equal


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))
