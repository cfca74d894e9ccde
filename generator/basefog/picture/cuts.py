"""The files of a scan's views: what is read for each, and how it is encoded.

A cut at 1:1 keeps each pixel; 16-bit codes come to 8 bits by one rounding, v x 255/65535 to the nearest, for no screen
shows more. A calibrated negative too is shown as it was scanned: its densities are measured, not its picture altered.
Tone views are brought down from the full depth in floating point and rounded once at the end; a registered one is
resampled to the reference's geometry on the way, and what lies beyond the scan is left at the grey of the page's
surround. The files hold pixels alone: no camera, no place, no time, no colour profile.
"""

import math
from io import BytesIO
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from basefog.picture.views import ViewPlan, Warp
from basefog.records.content import Scan
from basefog.records.numbers import to_whole
from basefog.scanfiles import ROWS_IN_CACHE, GreyArray, Region, RegionCodes, average_blocks

WEBP_QUALITY: Final = 82
WEBP_METHOD: Final = 5
WEBP_MAX_PX: Final = 16383
"""Largest side the WebP container can hold (RFC 9649, section 2.5)."""

SURROUND_GREY: Final = 118
"""The neutral grey that pictures are shown on (8 bits), as the pages have it."""

REDUCING_GAP: Final = 3
"""A region is averaged by whole blocks down to this many times its aim before the Lanczos step."""


def region_of_cut(plan: ViewPlan) -> Region:
    """Return what is read for a view: as it is, or averaged already where its widest file is much smaller."""
    widest = plan.files[0]
    if plan.lossless:
        block = 1
    elif plan.warp is not None:
        # It is then sampled where it has one to three pixels for each of the file.
        block = int(_scan_px_per_px(plan.warp, widest.width_px) / 2)
    else:
        block = min(
            plan.width_px // (REDUCING_GAP * widest.width_px), plan.height_px // (REDUCING_GAP * widest.height_px)
        )
    return Region(
        left_px=plan.left_px,
        top_px=plan.top_px,
        width_px=plan.width_px,
        height_px=plan.height_px,
        block_px=max(1, block),
    )


def encode_cut(plan: ViewPlan, read: RegionCodes) -> dict[str, bytes]:
    """Return the files of a planned view by view id and suffix (`even.png`, `whole-640.webp`).

    Args:
        plan: the view.
        read: what its region (`region_of_cut`) holds.
    """
    block = region_of_cut(plan).block_px
    greys = _to_unit_range(read.codes, read.white, plan.scan)
    if plan.lossless:
        # A mirrored scan is shown from the reference's side: columns change places, no pixel is altered.
        seen = greys[:, ::-1] if plan.alignment is not None and plan.alignment.is_mirrored else greys
        return {plan.view.id + plan.files[0].suffix: encode_png(to_8_bit(seen))}
    if plan.warp is not None:
        greys = _warp(greys, plan, plan.warp, block)
    extent = (plan.width_px / block, plan.height_px / block) if plan.warp is None else greys.shape[::-1]
    return {
        plan.view.id + file.suffix: encode_webp(resize_area(greys, file.width_px, file.height_px, extent=extent))
        for file in plan.files
    }


def _scan_px_per_px(warp: Warp, width_px: int) -> float:
    return math.hypot(warp[0], warp[3]) / width_px


def _warp(region: GreyArray, plan: ViewPlan, warp: Warp, block: int) -> NDArray[np.float32]:
    """Return a view turned and scaled to the reference's geometry, sampled once, once or twice as wide as its file."""
    import cv2

    a, b, c, d, e, f = warp
    widest = plan.files[0]
    fold = max(1, to_whole(_scan_px_per_px(warp, widest.width_px) / block))
    width, height = fold * widest.width_px, fold * widest.height_px
    # From the middle of a pixel of the picture to the middle of one of the averaged region.
    to_region = np.array(
        [
            [a / width, b / height, (a / width + b / height) / 2 + c - plan.left_px],
            [d / width, e / height, (d / width + e / height) / 2 + f - plan.top_px],
        ]
    )
    to_region /= block
    to_region[:, 2] -= 0.5
    white = _white_of(region)
    warped = cv2.warpAffine(
        region.astype(np.float32, copy=False),
        to_region,
        (width, height),
        # What is sampled twice as wide is averaged afterwards, and the shorter filter shows nowhere.
        flags=(cv2.INTER_LANCZOS4 if fold == 1 else cv2.INTER_CUBIC) | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=SURROUND_GREY * white / 255.0,
    )
    greys: NDArray[np.float32] = np.asarray(warped, dtype=np.float32)
    if white != 1.0:
        greys *= np.float32(1.0 / white)
    return greys


