"""Where each view is cut from a test's scans and which files that makes: planned from the records, nothing decoded.

A view's box stands on the reference's first scan of its kind. On every other scan it is where the registration says
(`Scan.registration`, found beforehand from the pixels); a box that the test gives itself is taken as it is.

Views that show grain or sharpness are published pixel for pixel: cut parallel to the scan's own pixels round the
registered centre, at most `LOSSLESS_MAX_PX`, as 8-bit PNG. Their sides follow the scans' resolutions and not the
subject's size, so that every stock shows the same length of film.

Views that show tone are brought to the reference's geometry, in the reference's own sizes: laid over one another, two
stocks show the same point at the same pixel. `pixels_per_mm` and the scale bar stay those of the thing scanned.
"""

import math
from dataclasses import dataclass
from typing import Final, TypeAlias

from basefog.records.content import Box, Scan, Test, View
from basefog.records.numbers import settle, to_whole
from basefog.records.registration import Alignment, Refusal

PixelBox: TypeAlias = tuple[int, int, int, int]
"""Left, top, width and height."""

Warp: TypeAlias = tuple[float, float, float, float, float, float]
"""(a, b, c, d, e, f): the point (u, v) of a view, 0 to 1 each way, is the scan's (a u + b v + c, d u + e v + f)."""

LOSSLESS_MAX_PX: Final = (640, 480)
"""Largest cut at 1:1, width and height: fills a phone's screen and stays a few hundred kilobytes."""

TONE_WIDTHS_PX: Final = (1280, 640, 320)
LEAST_STEP_RATIO: Final = 1.4
LEAST_SHOWN_SHARE: Final = 0.5
"""A tone view of which a scan shows less than this share is left out."""
MARGIN_PX: Final = 8
"""What the resampling filter may reach beyond a view, before the scan is made smaller."""
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

    `alignment` is how the scan lies against the reference's, None on the reference's own and where a box was given by
    hand. `warp` is set where the view has to be turned or scaled; the region is then what it is made from.
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
    alignment: Alignment | None = None
    warp: Warp | None = None


def plan_views(test: Test, reference: Test | None, views: tuple[View, ...]) -> tuple[ViewPlan, ...]:
    """Plan every view that a scan of the test can show, in the series' order; what none can show is left out.

    Pure: from what stands in the records. A box in the test's scan overrules registration and the series' own.
    """
    plans = []
    for view in views:
        scan = choose_scan(test, view)
        plan = None if scan is None else plan_view(scan, first_scan(reference, view), view)
        if plan is not None:
            plans.append(plan)
    return tuple(plans)


def choose_scan(test: Test, view: View) -> Scan | None:
    """Return the scan a view is cut from: of its kind, the first that has a box for it, else the first."""
    scans = [scan for scan in test.scans if scan.of == view.of]
    return next((scan for scan in scans if view.id in scan.boxes), scans[0] if scans else None)


def first_scan(reference: Test | None, view: View) -> Scan | None:
    """Return the reference's scan on which a view's box stands: the first of its kind."""
    return next((scan for scan in reference.scans if scan.of == view.of), None) if reference is not None else None


def box_on_scan(view: View, scan: Scan, reference: Scan | None) -> PixelBox | None:
    """Return where a view lies on a scan, parallel to its pixels, whole; None where it is not known or not on it.

    Args:
        view: the view; its box stands on `reference`.
        scan: the scan, with its registration.
        reference: the reference's first scan of the view's kind, None where there is none.
    """
    alignment = _alignment_for(view, scan, reference)
    if isinstance(alignment, Refusal):
        return None
    if alignment is None or reference is None:
        return pixel_box(scan.boxes.get(view.id, view.box), scan.width_px, scan.height_px)
    left, top, width, height = _box_on_reference(view, reference)
    ratio = nominal_ratio(scan, reference)
    x, y = alignment.place(left + width / 2, top + height / 2)
    across, down = max(1, to_whole(width * ratio)), max(1, to_whole(height * ratio))
    box = (to_whole(x - across / 2), to_whole(y - down / 2), across, down)
    inside = box[0] >= 0 and box[1] >= 0 and box[0] + across <= scan.width_px and box[1] + down <= scan.height_px
    return box if inside else None


def nominal_ratio(scan: Scan, reference: Scan, *, is_sideways: bool = False) -> float:
    """Return how many pixels of a scan one of the reference's takes, by their resolutions, else by their widths.

    `is_sideways` takes the scan to lie on its side, so that its height is the subject's width.
    """
    if scan.pixels_per_mm is not None and reference.pixels_per_mm is not None:
        return scan.pixels_per_mm / reference.pixels_per_mm
    return (scan.height_px if is_sideways else scan.width_px) / reference.width_px


def needs_registration(view: View, scan: Scan, reference: Scan | None) -> bool:
    """Tell whether a view of a scan is cut where a registration says."""
    return reference is not None and view.id not in scan.boxes and scan.sha256 != reference.sha256


