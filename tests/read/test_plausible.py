"""The rules of reading: a typing slip is caught, and honest noise passes.

The wedges are simulated: curves of several shapes, 21 steps of 0.15, noise of the stated repeatability, and densities
typed with two decimals, as densitometers show them.
"""

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from basefog.read.cells import Cell, Row
from basefog.read.plausible import (
    Group,
    ReadingError,
    ScaledReading,
    check_base,
    check_replicates,
    check_rise,
    quantum_of,
)
from basefog.read.problem_list import ProblemList
from basefog.read.tables import Table
from basefog.records.content import FloatArray, InputFile

HEADER = Row(line=1, cells={0: Cell(text="step", index=0, line=1, column=1)})
TABLE = Table(input=InputFile(path="wedge.csv", sha256=""), header=HEADER, names={"step": 0}, rows=())
LOG_H = np.arange(21) * 0.15


def curve(toe: float, gradient: float, shoulder: float) -> FloatArray:
    """Return base plus fog of 0.25, a toe of that softness, a straight line and a shoulder at that density."""
    line = gradient * toe * np.logaddexp(0, (LOG_H - 0.8) / toe)
    return np.asarray(0.25 + shoulder * (1 - np.exp(-line / shoulder)))


CURVES = {
    "soft toe": curve(0.25, 0.6, 4.0),
    "hard toe": curve(0.03, 0.7, 6.0),
    "long straight line": curve(0.10, 0.9, 50.0),
    "early shoulder": curve(0.10, 1.2, 0.8),
}


def groups_of(readings: Sequence[Sequence[str]]) -> list[Group]:
    """Return typed readings as the groups that the rules judge, by rising light."""
    groups = []
    for step, typed in enumerate(readings):
        cells = [Cell(text=text, index=0, line=step + 2, column=index) for index, text in enumerate(typed)]
        scaled = tuple(ScaledReading(table=TABLE, cell=cell, density=float(cell.text), light=step) for cell in cells)
        groups.append(Group(name=f"step {step}", light=step, readings=scaled))
    return groups


def levels_told(readings: Sequence[Sequence[str]], base: Sequence[str], repeatability: float) -> set[str]:
    """Return the levels of what the rules tell of one wedge."""
    problems = ProblemList()
    groups = groups_of([*readings, base])
    error = ReadingError(
        repeatability=repeatability, quantum=quantum_of([one for group in groups for one in group.readings])
    )
    fine = [group for group in groups if check_replicates(group, error, problems)]
    check_rise([group for group in fine if group is not groups[-1]], error, "step", problems)
    if fine[-1:] == groups[-1:]:
        check_base(groups[-1], groups[0], error, problems)
    return {problem.level for problem in problems.in_order()}


def simulated(
    rng: np.random.Generator, densities: FloatArray, repeatability: float, replicates: int
) -> tuple[list[list[str]], list[str]]:
    """Return one wedge's readings and its base as typed."""
    noise = rng.normal(0, repeatability, (len(densities) + 1, replicates))
    values = np.round(np.append(densities, 0.25)[:, None] + noise, 2)
    typed = [[f"{value:.2f}" for value in row] for row in values]
    return typed[:-1], typed[-1]


@pytest.mark.parametrize("replicates", [1, 3])
@pytest.mark.parametrize("repeatability", [0.005, 0.01, 0.02])
def test_honest_noise_is_no_problem(repeatability: float, replicates: int) -> None:
    """Of 100 honest wedges of four kinds none has a problem, and most not even a remark.

    By the normal distribution a fall of four standard errors between two steps of equal density has a chance of 3e-5,
    and a wedge has at most ten such pairs: 100 wedges give a problem in one run of this test in thirty or less.
    The seed is fixed, so that it gives none.
    """
    rng = np.random.default_rng(20260314)
    levels = [
        levels_told(*simulated(rng, densities, repeatability, replicates), repeatability)
        for densities in CURVES.values()
        for _ in range(25)
    ]

    assert sum("problem" in told for told in levels) == 0
    assert sum("remark" in told for told in levels) < 0.35 * len(levels)


