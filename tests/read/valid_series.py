"""One valid, invented series as files by path, and how tests read it with something changed."""

import io
from collections.abc import Mapping
from pathlib import Path

from PIL import Image

from basefog.read import SeriesReading, read_series

SERIES_YAML = """\
title: Lantern Yard film trials
address: https://trials.example.org/
author: M. Osei
licence: CC-BY-4.0
language: en
description: One reference film, one protocol.
reference: marl-400
protocol:
  subject: plaster bust, folded wool
  lighting: two diffused heads
  developer: metol-hydroquinone, undiluted
  temperature_c: 20
  bracket_step_stops: 1/3
  grey_patch: grey
  shadow_patch: dark
exposure: {wedge: contact-7, lux_s: 0.8}
densitometer: {reads: diffuse transmission, repeatability: 0.008}
patches:
  - {id: grey, name: Grey, luminous_reflectance: 0.18}
  - {id: dark, name: Dark skin, luminous_reflectance: 0.10}
views:
  - {id: whole, name: Whole print, box: [0, 0, 1, 1]}
  - {id: even, name: Even tone, of: negative, box: [0.62, 0.08, 0.10, 0.10], shows: grain}
enlarging: {paper: grade-2, magnification: 9.0, exposure_s: 12.0}
"""
WEDGE_CALIBRATION = """\
step,density,u_density
1,0.05,0.003
2,0.35,0.003
3,0.65,0.003
4,0.95,0.003
5,1.25,0.003
6,1.55,0.003
7,1.85,0.003
"""
WEDGE = """\
step,first,second,third
1,1.42,1.43,1.42
2,1.24,1.25,1.24
3,1.06,1.06,1.07
4,0.87,0.88,0.87
5,0.66,0.66,0.65
6,0.44,0.45,0.44
7,0.30,0.30,0.31
base,0.24,0.24,0.25
"""
BRACKET = """\
frame,stops,base,grey,dark
6,-1/3,0.24,0.71,0.52
7,0,0.24,0.78,0.59
8,+1/3,0.25,0.85,0.66
8,+1/3,-,0.85,
"""
PAPER = "log_exposure,density\n0,0.06\n0.3,0.10\n0.6,0.55\n0.9,1.40\n1.2,1.95\n1.5,2.05\n"
BATCH = """\
date: 2026-03-14
developer: metol-hydroquinone, undiluted
temperature_c: 20
control_strip: {base: 0.24, low: 0.42, mid: 0.98, high: 1.61}
notes: Fresh bottle.
"""
STOCK = """\
name: Marl 400
maker: Quarry & Sons
box_speed: 400
process: black-and-white negative
formats: [135, 120]
former_slugs: [marl-iso-400]
"""
FIRST_TEST = """\
exposure_index: 400
emulsion: "0417-2"
developed: {time_min: 8.5, agitation: 5 s each 30 s, batch: 2026-03-14-tank-2}
"""
SECOND_TEST = """\
exposure_index: 400
developed: {time_min: 8.5}
replaces: 2026-03-14
reason: The camera moved.
departures: [Camera remounted between frames 6 and 7]
print: {exposure_s: 13.4}
scans:
  - file: scans/print.png
    of: print
    pixels_per_mm: 23.6
  - file: scans/negative.png
    of: negative
    pixels_per_mm: 157
    code_density: [[0, 2.12], [128, 1.09], [255, 0.06]]
    views: {even: [0.60, 0.10, 0.10, 0.10]}
video: {address: "https://video.example.org/123", chapters: [{at: "3:40", title: Curves}]}
"""
OTHER_TEST = "exposure_index: 1/3\ndeveloped: {time_min: 7}\n"
QUESTION = """\
---
title: Is Tern finer?
asked: 2026-03-20
answered: 2026-03-22
stocks: [tern-100]
---
It is {{ difference("tern-100", "rms_granularity") }}.

{{ view("marl-400/2026-03-14", "even") }}
"""
PAGE = "# About the *trials*\n\nBy [mail](mailto:osei@example.org) or [here](../../method/index.html).\n"


def picture(size: tuple[int, int] = (40, 30), kind: str = "PNG", mode: str = "L") -> bytes:
    """Return a small grey picture."""
    file = io.BytesIO()
    Image.new(mode, size, 128 if len(mode) == 1 else None).save(file, kind)
    return file.getvalue()


def valid_files() -> dict[str, bytes]:
    """Return the files of a series in which nothing is wrong and nothing is remarked."""
    texts = {
        "series.yaml": SERIES_YAML,
        "wedges/contact-7.csv": WEDGE_CALIBRATION,
        "papers/grade-2.csv": PAPER,
        "batches/2026-03-14-tank-2.yaml": BATCH,
        "stocks/marl-400/stock.yaml": STOCK,
        "stocks/marl-400/notes.md": "A steady film.\n",
        "stocks/marl-400/2026-03-14/test.yaml": FIRST_TEST,
        "stocks/marl-400/2026-03-14/wedge.csv": WEDGE,
        "stocks/marl-400/2026-03-14/bracket.csv": BRACKET,
        "stocks/marl-400/2026-04-02/test.yaml": SECOND_TEST,
        "stocks/marl-400/2026-04-02/wedge.csv": WEDGE,
        "stocks/marl-400/2026-04-02/notes.md": "Gamma is {{ value('marl-400', 'gamma') }}.\n",
        "stocks/tern-100/stock.yaml": "name: Tern 100\nbox_speed: 100\n",
        "stocks/tern-100/2026-03-14/test.yaml": OTHER_TEST,
        "stocks/tern-100/2026-03-14/wedge.csv": WEDGE,
        "questions/2026-03-22-finer.md": QUESTION,
        "pages/about.md": PAGE,
    }
    files = {path: text.encode() for path, text in texts.items()}
    files["stocks/marl-400/2026-04-02/scans/print.png"] = picture()
    files["stocks/marl-400/2026-04-02/scans/negative.png"] = picture((60, 20))
    return files


def write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files by path below a folder."""
    for path, data in files.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)


def read_with(folder: Path, changes: Mapping[str, bytes | str | None]) -> SeriesReading:
    """Return the reading of the valid series with files replaced, added, or (None) left out."""
    files: dict[str, bytes] = valid_files()
    for path, content in changes.items():
        if content is None:
            del files[path]
        else:
            files[path] = content.encode() if isinstance(content, str) else content
    write_files(folder, files)
    return read_series(folder)


def told(reading: SeriesReading) -> list[str]:
    """Return everything that a reading tells, each as one line with its mend."""
    return [
        f"{entry.path}:{entry.line}:{entry.column}: {entry.level}: {entry.message} | {entry.mend}"
        for entry in reading.problems
    ]
