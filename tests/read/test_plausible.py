"""The rules of reading: a typing slip is caught, and honest noise passes.

The wedges are simulated: curves of several shapes, 21 steps of 0.15, noise of the stated repeatability, and densities
typed with two decimals, as densitometers show them.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from basefog.read.cells import Cell, Row
from basefog.read.contradictions import remark_deep_base, remark_mean_columns
from basefog.read.plausible import (
    FRAME_EXPOSURE_ERROR_STOPS,
    Group,
    ReadingError,
    ScaledReading,
    check_base,
    check_replicates,
    check_rise,
    check_scale,
    density_per_stop,
    quantum_of,
)
from basefog.read.problem_list import ProblemList
from basefog.read.tables import Table
from basefog.records.content import FloatArray, InputFile

HEADER = Row(
    line=1,
    cells={index: Cell(text=f"reading {index}", index=index, line=1, column=index + 1) for index in range(3)},
)
TABLE = Table(input=InputFile(path="wedge.csv", sha256=""), header=HEADER, names={"step": 0}, rows=())
HEADED = replace(
    TABLE,
    header=Row(line=1, cells={i: Cell(text=f"column {i}", index=i, line=1, column=i + 1) for i in range(5)}),
)
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
        cells = [Cell(text=text, index=index, line=step + 2, column=index) for index, text in enumerate(typed)]
        scaled = tuple(ScaledReading(table=TABLE, cell=cell, density=float(cell.text), light=step) for cell in cells)
        groups.append(Group(name=f"step {step}", light=step, readings=scaled))
    return groups


def rows_of(readings: Sequence[Sequence[str]]) -> list[tuple[ScaledReading, ...]]:
    """Return typed readings as rows of columns."""
    return [
        tuple(
            ScaledReading(
                table=TABLE,
                cell=Cell(text=text, index=index, line=step + 2, column=index + 1),
                density=float(text),
                light=step,
            )
            for index, text in enumerate(typed)
        )
        for step, typed in enumerate(readings)
    ]


def messages_of(readings: Sequence[Sequence[str]], check: Callable[[list[Group], ProblemList], object]) -> list[str]:
    """Return what one rule tells of readings typed so."""
    problems = ProblemList()
    check(groups_of(readings), problems)
    return [problem.message for problem in problems.in_order()]


def scale_told(readings: Sequence[Sequence[str]]) -> list[str]:
    """Return what is told of the scale of a file's readings, by rising light."""
    return messages_of(
        readings,
        lambda groups, problems: check_scale([one for group in groups for one in group.readings], problems),
    )


def rise_told(densities: Sequence[float]) -> list[str]:
    """Return what is told of single readings' rise, by rising light."""
    error = ReadingError(repeatability=0.01, quantum=0.01)
    return messages_of(
        [[f"{density:.2f}"] for density in densities],
        lambda groups, problems: check_rise(groups, error, "step", problems),
    )


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

    By the normal distribution a fall of five standard errors between two steps of equal density has a chance of 3e-7,
    and one of four a chance of 3e-5; a wedge has at most ten such pairs, and its replicates are judged one by one.
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
    ("fall", "level"), [(0.056, set()), (0.057, {"remark"}), (0.070, {"remark"}), (0.071, {"problem"})]
)
def test_the_bounds_of_a_fall(fall: float, level: set[str]) -> None:
    """A fall is remarked beyond 4 standard errors of the difference, and a problem beyond 5.

    Single readings of repeatability 0.01 typed to 0.001: one standard error is sqrt(2 (0.01^2 + 0.001^2/12)) = 0.01415.
    """
    assert levels_told([["1.000"], [f"{1 - fall:.3f}"]], ["0.250"], 0.01) == level


@pytest.mark.parametrize(("slope", "level"), [(0.0, {"problem"}), (0.15, {"remark"}), (0.2, set())])
def test_the_error_of_a_frame_s_exposure_counts(slope: float, level: set[str]) -> None:
    """A fall of 0.12 between two frames counts the less, the more density a tenth of a stop makes.

    One standard error of a mean is 0.01 with its rounding; of a frame's density by its exposure, 0.10 x the slope a
    stop: the fall is 8.5, 4.7 and 3.8 standard errors of the difference.
    """
    problems = ProblemList()
    groups = groups_of([["1.000"], ["0.880"]])
    shutter = FRAME_EXPOSURE_ERROR_STOPS * slope

    check_rise(groups, ReadingError(repeatability=0.01, quantum=0.001), "frame", problems, exposure_error=shutter)

    assert FRAME_EXPOSURE_ERROR_STOPS == 0.10
    assert {problem.level for problem in problems.in_order()} == level


