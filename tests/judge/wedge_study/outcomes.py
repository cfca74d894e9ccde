"""What the judging makes of simulated series: how often intervals hold the truth, and how wide they are."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from basefog.judge import find_findings
from basefog.judge.sides import Side, add_variances
from basefog.judge.verdicts import sides_to_reference
from basefog.measure.resampling import NORMAL_FACTOR
from basefog.records.content import FloatArray
from basefog.records.findings import Findings, TestFindings
from basefog.records.vocabulary import LOG10_2
from judge.wedge_study.films import Cell, Film, draw_films, draw_series, find_truth

FOLLOWED = (
    "base_plus_fog",
    "speed_point",
    "speed_from_reference",
    "average_gradient",
    "contrast_index",
    "gamma",
    "shadow_gradient",
    "middle_gradient",
    "highlight_gradient",
    "useful_range",
)
"""The measures that the study follows."""

WAYS = ("step by step", "independent", "wholly alike")
"""How two tests' parts of one wedge may be put together: as the judging does it, and as it might."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Outcome:
    """How one measure came out in one cell, shares.

    `coverage` of the true difference to the reference; `independent` and `alike`, had the two parts of the wedge been
    taken so. `width` is what the error of a difference was told to be, root mean square, over what it was: 1 where
    intervals are neither wider nor narrower than they need be; `independent_width` and `alike_width`, the same had the
    parts been taken so. `own` is the coverage of single figures, of absolute ones with the lamp's part, and `own_width`
    the width of them. `differences` were told, `missed` ones not.
    """

    cell: str
    measure: str
    coverage: float
    independent: float
    alike: float
    width: float
    independent_width: float
    alike_width: float
    own: float
    own_width: float
    differences: int
    missed: int


@dataclass(frozen=True, kw_only=True, slots=True)
class _Told:
    """One difference that was told: its error and its half widths in the order of `WAYS`; the same of the figure."""

    error: float
    halves: tuple[float, float, float]
    own_error: float
    own_half: float


def simulate(cell: Cell, series: int, *, seed: int = 1890) -> list[Outcome]:
    """Return how every measure came out over a number of series of one cell; as many fewer as it has more stocks."""
    generator = np.random.Generator(np.random.PCG64([seed, *cell.name.encode(), cell.readings]))
    told: dict[str, list[_Told]] = {measure: [] for measure in FOLLOWED}
    missed = dict.fromkeys(FOLLOWED, 0)
    for _ in range(max(1, series // (len(cell.tests) - 1))):
        films = draw_films(cell, generator)
        findings = find_findings(draw_series(cell, films, generator), {})
        for measure, one in _tell(findings, films):
            if one is None:
                missed[measure] += 1
            else:
                told[measure].append(one)
    return [_sum_up(cell, measure, told[measure], missed[measure]) for measure in FOLLOWED if told[measure]]


def _tell(findings: Findings, films: list[Film]) -> Iterator[tuple[str, _Told | None]]:
    """Yield what was told of every stock and measure whose truth lies inside the readings."""
    of_reference = find_truth(films[0])
    current = {test.stock: test for test in findings.tests.values() if test.current}
    for number, film in enumerate(films[1:], start=1):
        truth = find_truth(film)
        for measure in FOLLOWED:
            source = "speed_point" if measure == "speed_from_reference" else measure
            true = truth[source] - of_reference[source]
            if not math.isfinite(true):
                continue
            if measure == "speed_from_reference":
                true /= -LOG10_2
            yield measure, _tell_one(findings, current[f"stock-{number}"], measure, true, truth[source])


def _tell_one(findings: Findings, test: TestFindings, measure: str, true: float, own_true: float) -> _Told | None:
    verdict, figure = test.against_reference[measure], test.figure(measure)
    reference = None if findings.of_reference is None else findings.of_reference.figure(measure)
    if verdict.difference is None or verdict.could_see is None or figure.value is None or figure.half_width is None:
        return None
    if reference is None:
        raise TypeError("a difference was told without a reference")
    side, other = sides_to_reference(measure, figure, reference)
    if side is None or other is None:
        raise TypeError("a difference was told of figures whose error is not known")
    return _Told(
        error=verdict.difference - true,
        halves=_halves(side, other, verdict.could_see, findings.factors[measure].student),
        own_error=figure.value - (true if measure == "speed_from_reference" else own_true),
        own_half=figure.half_width,
    )


def _halves(side: Side, other: Side, half: float, student: float) -> tuple[float, float, float]:
    """Return half an interval as it is told, and as it would be with the wedge's parts put together otherwise."""
    one, two = (0.0 if part is None else part.variance for part in (side.parts.wedge, other.parts.wedge))
    # All tests are under one lamp, whose part cancels: what is shared and left is the wedge's.
    rest = (half / student) ** 2 - add_variances(side, other, None).shared
    alike = (math.sqrt(one) - math.sqrt(two)) ** 2
    return half, student * math.sqrt(rest + one + two), student * math.sqrt(rest + alike)


def _sum_up(cell: Cell, measure: str, told: list[_Told], missed: int) -> Outcome:
    error, own_error, own_half = (
        np.array([getattr(one, part) for one in told]) for part in ("error", "own_error", "own_half")
    )
    halves = np.array([one.halves for one in told])
    held = np.mean(np.abs(error)[:, None] <= halves, axis=0)
    widths = [_rms(half) / NORMAL_FACTOR / _rms(error) for half in halves.T]
    return Outcome(
        cell=cell.name,
        measure=measure,
        coverage=float(held[0]),
        independent=float(held[1]),
        alike=float(held[2]),
        width=widths[0],
        independent_width=widths[1],
        alike_width=widths[2],
        own=float(np.mean(np.abs(own_error) <= own_half)),
        own_width=_rms(own_half) / NORMAL_FACTOR / _rms(own_error),
        differences=len(told),
        missed=missed,
    )


def _rms(values: FloatArray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))
