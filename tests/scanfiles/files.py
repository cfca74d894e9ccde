"""Scan files opened for one thing at a time, as tests want it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from basefog.scanfiles.codes import TURNED, open_scan_file
from basefog.scanfiles.opened import open_scan
from basefog.scanfiles.regions import Region, RegionCodes


def size_of(path: Path) -> tuple[int, int]:
    """Return width and height of the upright picture."""
    with open_scan_file(path) as file:
        lying = (file.width_px, file.height_px)
        return lying[::-1] if file.orientation in TURNED else lying


def decode_whole(path: Path) -> NDArray[Any]:
    """Return all grey codes of a scan, upright."""
    width, height = size_of(path)
    whole = Region(left_px=0, top_px=0, width_px=width, height_px=height)
    with open_scan(path, width_px=width, height_px=height) as opened:
        return next(opened.read([whole])).codes


def read_regions(
    path: Path, regions: Sequence[Region], size: tuple[int, int], *, is_kept: bool = False
) -> list[RegionCodes]:
    """Return regions of a scan that has that width and height."""
    with open_scan(path, width_px=size[0], height_px=size[1], is_kept=is_kept) as opened:
        return list(opened.read(regions))