def plan_view(scan: Scan, reference: Scan | None, view: View) -> ViewPlan | None:
    """Plan one view of one scan, None where it can't be shown; `reference` is what the view's box stands on."""
    alignment = _alignment_for(view, scan, reference)
    if isinstance(alignment, Refusal):
        return None
    if view.shows != "tone":
        return _plan_lossless(view, scan, reference, alignment)
    if alignment is None or reference is None:
        return _plan_tone_as_it_lies(view, scan, reference)
    return _plan_registered_tone(view, scan, reference, alignment)


def _plan_lossless(view: View, scan: Scan, reference: Scan | None, alignment: Alignment | None) -> ViewPlan | None:
    box = box_on_scan(view, scan, reference)
    if box is None:
        return None
    left, top, width, height = centred_cut(*box)
    files = (PictureFile(suffix=".png", width_px=width, height_px=height, media_type="image/png"),)
    return _plan(view, scan, (left, top, width, height), files=files, scan_px_per_px=1.0, alignment=alignment)


def _plan_tone_as_it_lies(view: View, scan: Scan, reference: Scan | None) -> ViewPlan:
    box = pixel_box(scan.boxes.get(view.id, view.box), scan.width_px, scan.height_px)
    widest = box[2] if reference is None else min(box[2], _box_on_reference(view, reference)[2])
    files = tone_files(box[2], box[3], widest_px=widest)
    return _plan(view, scan, box, files=files, scan_px_per_px=box[2] / files[0].width_px)


def _plan_registered_tone(view: View, scan: Scan, reference: Scan, alignment: Alignment) -> ViewPlan | None:
    left, top, width, height = _box_on_reference(view, reference)
    files = tone_files(width, height, widest_px=width)
    a, b, _, d, e, _ = alignment.to_scan
    x, y = alignment.place(left, top)
    warp = (a * width, b * height, x, d * width, e * height, y)
    region = _region_of(warp, scan)
    if region is None:
        return None
    scan_px_per_px = alignment.scan_px_per_reference_px * width / files[0].width_px
    return _plan(view, scan, region, files=files, scan_px_per_px=scan_px_per_px, alignment=alignment, warp=warp)


def _plan(
    view: View,
    scan: Scan,
    box: PixelBox,
    *,
    files: tuple[PictureFile, ...],
    scan_px_per_px: float,
    alignment: Alignment | None = None,
    warp: Warp | None = None,
) -> ViewPlan:
    pixels_per_mm = None if scan.pixels_per_mm is None else scan.pixels_per_mm / scan_px_per_px
    left, top, width, height = box
    return ViewPlan(
        view=view,
        scan=scan,
        left_px=left,
        top_px=top,
        width_px=width,
        height_px=height,
        files=files,
        lossless=view.shows != "tone",
        pixels_per_mm=pixels_per_mm,
        scale_bar_mm=None if pixels_per_mm is None else round_length_mm(files[0].width_px / pixels_per_mm),
        alignment=alignment,
        warp=warp,
    )


def _alignment_for(view: View, scan: Scan, reference: Scan | None) -> Alignment | Refusal | None:
    return scan.registration if needs_registration(view, scan, reference) else None


def _box_on_reference(view: View, reference: Scan) -> PixelBox:
    return pixel_box(reference.boxes.get(view.id, view.box), reference.width_px, reference.height_px)


def _region_of(warp: Warp, scan: Scan) -> PixelBox | None:
    """Return what a warped view is made from: its corners' bounds and a margin; None where most of it is not there."""
    a, b, c, d, e, f = warp
    grid = [((column + 0.5) / 16, (row + 0.5) / 16) for row in range(16) for column in range(16)]
    places = [(a * u + b * v + c, d * u + e * v + f) for u, v in grid]
    inside = sum(0 <= x <= scan.width_px and 0 <= y <= scan.height_px for x, y in places)
    if inside < LEAST_SHOWN_SHARE * len(places):
        return None
    xs = [settle(x, 1) for x in (c, c + a, c + b, c + a + b)]
    ys = [settle(y, 1) for y in (f, f + d, f + e, f + d + e)]
    left, right = max(0, math.floor(min(xs)) - MARGIN_PX), min(scan.width_px, math.ceil(max(xs)) + MARGIN_PX)
    top, bottom = max(0, math.floor(min(ys)) - MARGIN_PX), min(scan.height_px, math.ceil(max(ys)) + MARGIN_PX)
    return left, top, right - left, bottom - top


def pixel_box(box: Box, width_px: int, height_px: int) -> PixelBox:
    """Return left, top, width and height in pixels of a box in fractions: edges to the nearest pixel, never empty.

    >>> pixel_box(Box(x=0.25, y=0.5, w=0.5, h=0.5), 100, 50)
    (25, 25, 50, 25)
    """
    left = min(max(to_whole(box.x * width_px), 0), width_px - 1)
    top = min(max(to_whole(box.y * height_px), 0), height_px - 1)
    right = min(max(to_whole((box.x + box.w) * width_px), left + 1), width_px)
    bottom = min(max(to_whole((box.y + box.h) * height_px), top + 1), height_px)
    return left, top, right - left, bottom - top


def centred_cut(left_px: int, top_px: int, width_px: int, height_px: int) -> PixelBox:
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
            height_px=max(1, to_whole(height_px * width / width_px)),
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
