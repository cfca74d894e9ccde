"""A scan made small: what registration looks at, and where it lies on the scan to a fraction of a pixel."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from basefog.picture.blocks import average_blocks
from basefog.picture.scans import GreyArray

SKETCH_PX: Final = 1200
"""Longest side of a sketch is from this to twice this: a shift is then found to a few hundredths of its pixels, which
is a third of a pixel on a scan of 24 megapixels, and a large scan costs little more than a small one."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Sketch:
    """Means of square blocks of an upright scan's grey codes, floating point.

    `block_px` is a block's side; width and height are the scan's own. The first block's corner stands at (`left_px`,
    `top_px`) of the scan: zero, or below it where the first block is a partial one.
    """

    codes: NDArray[np.float32]
    block_px: int
    width_px: int
    height_px: int
    left_px: int = 0
    top_px: int = 0


def choose_block(width_px: int, height_px: int) -> int:
    """Return the block's side for a scan of that size.

    >>> choose_block(1380, 920), choose_block(6000, 4000), choose_block(24000, 16000)
    (1, 5, 20)
    """
    return max(1, max(width_px, height_px) // SKETCH_PX)


def make_sketch(codes: GreyArray) -> Sketch:
    """Return the sketch of a decoded scan."""
    height, width = codes.shape
    block = choose_block(width, height)
    return Sketch(codes=average_blocks(codes, block), block_px=block, width_px=width, height_px=height)
