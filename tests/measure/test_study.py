"""A small part of the simulation study, run again on every change: it fails where an interval no longer covers."""

import json
from dataclasses import replace
from importlib.resources import files

import pytest

from measure.study.__main__ import renew
from measure.study.alternatives import ALTERNATIVES, compare_alternatives
from measure.study.cells import Cell, Outcome, simulate
from measure.study.curves import KINDS, MEASURES

TESTS = 80
MOVED = {"gamma", "useful_range"}
CELLS = (
    Cell(kind="hard toe", repeatability=0.01, replicates=1),
    Cell(kind="early shoulder", repeatability=0.02, replicates=3),
    Cell(kind="two logistics", repeatability=0.02, replicates=1),
    Cell(kind="kink", repeatability=0.005, replicates=3),
    Cell(kind="kink held back", repeatability=0.01, replicates=1),
)


@pytest.fixture(scope="module")
def outcomes() -> list[Outcome]:
    return [outcome for cell in CELLS for outcome in simulate(cell, TESTS)]


def test_intervals_cover_the_truth(outcomes: list[Outcome]) -> None:
    """Of 80 intervals of 95 % at least 69 hold the truth: fewer are seen once in some 1,500 such cells."""
    poor = {(outcome.kind, outcome.measure): outcome.coverage for outcome in outcomes if outcome.coverage < 69 / 80}

    assert poor == {}


def test_intervals_are_no_wider_than_they_need_be(outcomes: list[Outcome]) -> None:
    """Half an interval is about two scatters; up to five for gamma, which is shifted and whose windows are in doubt."""
    odd = {
        (outcome.kind, outcome.measure): outcome.half_width / outcome.scatter
        for outcome in outcomes
        if not 1.5 < outcome.half_width / outcome.scatter < (5.0 if outcome.measure in MOVED else 2.8)
    }

    assert odd == {}


def test_estimates_are_hardly_shifted(outcomes: list[Outcome]) -> None:
    """Bias stays below a fifth of the scatter, gamma and useful range below one; 80 tests tell it to a ninth.

    Below one, too, is what ends at a kink: no smooth line tells how a curve turns between two steps.
    """
    shifted = {
        (outcome.kind, outcome.measure): outcome.bias_ratio
        for outcome in outcomes
        if abs(outcome.bias_ratio) > (1.0 if outcome.measure in MOVED or "kink" in outcome.kind else 0.2) + 0.3
    }

    assert shifted == {}


def test_a_stiffer_curve_would_be_biased() -> None:
    """The study tells estimators apart: half the scatter saved by stiffness comes back as bias."""
    names = ("the chosen spline", "much stiffer")
    rows = {
        (row["estimator"], row["measure"]): float(row["largest_bias_ratio"])
        for row in compare_alternatives(200, repeatabilities=(0.02,), names=names)
    }

    assert abs(rows["much stiffer", "average_gradient"]) > 2 * abs(rows["the chosen spline", "average_gradient"])
    assert set(names) < set(ALTERNATIVES)


def test_measures_found_anew_replace_their_own_cells_alone() -> None:
    """Cells of a measure that was run again take the old ones' places; all else stands, in the study's order."""
    table = json.loads((files("basefog.measure") / "study_results.json").read_text(encoding="utf-8"))
    standing = [Outcome(**cell) for cell in table["cells"]]
    again = [replace(outcome, coverage=0.5) for outcome in reversed(standing) if outcome.measure == "speed_point"]

    renewed = renew(table, again)

    assert renewed == [
        replace(outcome, coverage=0.5) if outcome.measure == "speed_point" else outcome for outcome in standing
    ]
    with pytest.raises(ValueError, match="same number of tests"):
        renew(table, [replace(again[0], tests=100)])


def test_a_measure_alone_comes_out_as_it_does_among_all() -> None:
    """The simulated readings do not hang on which measures are asked for."""
    cell = Cell(kind="kink", repeatability=0.01, replicates=1)

    alone = simulate(cell, 12, measures=("middle_gradient",))

    assert alone == [outcome for outcome in simulate(cell, 12) if outcome.measure == "middle_gradient"]


def test_the_published_table_is_that_of_the_whole_study() -> None:
    """The table beside the formulas has every cell with 2,000 tests and keeps what the study asks for."""
    table = json.loads((files("basefog.measure") / "study_results.json").read_text(encoding="utf-8"))

    assert len(table["cells"]) == len(KINDS) * 3 * 2 * len(MEASURES)
    assert {cell["kind"] for cell in table["cells"]} == set(KINDS)
    assert {cell["tests"] for cell in table["cells"]} == {2000}
    for row in table["measures"]:
        # To the hundredth that the goal is given in; gamma's 0.971 is the price of its holding on every kind.
        assert 0.93 <= round(row["coverage"], 2) <= 0.97, row["measure"]
        assert row["lowest_cell_coverage"] == min(
            round(cell["coverage"], 4) for cell in table["cells"] if cell["measure"] == row["measure"]
        )


def test_every_cell_of_the_published_table_holds() -> None:
    """No measure on any kind of film, at any error of reading, has less than 0.90 coverage."""
    table = json.loads((files("basefog.measure") / "study_results.json").read_text(encoding="utf-8"))

    poor = {
        (cell["kind"], cell["measure"], cell["repeatability"], cell["replicates"]): cell["coverage"]
        for cell in table["cells"]
        if cell["coverage"] < 0.90
    }

    assert poor == {}
