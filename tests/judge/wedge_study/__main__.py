"""Print whether differences of films on one wedge hold what they say: `python -m judge.wedge_study [series]`.

The calibration of every series' wedge and its lamp are wrong by as much as is stated. For each cell (films at the same
place, 1.7 stops apart, of other contrast; one and three readings; tests that scatter, with repeats) and each measure
the table has the coverage of the true difference to the reference by 95 % intervals; the same had the two tests' parts
of the wedge been taken as independent, and as wholly alike; the width of the intervals over what it need be (with
repeats Student's factor for the scatter's degrees of freedom is in it: 1.25 at six); coverage and width of the stocks'
single figures; and how many differences were told and missed. The last row of a cell is the mean over its measures. A
cell of several stocks takes as many fewer series.
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import product

import numpy as np

from judge.wedge_study.films import Cell
from judge.wedge_study.outcomes import Outcome, simulate

SERIES = 1000
LAYOUTS = {"same place": (0.0, 1.0), "1.7 stops": (1.7, 1.0), "contrast": (0.0, 1.35), "both": (1.7, 0.8)}
SHARES = ("coverage", "independent", "alike", "width", "own", "own_width")


def list_cells() -> list[Cell]:
    """Return every cell of the study."""
    once = [
        Cell(name=f"{name}, {readings}", apart_stops=apart, contrast=contrast, readings=readings)
        for (name, (apart, contrast)), readings in product(LAYOUTS.items(), (1, 3))
    ]
    repeated = [
        Cell(
            name=f"{name}, repeats",
            apart_stops=LAYOUTS[name][0],
            contrast=LAYOUTS[name][1],
            readings=1,
            tests=(3, 2, 2, 2, 2),
            scatter=True,
        )
        for name in ("same place", "1.7 stops")
    ]
    return once + repeated


def tabulate(outcomes: list[Outcome]) -> str:
    """Return the outcomes of one cell as a table of text, one measure a row."""
    lines = [f"{outcomes[0].cell:22}" + "".join(f"{name:>12}" for name in (*SHARES, "told", "missed"))]
    for one in outcomes:
        shares = "".join(f"{getattr(one, name):12.3f}" for name in SHARES)
        lines.append(f"{one.measure:22}{shares}{one.differences:12d}{one.missed:12d}")
    means = [float(np.mean([getattr(one, name) for one in outcomes])) for name in SHARES]
    lines.append(f"{'mean':22}" + "".join(f"{mean:12.3f}" for mean in means))
    return "\n".join(lines) + "\n"


def main(series: int) -> None:
    """Run every cell in two processes and print a table of each."""
    with ProcessPoolExecutor(max_workers=2) as pool:
        for outcomes in pool.map(partial(simulate, series=series), list_cells()):
            sys.stdout.write(tabulate(outcomes) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else SERIES)
