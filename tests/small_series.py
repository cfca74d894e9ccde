"""A small valid series on disk, for tests that need the whole way through but not the demo."""

from pathlib import Path

STEPS = 11
STEP_DENSITY = 0.30


def write_small_series(folder: Path) -> Path:
    """Write an invented series of a reference and one stock; return its folder."""
    files = {
        "series.yaml": SERIES,
        "wedges/contact-11.csv": "step,density\n"
        + "".join(f"{step},{0.05 + STEP_DENSITY * (step - 1):.2f}\n" for step in range(1, STEPS + 1)),
        "stocks/fell-100/stock.yaml": "name: Fell 100\nbox_speed: 100\n",
        "stocks/fell-100/2026-02-01/test.yaml": TEST.format(index=100),
        "stocks/fell-100/2026-02-01/wedge.csv": readings(gradient=0.62, threshold=-1.9),
        "stocks/wold-400/stock.yaml": "name: Wold 400\nbox_speed: 400\n",
        "stocks/wold-400/2026-02-03/test.yaml": TEST.format(index=400),
        "stocks/wold-400/2026-02-03/wedge.csv": readings(gradient=0.55, threshold=-2.4),
    }
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def readings(*, gradient: float, threshold: float) -> str:
    """Return wedge readings of a film that answers in a straight line from a threshold, read to 0.01."""
    rows = ["step,first,second", "base,0.21,0.21"]
    for step in range(1, STEPS + 1):
        log_exposure = 0.0 - (0.05 + STEP_DENSITY * (step - 1))
        density = 0.21 + gradient * max(0.0, log_exposure - threshold)
        rows.append(f"{step},{density:.2f},{density:.2f}")
    return "\n".join(rows) + "\n"


SERIES = """\
title: Invented fells
address: https://fells.example.org/
description: Invented data, for tests.
reference: fell-100
protocol:
  developer: metol-hydroquinone, undiluted
  temperature_c: 20
exposure: {wedge: contact-11, lux_s: 1.0}
densitometer: {reads: diffuse transmission, repeatability: 0.01}
"""

TEST = "exposure_index: {index}\ndeveloped: {{time_min: 8}}\n"