def test_one_wrong_frame_does_not_move_the_slope() -> None:
    """Five frames that rise by 0.2 a stop, one of them wrong by 0.5, still rise by 0.2 to a tenth of it."""
    readings = [["0.400"], ["0.600"], ["1.300"], ["1.000"], ["1.200"]]

    assert density_per_stop(groups_of(readings)) == pytest.approx(0.2, abs=0.02)
    assert density_per_stop(groups_of(readings[:1])) == 0.0
    assert density_per_stop(groups_of(readings[1::-1])) == 0.0


@pytest.mark.parametrize("name", CURVES)
def test_no_honest_film_has_too_deep_a_base(name: str) -> None:
    """Of the kinds of curve none lies further above its base at the lowest step than two stops add."""
    rng = np.random.default_rng(20260601)
    for _ in range(25):
        readings, base = simulated(rng, CURVES[name], 0.01, 1)
        problems = ProblemList()
        groups = groups_of([*readings, base])
        scaled = [replace(group, light=group.light * 0.15) for group in groups]
        remark_deep_base(scaled[-1], scaled[:-1], ReadingError(repeatability=0.01, quantum=0.01), problems)

        assert problems.in_order() == ()


@pytest.mark.parametrize("replicates", [3, 4])
@pytest.mark.parametrize("repeatability", [0.003, 0.008, 0.02])
def test_honest_replicates_are_no_means(repeatability: float, replicates: int) -> None:
    """Replicates typed to a hundredth often equal the mean of the others by chance, and are not taken for it."""
    rng = np.random.default_rng(20260602)
    for densities in CURVES.values():
        for steps in (6, 21):
            readings, base = simulated(rng, densities[:steps], repeatability, replicates)
            problems = ProblemList()
            remark_mean_columns(HEADED, rows_of([*readings, base]), problems)

            assert problems.in_order() == ()


@pytest.mark.parametrize(("places", "steps"), [(3, 6), (2, 21)])
def test_a_mean_typed_as_a_replicate_is_told(places: int, steps: int) -> None:
    """A mean with a place more than the readings is known from a few steps, one as coarse as they are from a wedge."""
    rng = np.random.default_rng(20260603)
    readings, _ = simulated(rng, CURVES["hard toe"][:steps], 0.01, 2)
    typed = [[*row, f"{np.mean([float(text) for text in row]) + 1e-9:.{places}f}"] for row in readings]
    problems = ProblemList()

    remark_mean_columns(HEADED, rows_of(typed), problems)

    assert [(entry.level, entry.message.partition(" is the")[0]) for entry in problems.in_order()] == [
        ("remark", "the column `column 2`")
    ]


@pytest.mark.parametrize(("away", "level"), [(4, set()), (5, {"remark"}), (8, {"remark"}), (9, {"problem"})])
def test_the_bounds_of_a_replicate(away: int, level: set[str]) -> None:
    """Beyond 4 repeatabilities from the median a replicate is remarked, beyond 8 a problem; not at the bound."""
    assert levels_told([["1.00", "1.00", f"{1 + away / 100:.2f}"]], ["0.25"], 0.01) == level


@pytest.mark.parametrize(("above", "level"), [(0.056, set()), (0.057, {"remark"}), (0.071, {"problem"})])
def test_the_bounds_of_the_base(above: float, level: set[str]) -> None:
    """A base above the lowest step is judged by the same bounds as a fall."""
    assert levels_told([["0.250"], ["0.400"]], [f"{0.25 + above:.3f}"], 0.01) == level


@pytest.mark.parametrize(
    ("above", "of", "whole"), [(2, 3, False), (2, 8, False), (3, 12, True), (3, 13, False), (4, 16, True)]
)
def test_a_quarter_of_the_values_above_six_are_another_scale(above: int, of: int, whole: bool) -> None:
    """From three values and a quarter of all on, the file's scale is told once; fewer are told one by one."""
    told = scale_told([["1.20"]] * (of - above) + [["62.5"]] * above)

    assert len(told) == (1 if whole else above)
    assert told[0].startswith(f"found {above} of {of} values above 6" if whole else "")
    assert ("expected densities" in told[0]) == whole


