"""An invented series in which errors are shared and repeats tell the scatter: what a verdict can be worked out from."""

from pathlib import Path

import numpy as np

STEPS = 21
STEP_DENSITY = 0.15
REPEATABILITY = 0.008
U_DENSITY = 0.006

TESTS = {
    "fell-100": ("2026-01-10", "2026-02-10", "2026-03-10"),
    "gill-50": ("2026-01-11",),
    "holm-200": ("2026-01-12", "2026-02-12"),
    "rigg-400": ("2026-01-13",),
    "wold-400": ("2026-01-14", "2026-02-14"),
}
"""The reference is fell-100; three stocks have repeats, which tells the scatter."""

_FILMS = {
    "fell-100": (0.62, -2.15),
    "gill-50": (0.64, -1.85),
    "holm-200": (0.62, -2.46),
    "rigg-400": (0.55, -2.60),
    "wold-400": (0.66, -2.70),
}

_SERIES = f"""\
title: Invented repeats
address: https://repeats.example.org/
description: Invented data, for tests.
reference: fell-100
protocol: {{developer: "metol-hydroquinone, undiluted", development: each film by its maker's time}}
exposure: {{wedge: contact-21, lux_s: 1.0, u_lux_s: 0.04}}
densitometer: {{reads: diffuse transmission, repeatability: {REPEATABILITY}}}
optional_pages: [open]
"""


def write_repeated_series(folder: Path) -> Path:
    """Write the series; return its folder."""
    rng = np.random.default_rng(20260110)
    wedge = [0.05 + STEP_DENSITY * step for step in range(STEPS)]
    error = rng.normal(0.0, U_DENSITY, STEPS)
    files = {
        "series.yaml": _SERIES,
        "wedges/contact-21.csv": "step,density,u_density\n"
        + "".join(f"{step + 1},{density:.3f},{U_DENSITY}\n" for step, density in enumerate(wedge)),
    }
    for slug, tests in TESTS.items():
        gradient, threshold = _FILMS[slug]
        files[f"stocks/{slug}/stock.yaml"] = f"name: {slug.replace('-', ' ').title()}\nbox_speed: 100\n"
        for place, test in enumerate(tests):
            repeat = "repeat: true\n" if place else ""
            files[f"stocks/{slug}/{test}/test.yaml"] = f"exposure_index: 100\ndeveloped: {{time_min: 8}}\n{repeat}"
            log_exposure = -(np.array(wedge) + error)
            faster, steeper = rng.normal(0.0, 0.02), rng.normal(0.0, 0.012)
            above = 0.2 * np.logaddexp(0.0, (log_exposure - threshold + faster) / 0.2)
            density = 0.21 + gradient * (1 + steeper) * above
            read = density[:, None] + rng.normal(0.0, REPEATABILITY, (STEPS, 2))
            rows = ["step,first,second", "base,0.210,0.212"]
            rows += [f"{step + 1},{one:.3f},{two:.3f}" for step, (one, two) in enumerate(np.maximum(read, 0.21))]
            files[f"stocks/{slug}/{test}/wedge.csv"] = "\n".join(rows) + "\n"
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder
