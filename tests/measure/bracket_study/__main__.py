"""Run the whole study of brackets and print its table: `python -m measure.bracket_study [series]`."""

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from functools import partial
from itertools import product

from measure.bracket_study.brackets import Cell
from measure.bracket_study.outcomes import Outcome, simulate

SERIES = 120


def list_cells() -> list[Cell]:
    """Return every cell of the study."""
    return [
        Cell(wedge=wedge, shutter_stops=shutter, readings=readings)
        for wedge, shutter, readings in product((True, False), (0.05, 0.10), (1, 2))
    ]


def tabulate(outcomes: list[Outcome]) -> str:
    """Return the outcomes as a table of text, one cell a column."""
    rows = [asdict(outcome) for outcome in outcomes]
    return "\n".join(f"{name:24}" + "".join(f"{row[name]:>9.3g}" for row in rows) for name in rows[0])


def main(series: int) -> None:
    """Run every cell in two processes and print the table."""
    with ProcessPoolExecutor(max_workers=2) as pool:
        outcomes = list(pool.map(partial(simulate, series=series), list_cells()))
    sys.stdout.write(tabulate(outcomes) + "\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else SERIES)
