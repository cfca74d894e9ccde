"""Every table of the demo series by its path in the content folder."""

from collections.abc import Mapping

import numpy as np

from simulation.papers import PAPERS
from simulation.readings import compute_wedge_rows, read_bracket, read_wedge_exposure
from simulation.tables import SUFFIXES, Cell, render_table
from simulation.truths import TESTS

WEDGE = "contact-21"


def render_tables() -> Mapping[str, bytes]:
    """Return the bytes of every table of the demo, by path."""
    tables = {f"wedges/{WEDGE}.csv": render_table(compute_wedge_rows(), "csv")}
    for name, paper in PAPERS.items():
        log_h = np.round(np.arange(0.0, 2.41, 0.1), 2)
        rows: list[list[Cell]] = [["log_exposure", "density"]]
        rows += [[float(x), float(d)] for x, d in zip(log_h, paper.density(log_h), strict=True)]
        tables[f"papers/{name}.csv"] = render_table(rows, "csv")
    for test in TESTS:
        folder = f"stocks/{test.stock}/{test.id}"
        title = f"{test.stock}, wedge exposure"
        if test.wedge:
            rows = read_wedge_exposure(test)
            path = f"{folder}/wedge{SUFFIXES[test.wedge]}"
            tables[path] = render_table(rows, test.wedge, title=title, created=test.id[:10])
        if test.bracket:
            path = f"{folder}/bracket{SUFFIXES[test.bracket]}"
            tables[path] = render_table(read_bracket(test), test.bracket)
    return tables
