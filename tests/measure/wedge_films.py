"""Made-up films with a wedge exposure, and series of them: densities in closed form, with or without error."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.records.content import (
    Densitometer,
    Enlarging,
    Exposure,
    FloatArray,
    Protocol,
    Series,
    StepReadings,
    Stock,
    Test,
    WedgeReadings,
)
from measure.bench_content import PLACE, make_test

Density = Callable[[FloatArray], FloatArray]
BASE = 0.25
STEPS: FloatArray = np.linspace(-3.0, 0.0, 21)
"""Log exposures of a 21-step wedge of 0.15 under 1 lux second."""

REPEATABILITY = 0.001
"""A reading error small enough that a closed form is recovered."""


def toe(gradient: float = 0.65, width: float = 0.12, place: float = -2.2) -> Density:
    """Return net density with a rounded toe and then a straight line: g w ln(1 + exp((x - x0) / w))."""

    def density(log_exposure: FloatArray) -> FloatArray:
        return np.asarray(gradient * width * np.logaddexp(0.0, (log_exposure - place) / width))

    return density


def straight(gradient: float = 0.65, place: float = -2.2) -> Density:
    """Return net density on one straight line that leaves base plus fog at `place`, and is below it before."""
    return lambda log_exposure: gradient * (log_exposure - place)


def steps_of(
    density: Density,
    *,
    log_exposure: FloatArray = STEPS,
    base: float = BASE,
    replicates: int = 1,
    error: float = 0.0,
    seed: int = 1,
    u_log_exposure: float = 0.0,
) -> tuple[StepReadings, ...]:
    """Return the readings of a film's steps, with normal errors where wanted."""
    noise = error * np.random.Generator(np.random.PCG64(seed)).standard_normal((log_exposure.size, replicates))
    readings = base + density(log_exposure)[:, None] + noise
    return tuple(
        StepReadings(
            step=str(number),
            log_exposure=float(place),
            u_log_exposure=u_log_exposure,
            readings=tuple(sorted(float(reading) for reading in row)),
            place=PLACE,
        )
        for number, (place, row) in enumerate(zip(log_exposure, readings, strict=True), start=1)
    )


def fit(
    density: Density,
    *,
    base: Sequence[float] = (BASE,),
    repeatability: float = REPEATABILITY,
    absolute: bool = True,
    axis: str = "contact-21",
    key: str = "tern-100/2026-03-14",
    log_exposure: FloatArray = STEPS,
    replicates: int = 1,
    error: float = 0.0,
    seed: int = 1,
) -> FittedCurve:
    """Return the curve fitted to a film's readings."""
    steps = steps_of(density, log_exposure=log_exposure, replicates=replicates, error=error, seed=seed)
    curve = fit_curve(steps, base, repeatability=repeatability, key=key, absolute=absolute, axis=axis)
    assert isinstance(curve, FittedCurve)
    return curve


def wedge_test(
    name: str,
    density: Density | None = None,
    *,
    steps: Sequence[StepReadings] | None = None,
    base: Sequence[float] = (BASE,),
    absolute: bool = True,
    wedge: str | None = "contact-21",
    replaces: str | None = None,
    repeat: bool = False,
    withdrawn: str | None = None,
) -> Test:
    """Return a test with a wedge exposure and nothing else."""
    read = steps_of(toe() if density is None else density) if steps is None else steps
    readings = WedgeReadings(steps=tuple(read), base=tuple(base), absolute=absolute, wedge=wedge, place=PLACE)
    return replace(make_test(name, replaces=replaces, repeat=repeat, withdrawn=withdrawn), wedge=readings)


def wedge_series(*stocks: Stock, repeatability: float = 0.01, grey_patch: str | None = None) -> Series:
    """Return a series of those stocks, the first of them the reference."""
    return Series(
        title="Lantern Yard film trials",
        address=None,
        author=None,
        licence=None,
        language="en",
        description=None,
        reference=stocks[0].slug,
        protocol=Protocol(
            developer="metol-hydroquinone",
            subject=None,
            lighting=None,
            temperature_c=20.0,
            bracket_step_stops=None,
            grey_patch=grey_patch,
            shadow_patch=None,
        ),
        exposure=Exposure(wedge="contact-21", lux_s=1.0),
        densitometer=Densitometer(repeatability=repeatability, repeatability_stated=True),
        patches=(),
        views=(),
        enlarging=Enlarging(paper=None, magnification=None, exposure_s=None),
        wedges={},
        papers={},
        batches=(),
        stocks=stocks,
        questions=(),
        pages=(),
    )