def transposed(text: str) -> str:
    """Return a number with its last two digits swapped, as fingers do."""
    return text[:-2] + text[-1] + text[-2]


def tens_lost(text: str) -> str:
    """Return a number with the digits on both sides of the decimal point swapped."""
    return text[2] + "." + text[0] + text[3:]


@pytest.mark.parametrize(
    ("slip", "caught_at_least"), [(transposed, 0.90), (tens_lost, 0.97)], ids=["hundredths", "tenths"]
)
def test_a_slip_among_replicates_is_caught(slip: Callable[[str], str], caught_at_least: float) -> None:
    """One reading of three with two digits swapped is a problem or a remark, if it moved by more than noise.

    Swapped digits that differ by one move a density by 0.09, which is more than 8 repeatabilities of 0.01.
    """
    rng = np.random.default_rng(20260402)
    caught = slips = 0
    for densities in CURVES.values():
        for _ in range(40):
            readings, base = simulated(rng, densities, 0.01, 3)
            step = int(rng.integers(len(readings)))
            typed = readings[step][1]
            readings[step][1] = slip(typed)
            if abs(float(readings[step][1]) - float(typed)) < 0.05:
                continue
            slips += 1
            caught += "problem" in levels_told(readings, base, 0.01)

    assert slips > 100
    assert caught >= caught_at_least * slips


def test_a_slip_in_a_single_reading_is_caught_where_it_turns_the_curve() -> None:
    """Of single readings wrong by 0.18 or more, at least nine in ten are a problem.

    What is moved by less than the two steps beside it lie apart still rises, and no rule can tell it from a bend.
    """
    rng = np.random.default_rng(20260501)
    caught = slips = 0
    for densities in CURVES.values():
        for _ in range(100):
            readings, base = simulated(rng, densities, 0.01, 1)
            step = int(rng.integers(len(readings)))
            away = abs(float(transposed(readings[step][0])) - float(readings[step][0]))
            readings[step][0] = transposed(readings[step][0])
            if away < 0.18 - 1e-9:
                continue
            slips += 1
            caught += "problem" in levels_told(readings, base, 0.01)

    assert slips > 100
    assert caught >= 0.9 * slips


@pytest.mark.parametrize(
    ("fall", "level"), [(0.028, set()), (0.029, {"remark"}), (0.056, {"remark"}), (0.057, {"problem"})]
)
def test_the_bounds_of_a_fall(fall: float, level: set[str]) -> None:
    """A fall is remarked beyond 2 standard errors of the difference, and a problem beyond 4.

    Single readings of repeatability 0.01 typed to 0.001: one standard error is sqrt(2 (0.01^2 + 0.001^2/12)) = 0.01415.
    """
    assert levels_told([["1.000"], [f"{1 - fall:.3f}"]], ["0.250"], 0.01) == level


@pytest.mark.parametrize(("away", "level"), [(4, set()), (5, {"remark"}), (8, {"remark"}), (9, {"problem"})])
def test_the_bounds_of_a_replicate(away: int, level: set[str]) -> None:
    """Beyond 4 repeatabilities from the median a replicate is remarked, beyond 8 a problem; not at the bound."""
    assert levels_told([["1.00", "1.00", f"{1 + away / 100:.2f}"]], ["0.25"], 0.01) == level


@pytest.mark.parametrize(("above", "level"), [(0.028, set()), (0.029, {"remark"}), (0.058, {"problem"})])
def test_the_bounds_of_the_base(above: float, level: set[str]) -> None:
    """A base above the lowest step is judged by the same bounds as a fall."""
    assert levels_told([["0.250"], ["0.400"]], [f"{0.25 + above:.3f}"], 0.01) == level
