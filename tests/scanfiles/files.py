"""Scan files opened for one thing at a time, as tests want it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from basefog.scanfiles import Region, RegionCodes, open_scan, read_scan_header


def decode_whole(path: Path) -> NDArray[Any]:
    """Return all grey codes of a scan, upright."""
    header = read_scan_header(path)
    width, height = header.width_px, header.height_px
    whole = Region(left_px=0, top_px=0, width_px=width, height_px=height)
    with open_scan(path, width_px=width, height_px=height) as opened:
        return next(opened.read([whole])).codes


def read_regions(
    path: Path, regions: Sequence[Region], size: tuple[int, int], *, is_kept: bool = False
) -> list[RegionCodes]:
    """Return regions of a scan that has that width and height."""
    with open_scan(path, width_px=size[0], height_px=size[1], is_kept=is_kept) as opened:
        return list(opened.read(regions))
