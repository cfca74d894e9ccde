"""One cell of the study: many tests of one kind of film at one reading error, measured as any other test is."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from basefog.judge import compare, rule_of
from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.measure.curve_measures import MEASURERS
from basefog.records.content import FloatArray, StepReadings
from basefog.records.findings import Quantity
from basefog.records.problem import Place
from measure.study.curves import BASE_PLUS_FOG, MEASURES, PHASES, STEPS, density_of, true_values

MAY_BE_BOUNDS = {"maximum_density", "useful_range"}

NOWHERE = Place(path="study")


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """What is simulated: a kind of film, the error of one reading, and how many readings each step has."""

    kind: str
    repeatability: float
    replicates: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Outcome:
    """How one measure came out in one cell: all in its own unit save the shares.

    `bias_ratio` is bias over scatter; `coverage` the share of 95 % intervals that hold the truth; `false_verdicts`
    the share of pairs of tests of one film that were told to differ, None for measures that may be lower bounds, of
    which only some pairs are told; `missed` the tests that gave no value.
    """

    kind: str
    repeatability: float
    replicates: int
    measure: str
    tests: int
    bias: float
    scatter: float
    bias_ratio: float
    coverage: float
    half_width: float
    false_verdicts: float | None
    missed: int


def simulate(cell: Cell, tests: int, *, measures: Sequence[str] = MEASURES, seed: int = 1890) -> list[Outcome]:
    """Return how measures came out over a number of simulated tests, spread evenly over the phases.

    The simulated readings are the same whichever measures are asked for.
    """
    generator = np.random.Generator(np.random.PCG64([seed, *cell.kind.encode(), round(cell.repeatability * 1e6)]))
    truths = {phase: true_values(cell.kind, phase) for phase in PHASES}
    found: dict[str, list[tuple[float, Quantity]]] = {measure: [] for measure in measures}
    for number in range(tests):
        phase = PHASES[number * len(PHASES) // tests]
        curve = simulate_curve(cell, phase, generator, key=f"study/{number}")
        for measure in measures:
            found[measure].append((truths[phase][measure], MEASURERS[measure](curve)))
    return [_sum_up(cell, measure, found[measure]) for measure in measures]


def simulate_curve(cell: Cell, phase: float, generator: np.random.Generator, *, key: str) -> FittedCurve:
    """Return the curve fitted to one simulated set of readings."""
    clean = density_of(cell.kind, STEPS, phase)
    errors = cell.repeatability * generator.standard_normal((STEPS.size + 1, cell.replicates))
    fitted = fit_curve(
        steps_of(clean[:, None] + errors[:-1]),
        tuple(BASE_PLUS_FOG + errors[-1]),
        repeatability=cell.repeatability,
        key=key,
        absolute=True,
        axis="contact-21",
    )
    if not isinstance(fitted, FittedCurve):
        raise TypeError(fitted.why)
    return fitted


def steps_of(readings: FloatArray, log_exposure: FloatArray = STEPS, u_log_exposure: float = 0.0) -> list[StepReadings]:
    """Return rows of readings as the steps of a wedge exposure."""
    return [
        StepReadings(
            step=str(number),
            log_exposure=float(place),
            u_log_exposure=u_log_exposure,
            readings=tuple(sorted(float(reading) for reading in row)),
            place=NOWHERE,
        )
        for number, (place, row) in enumerate(zip(log_exposure, readings, strict=True))
    ]


def _sum_up(cell: Cell, measure: str, found: Sequence[tuple[float, Quantity]]) -> Outcome:
    had = [(truth, quantity) for truth, quantity in found if quantity.value is not None]
    truth = np.array([truth for truth, _ in had])
    value, low, high = (np.array([getattr(quantity, part) for _, quantity in had]) for part in ("value", "low", "high"))
    errors = value - truth
    scatter = float(errors.std(ddof=1))
    return Outcome(
        kind=cell.kind,
        repeatability=cell.repeatability,
        replicates=cell.replicates,
        measure=measure,
        tests=len(found),
        bias=float(errors.mean()),
        scatter=scatter,
        bias_ratio=float(errors.mean()) / scatter,
        coverage=float(np.mean((low <= truth) & (truth <= high))),
        half_width=float(np.mean(high - low)) / 2,
        false_verdicts=None if measure in MAY_BE_BOUNDS else _false_verdicts(measure, had),
        missed=len(found) - len(had),
    )


def _false_verdicts(measure: str, had: Sequence[tuple[float, Quantity]]) -> float:
    """Return how often two neighbouring tests of one film at one phase are told to differ."""
    rule = rule_of(measure, None, firm=None)
    verdicts = [
        compare(rule, one, other).verdict
        for (truth, one), (same, other) in zip(had[::2], had[1::2], strict=False)
        if truth == same
    ]
    return sum(verdict != "no measurable difference" for verdict in verdicts) / len(verdicts)
