"""The rendered still life, whole and in part, kept in a cache folder under the digest of what draws it."""

import hashlib
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from simulation.render import render_part

Floats = NDArray[np.float32]

FRAME_MM: Final = (36.0, 24.0)
WHOLE_PX: Final = (1800, 1200)
PART_MM: Final = (26.2, 4.1, 8.4, 9.6)
"""Left, top, width and height on the film of the part that is drawn finely, for the scans of the negative."""
PART_PIXELS_PER_MM: Final = 120.0
_GRID: Final = 2
_STRIP_ROWS: Final = 48
_DRAWN_BY: Final = ("spectra", "shapes", "cloth", "card", "still_life", "materials", "render", "subject")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Subject:
    """The still life as linear light in six bands: the whole frame, and the part round the card at a finer pitch."""

    whole: Floats
    part: Floats


def load_subject(cache: Path, *, workers: int = 2, tell: Callable[[str], object] = str) -> Subject:
    """Return the still life from the cache, or draw it (minutes) and keep it there."""
    here = Path(__file__).parent
    digest = hashlib.sha256(b"".join((here / f"{name}.py").read_bytes() for name in _DRAWN_BY)).hexdigest()[:16]
    kept = cache / f"still-life-{digest}.npz"
    if not kept.exists():
        cache.mkdir(parents=True, exist_ok=True)
        left, top, width, height = PART_MM
        box = (left / FRAME_MM[0], top / FRAME_MM[1], width / FRAME_MM[0], height / FRAME_MM[1])
        with ProcessPoolExecutor(workers) as pool:
            part_px = (round(width * PART_PIXELS_PER_MM), round(height * PART_PIXELS_PER_MM))
            part = _draw(pool, box, part_px, tell)
            whole = _draw(pool, (0.0, 0.0, 1.0, 1.0), WHOLE_PX, tell)
        np.savez(kept, whole=whole, part=part)
    with np.load(kept) as stored:
        return Subject(whole=stored["whole"], part=stored["part"])


def _draw(
    pool: ProcessPoolExecutor,
    box: tuple[float, float, float, float],
    size_px: tuple[int, int],
    tell: Callable[[str], object],
) -> Floats:
    left, top, width, height = box
    columns, rows = size_px
    jobs = []
    for first in range(0, rows, _STRIP_ROWS):
        count = min(_STRIP_ROWS, rows - first)
        strip_top, strip_height = top + height * first / rows, height * count / rows
        strip = (left, strip_top, width, strip_height)
        jobs.append(pool.submit(render_part, strip, columns=columns, rows=count, grid=_GRID))
    strips = []
    for number, job in enumerate(jobs, start=1):
        strips.append(job.result())
        tell(f"drawn {number} of {len(jobs)} strips of {columns} pixels")
    return np.concatenate(strips)