def to_8_bit(codes: GreyArray) -> NDArray[np.uint8]:
    """Round code values to 8 bits, once: v x 255/65535 to the nearest for 16-bit, 0 to 1 for floating point.

    >>> to_8_bit(np.array([[0, 128, 129, 65535]], dtype=np.uint16)).tolist()
    [[0, 0, 1, 255]]
    """
    if codes.dtype == np.uint8:
        return np.ascontiguousarray(codes, dtype=np.uint8)
    if codes.dtype == np.uint16:
        return ((codes.astype(np.uint32) + 128) // 257).astype(np.uint8)
    return _round_greys(codes, 255.0)


def resize_area(
    region: GreyArray, width_px: int, height_px: int, *, extent: tuple[float, float] | None = None
) -> NDArray[np.uint8]:
    """Bring a region down to a size at full depth and round once to 8 bits; never enlarges.

    Whole blocks are averaged first where the region is much larger, then a Lanczos filter does the rest. `extent` is
    how far the region truly reaches, in its own pixels, where its last ones are partial.
    """
    from PIL import Image

    rows, columns = region.shape
    wide, high = extent or (float(columns), float(rows))
    if (wide, high) == (width_px, height_px):
        return to_8_bit(region)
    block = max(1, min(columns // (REDUCING_GAP * width_px), rows // (REDUCING_GAP * height_px)))
    # By bands, so that a large region is never held in floating point whole: across, a row hangs on itself alone.
    narrow = np.empty((-(-rows // block), width_px), np.float32)
    for top in range(0, narrow.shape[0], ROWS_IN_CACHE):
        averaged = average_blocks(region[top * block : (top + ROWS_IN_CACHE) * block], block)
        # Last blocks may be partial: the box ends where the region does, so that its geometry is kept.
        box = (0.0, 0.0, wide / block, float(averaged.shape[0]))
        size = (width_px, averaged.shape[0])
        narrow[top : top + ROWS_IN_CACHE] = Image.fromarray(averaged).resize(size, Image.Resampling.LANCZOS, box=box)
    box = (0.0, 0.0, float(width_px), high / block)
    small = Image.fromarray(narrow).resize((width_px, height_px), Image.Resampling.LANCZOS, box=box)
    return _round_greys(np.asarray(small), 255.0 / _white_of(region))


def _round_greys(codes: GreyArray, factor: float) -> NDArray[np.uint8]:
    """Return codes times a factor, rounded once to 0 to 255."""
    rounded = np.empty(codes.shape, np.uint8)
    for top in range(0, codes.shape[0], ROWS_IN_CACHE):
        greys = codes[top : top + ROWS_IN_CACHE].astype(np.float64)
        greys *= factor
        np.rint(greys, out=greys)
        rounded[top : top + ROWS_IN_CACHE] = np.clip(greys, 0.0, 255.0, out=greys)
    return rounded


def encode_png(grey: NDArray[np.uint8]) -> bytes:
    """Return a PNG of 8-bit greys: pixels and nothing else."""
    return _encode(grey, "PNG", optimize=True)


def encode_webp(grey: NDArray[np.uint8]) -> bytes:
    """Return a lossy WebP of 8-bit greys: pixels and nothing else.

    Raises ValueError where a side is longer than the format can hold.
    """
    if max(grey.shape) > WEBP_MAX_PX:
        msg = f"picture of {grey.shape[1]} x {grey.shape[0]} pixels is longer than {WEBP_MAX_PX}"
        raise ValueError(msg)
    return _encode(grey, "WEBP", quality=WEBP_QUALITY, method=WEBP_METHOD)


def _to_unit_range(codes: GreyArray, white: float | None, scan: Scan) -> GreyArray:
    """Bring floating-point codes to 0 to 1: means by the depth, a scan's own by the range that it is calibrated in."""
    if codes.dtype != np.float32:
        return codes
    if white is not None:
        return (codes / white).astype(np.float32, copy=False)
    low, high = (scan.code_density[0][0], scan.code_density[-1][0]) if scan.code_density else (0.0, 1.0)
    return ((codes - low) / ((high - low) or 1.0)).astype(np.float32)


def _white_of(codes: GreyArray) -> float:
    return {"uint8": 255.0, "uint16": 65535.0}.get(codes.dtype.name, 1.0)


def _encode(grey: NDArray[np.uint8], kind: str, **options: Any) -> bytes:
    from PIL import Image

    out = BytesIO()
    Image.fromarray(grey).save(out, kind, **options)
    return out.getvalue()
