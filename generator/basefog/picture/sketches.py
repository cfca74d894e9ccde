"""A scan made small: what registration looks at, and where it lies on the scan to a fraction of a pixel."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from basefog.scanfiles import OpenedScan, Region

SKETCH_PX: Final = 1200
"""Longest side of a sketch is from this to twice this: a shift is then found to a few hundredths of its pixels, which
is a third of a pixel on a scan of 24 megapixels, and a large scan costs little more than a small one."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Sketch:
    """Means of square blocks of an upright scan's grey codes, floating point.

    `block_px` is a block's side; width and height are the scan's own. The last
    blocks may be partial, and are then means of what they have.
    """

    codes: NDArray[np.float32]
    block_px: int
    width_px: int
    height_px: int


def choose_block(width_px: int, height_px: int) -> int:
    """Return the block's side for a scan of that size.

    >>> choose_block(1380, 920), choose_block(6000, 4000), choose_block(24000, 16000)
    (1, 5, 20)
    """
    return max(1, max(width_px, height_px) // SKETCH_PX)


def read_sketch(scan: OpenedScan) -> Sketch:
    """Return the sketch of a scan. Raises ValueError where it can't be decoded."""
    width, height = scan.header.width_px, scan.header.height_px
    block = choose_block(width, height)
    whole = Region(left_px=0, top_px=0, width_px=width, height_px=height, block_px=block)
    [read] = scan.read([whole])
    sketched = read.codes.astype(np.float32, copy=False)
    return Sketch(codes=sketched, block_px=block, width_px=width, height_px=height)
