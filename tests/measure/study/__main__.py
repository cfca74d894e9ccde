"""Run the whole study and write its table beside the program's formulas: some half an hour on two processors.

`python -m measure.study` runs all of it; `python -m measure.study highlight_gradient useful_range` runs every cell of
the measures that are named, by themselves, and leaves all else in the table as it stands. That serves where nothing but
those measures was changed.
"""

import json
import os
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

import basefog.measure
from measure.study.alternatives import compare_alternatives
from measure.study.cells import Cell, Outcome, simulate
from measure.study.curves import KINDS, MEASURES

REPEATABILITIES = (0.005, 0.01, 0.02)
REPLICATES = (1, 3)
TESTS = 2000
TESTS_OF_ALTERNATIVES = 800
TARGET = Path(basefog.measure.__file__).with_name("study_results.json")


def list_cells() -> list[Cell]:
    """Return every cell of the study."""
    return [
        Cell(kind=kind, repeatability=repeatability, replicates=replicates)
        for kind in KINDS
        for repeatability in REPEATABILITIES
        for replicates in REPLICATES
    ]


def sum_up(outcomes: list[Outcome]) -> list[dict[str, float | str | None]]:
    """Return, for every measure, its mean and lowest coverage and its largest bias over scatter."""
    rows: list[dict[str, float | str | None]] = []
    for measure in MEASURES:
        own = [outcome for outcome in outcomes if outcome.measure == measure]
        by_kind = {
            kind: sum(outcome.coverage for outcome in own if outcome.kind == kind) / (len(own) / len(KINDS))
            for kind in KINDS
        }
        poorest = min(by_kind, key=lambda kind: by_kind[kind])
        told = [outcome.false_verdicts for outcome in own if outcome.false_verdicts is not None]
        worst = max(own, key=lambda outcome: abs(outcome.bias_ratio))
        rows.append(
            {
                "measure": measure,
                "coverage": round(sum(by_kind.values()) / len(by_kind), 4),
                "poorest_kind": poorest,
                "poorest_coverage": round(by_kind[poorest], 4),
                "lowest_cell_coverage": round(min(outcome.coverage for outcome in own), 4),
                "largest_bias_ratio": round(worst.bias_ratio, 3),
                "largest_bias_kind": worst.kind,
                "false_verdicts": round(sum(told) / len(told), 4) if told else None,
            }
        )
    return rows


def main(measures: Sequence[str], tests: int = TESTS) -> None:
    """Run every cell of some measures, or of all, in two processes and write the table.

    Raises ValueError where a measure is not one of the study's, or where what stands was found by fewer or more tests.
    """
    if unknown := sorted(set(measures) - set(MEASURES)):
        raise ValueError(f"the study does not follow {', '.join(unknown)}; it follows {', '.join(MEASURES)}")
    os.nice(10)
    with ProcessPoolExecutor(max_workers=2) as pool:
        run = partial(simulate, tests=tests, measures=measures)
        outcomes = [row for rows in pool.map(run, list_cells()) for row in rows]
    if set(measures) == set(MEASURES):
        alternatives = compare_alternatives(TESTS_OF_ALTERNATIVES)
    else:
        standing = json.loads(TARGET.read_text(encoding="utf-8"))
        outcomes, alternatives = renew(standing, outcomes), standing["alternatives"]
    TARGET.write_text(tabulate(outcomes, alternatives, tests), encoding="utf-8")


def renew(standing: dict[str, Any], outcomes: Sequence[Outcome]) -> list[Outcome]:
    """Return the outcomes of a table with some of them found anew, in the order of the study.

    Raises ValueError where a cell is in neither, or a standing one was found by fewer or more tests.
    """
    by_cell = {_place_of(old): old for old in (Outcome(**cell) for cell in standing["cells"])}
    by_cell |= {_place_of(new): new for new in outcomes}
    if len({outcome.tests for outcome in by_cell.values()}) != 1:
        raise ValueError("all cells of one table are found by the same number of tests")
    places = [(cell.kind, cell.repeatability, cell.replicates, name) for cell in list_cells() for name in MEASURES]
    if missing := [place for place in places if place not in by_cell]:
        raise ValueError(f"the table that stands has no {missing[0]}; run the whole study")
    return [by_cell[place] for place in places]


def _place_of(outcome: Outcome) -> tuple[str, float, int, str]:
    return outcome.kind, outcome.repeatability, outcome.replicates, outcome.measure


def tabulate(outcomes: list[Outcome], alternatives: list[dict[str, float | str]], tests: int) -> str:
    """Return the table as JSON: what it is, the measures summed up, the other estimators, and every cell."""
    table = {
        "about": "Simulated tests of films whose curves are known: 21 steps of 0.15 log units and an unexposed base. "
        "Coverage is the share of 95 % intervals that hold the true value, bias_ratio the bias over the scatter.",
        "tests_per_cell": tests,
        "measures": sum_up(outcomes),
        "tests_per_cell_of_alternatives": TESTS_OF_ALTERNATIVES,
        "alternatives": alternatives,
        "cells": [
            {key: round(value, 6) if isinstance(value, float) else value for key, value in asdict(outcome).items()}
            for outcome in outcomes
        ],
    }
    return json.dumps(table, indent=1, allow_nan=False) + "\n"


if __name__ == "__main__":
    main(sys.argv[1:] or MEASURES)
