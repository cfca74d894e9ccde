"""Where each view is cut from a test's scans and which files that makes: planned from sizes alone, nothing decoded.

Views that show grain or sharpness are published pixel for pixel: cut parallel to the scan's own pixels round the
centre of their box, at most `LOSSLESS_MAX_PX`, as 8-bit PNG. Views that show tone are brought down to a few widths as
WebP. A print is often scanned larger for one stock than for another, so a tone view offers no width that the
reference's own scan can't fill: neither picture then looks sharper for its scan alone.
"""

import math
from dataclasses import dataclass
from typing import Final

from basefog.records.content import Box, Scan, Test, View

LOSSLESS_MAX_PX: Final = (640, 480)
"""Largest cut at 1:1, width and height: fills a phone's screen and stays a few hundred kilobytes."""

TONE_WIDTHS_PX: Final = (1280, 640, 320)
LEAST_STEP_RATIO: Final = 1.4
SCALE_BAR_SHARE: Final = 0.25
"""Share of a picture's width that its scale bar aims at; round lengths bring it to between 0.16 and 0.40."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PictureFile:
    """One published file of a view: what its name ends in, its size, its media type."""

    suffix: str
    width_px: int
    height_px: int
    media_type: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ViewPlan:
    """A view of one scan: the region in the upright scan's own pixels, and its files, widest first.

    `pixels_per_mm` counts pixels of the widest file on the thing scanned (print or film); `scale_bar_mm` is a round
    length that takes about a quarter of its width. Both are None where the scan's resolution is not known.
    """

    view: View
    scan: Scan
    left_px: int
    top_px: int
    width_px: int
    height_px: int
    files: tuple[PictureFile, ...]
    lossless: bool
    pixels_per_mm: float | None
    scale_bar_mm: float | None


def plan_views(test: Test, reference: Test | None, views: tuple[View, ...]) -> tuple[ViewPlan, ...]:
    """Plan every view that a scan of the test can show, in the series' order; a view without a scan is left out.

    Pure: from the sizes in the records. A box in the test's scan overrules the series' own.
    """
    plans = []
    for view in views:
        scan = choose_scan(test, view)
        if scan is None:
            continue
        counterpart = None if reference is None else choose_scan(reference, view)
        plans.append(plan_view(scan, counterpart, view))
    return tuple(plans)


def choose_scan(test: Test, view: View) -> Scan | None:
    """Return the scan a view is cut from: of its kind, the first that has a box for it, else the first."""
    scans = [scan for scan in test.scans if scan.of == view.of]
    return next((scan for scan in scans if view.id in scan.boxes), scans[0] if scans else None)


def plan_view(scan: Scan, counterpart: Scan | None, view: View) -> ViewPlan:
    """Plan one view of one scan; `counterpart` is the reference's scan of the same view."""
    left, top, width, height = pixel_box(scan.boxes.get(view.id, view.box), scan.width_px, scan.height_px)
    lossless = view.shows != "tone"
    files: tuple[PictureFile, ...]
    if lossless:
        left, top, width, height = centred_cut(left, top, width, height)
        files = (PictureFile(suffix=".png", width_px=width, height_px=height, media_type="image/png"),)
    else:
        widest = width
        if counterpart is not None:
            box = counterpart.boxes.get(view.id, view.box)
            widest = min(width, pixel_box(box, counterpart.width_px, counterpart.height_px)[2])
        files = tone_files(width, height, widest_px=widest)
    pixels_per_mm = None if scan.pixels_per_mm is None else scan.pixels_per_mm * files[0].width_px / width
    return ViewPlan(
        view=view,
        scan=scan,
        left_px=left,
        top_px=top,
        width_px=width,
        height_px=height,
        files=files,
        lossless=lossless,
        pixels_per_mm=pixels_per_mm,
        scale_bar_mm=None if pixels_per_mm is None else round_length_mm(files[0].width_px / pixels_per_mm),
    )


def pixel_box(box: Box, width_px: int, height_px: int) -> tuple[int, int, int, int]:
    """Return left, top, width and height in pixels of a box in fractions: edges to the nearest pixel, never empty.

    >>> pixel_box(Box(x=0.25, y=0.5, w=0.5, h=0.5), 100, 50)
    (25, 25, 50, 25)
    """
    left = min(max(round(box.x * width_px), 0), width_px - 1)
    top = min(max(round(box.y * height_px), 0), height_px - 1)
    right = min(max(round((box.x + box.w) * width_px), left + 1), width_px)
    bottom = min(max(round((box.y + box.h) * height_px), top + 1), height_px)
    return left, top, right - left, bottom - top


def centred_cut(left_px: int, top_px: int, width_px: int, height_px: int) -> tuple[int, int, int, int]:
    """Shrink a region to what is published at 1:1, round the same centre.

    >>> centred_cut(100, 100, 1640, 200)
    (600, 100, 640, 200)
    """
    most_wide, most_high = LOSSLESS_MAX_PX
    width, height = min(width_px, most_wide), min(height_px, most_high)
    return left_px + (width_px - width) // 2, top_px + (height_px - height) // 2, width, height


def tone_files(width_px: int, height_px: int, *, widest_px: int) -> tuple[PictureFile, ...]:
    """Return the widths a tone view is published in, widest first, none wider than the region or `widest_px`.

    A step that is hardly smaller than the widest is left out: it would save a reader next to nothing.

    >>> [(file.suffix, file.height_px) for file in tone_files(1000, 500, widest_px=1000)]
    [('-1000.webp', 500), ('-640.webp', 320), ('-320.webp', 160)]
    >>> [file.suffix for file in tone_files(700, 500, widest_px=700)]
    ['-700.webp', '-320.webp']
    """
    widest = min(width_px, widest_px, TONE_WIDTHS_PX[0])
    widths = [widest, *(step for step in TONE_WIDTHS_PX if step * LEAST_STEP_RATIO <= widest)]
    return tuple(
        PictureFile(
            suffix=f"-{width}.webp",
            width_px=width,
            height_px=max(1, round(height_px * width / width_px)),
            media_type="image/webp",
        )
        for width in widths
    )


def round_length_mm(width_mm: float) -> float:
    """Return the length 1, 2 or 5 times a power of ten that comes nearest to a quarter of a width.

    >>> round_length_mm(1.9), round_length_mm(240.0)
    (0.5, 50.0)
    """
    aim = width_mm * SCALE_BAR_SHARE
    decade = math.floor(math.log10(aim))
    lengths = [float(f"{digit}e{decade + step}") for step in (0, 1) for digit in (1, 2, 5)]
    return min(lengths, key=lambda length: abs(math.log(length / aim)))