@pytest.mark.parametrize(
    ("typed", "scale"),
    [
        (["80.1", "40.2", "20.4", "10.3"], "percent transmission,"),
        (["180.1", "40.2", "20.4", "10.3"], "percent transmission or hundredfold densities,"),
        (["10.3", "20.4", "40.2", "80.1"], "hundredfold densities,"),
        (["10", "20", "40", "180"], "hundredfold densities,"),
        (["20.4", "20.4", "20.4", "20.4"], "percent transmission or hundredfold densities,"),
    ],
)
def test_a_scale_is_known_by_its_way_with_light(typed: list[str], scale: str) -> None:
    """Transmission falls with light and is never above 100 %; hundredfold densities rise; else both are named."""
    (told,) = scale_told([[one] for one in typed])

    assert f"which look like {scale}" in told


@pytest.mark.parametrize(
    ("typed", "scale"),
    [
        ([["0", "42"], ["1", "24"], ["1", "56"], ["2", "08"]], "the halves of decimal commas"),
        ([["30", "42"], ["51", "54"], ["61", "66"], ["82", "88"]], "hundredfold densities"),
    ],
)
def test_halves_of_decimal_commas_are_whole_numbers_beside_small_ones(typed: list[list[str]], scale: str) -> None:
    """A density parted at its comma leaves a column of noughts and ones; without such a column it is none."""
    (told,) = scale_told(typed)

    assert f"which look like {scale}, expected" in told


def test_falls_over_most_of_a_wedge_are_told_once() -> None:
    """Three heavy falls of six pairs are the whole wedge turned; three of seven, and two of three, are told each."""
    fallen = "density falls with exposure over most of the steps"

    assert rise_told([1.0, 0.8, 0.6, 0.4, 0.6, 0.8, 1.0]) == [fallen]
    assert len(rise_told([1.0, 0.8, 0.6, 0.4, 0.6, 0.8, 1.0, 1.2])) == 3
    assert len(rise_told([1.0, 0.8, 0.6, 0.8])) == 2
    assert fallen not in rise_told([1.0, 0.8, 0.6, 0.8])


def test_equal_exposures_may_fall() -> None:
    """Two groups that got the same light are not held to any order."""
    high, low = groups_of([["1.00"], ["0.80"]])
    problems = ProblemList()

    check_rise([high, replace(low, light=high.light)], ReadingError(repeatability=0.01, quantum=0.01), "step", problems)

    assert problems.in_order() == ()


def test_two_readings_that_disagree_are_told_once() -> None:
    """Of two neither is known to be the slip; of three the one far from the others is."""
    error = ReadingError(repeatability=0.01, quantum=0.01)

    def told(typed: list[str]) -> list[str]:
        return messages_of([typed], lambda groups, problems: check_replicates(groups[0], error, problems))

    assert len(told(["1.00", "1.30"])) == 1
    assert told(["1.00", "1.02", "1.30"])[0].startswith("step 0: the reading 1.3 lies 28 repeatabilities")
    assert len(told(["1.00", "1.02", "1.30"])) == 1


def test_rounding_does_not_shrink_with_replicates() -> None:
    """Four like readings typed to 0.1 are rounded alike: the error of their mean is sqrt(r^2 / 4 + 0.1^2 / 12)."""
    error = ReadingError(repeatability=0.01, quantum=0.1)

    assert error.of_mean(4) == pytest.approx((0.01**2 / 4 + 0.1**2 / 12) ** 0.5)


@pytest.mark.parametrize(("typed", "quantum"), [(["1.2", "1.25"], 0.01), (["1", "2"], 1.0)])
def test_the_quantum_is_the_finest_that_was_typed(typed: list[str], quantum: float) -> None:
    """A reading that happens to end in a nought left off does not make the file coarse."""
    (group,) = groups_of([typed])

    assert quantum_of(group.readings) == pytest.approx(quantum)


def test_digits_that_no_densitometer_shows_are_no_finer_quantum() -> None:
    """Densities pasted with all digits of a computation were not read to them."""
    (group,) = groups_of([["1.20481234"]])

    assert 0.0001 <= quantum_of(group.readings) <= 0.001
