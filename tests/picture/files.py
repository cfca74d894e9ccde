"""Scan files sketched and cut into views, as tests want it."""

from collections.abc import Sequence
from pathlib import Path

from basefog.picture.cuts import encode_cut, region_of_cut
from basefog.picture.sketches import Sketch, read_sketch
from basefog.picture.views import ViewPlan
from basefog.scanfiles import open_scan
from scanfiles.files import read_regions


def sketch_file(path: Path, size: tuple[int, int]) -> Sketch:
    """Return the sketch of a scan that has that width and height."""
    with open_scan(path, width_px=size[0], height_px=size[1]) as opened:
        return read_sketch(opened)


def cut_file(path: Path, plans: Sequence[ViewPlan]) -> dict[str, bytes]:
    """Return the pictures of a scan's views."""
    scan = plans[0].scan
    read = read_regions(path, [region_of_cut(plan) for plan in plans], (scan.width_px, scan.height_px))
    cuts = [encode_cut(plan, codes) for plan, codes in zip(plans, read, strict=True)]
    return {name: data for cut in cuts for name, data in cut.items()}
