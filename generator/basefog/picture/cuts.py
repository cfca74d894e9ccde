"""The files of a scan's views: one decode, then every cut of it encoded.

A cut at 1:1 keeps each pixel; 16-bit codes come to 8 bits by one rounding, v x 255/65535 to the nearest, for no screen
shows more. A calibrated negative too is shown as it was scanned: its densities are measured, not its picture altered.
Tone views are brought down from the full depth in floating point and rounded once at the end; a registered one is
resampled to the reference's geometry on the way, and what lies beyond the scan is left at the grey of the page's
surround. The files hold pixels alone: no camera, no place, no time, no colour profile.
"""

import math
from collections.abc import Iterable
from io import BytesIO
from os import PathLike
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from basefog.picture.blocks import average_blocks
from basefog.picture.scans import GreyArray, NamedFile, decode_scan
from basefog.picture.views import ViewPlan

WEBP_QUALITY: Final = 82
WEBP_METHOD: Final = 5
WEBP_MAX_PX: Final = 16383
"""Largest side the WebP container can hold (RFC 9649, section 2.5)."""

SURROUND_GREY: Final = 118
"""The neutral grey that pictures are shown on (8 bits), as the pages have it."""

REDUCING_GAP: Final = 3
"""A region is averaged by whole blocks down to this many times its aim before the Lanczos step."""


def cut_scan(scan: str | PathLike[str] | NamedFile, plans: Iterable[ViewPlan]) -> dict[str, bytes]:
    """Return the files of all planned views of one scan, by view id and suffix (`even.png`, `whole-640.webp`).

    Raises ValueError where the scan can't be decoded or is not of the size that was planned with.
    """
    codes = decode_scan(scan)
    made: dict[str, bytes] = {}
    for plan in plans:
        if codes.shape != (plan.scan.height_px, plan.scan.width_px):
            msg = (
                f"scan is {codes.shape[1]} x {codes.shape[0]} pixels, "
                f"planned with {plan.scan.width_px} x {plan.scan.height_px}"
            )
            raise ValueError(msg)
        region = codes[plan.top_px : plan.top_px + plan.height_px, plan.left_px : plan.left_px + plan.width_px]
        if region.dtype == np.float32:
            region = _to_unit_range(region, plan.scan.code_density)
        if plan.lossless:
            # A mirrored scan is shown from the reference's side: columns change places, no pixel is altered.
            seen = region[:, ::-1] if plan.alignment is not None and plan.alignment.is_mirrored else region
            made[plan.view.id + plan.files[0].suffix] = encode_png(to_8_bit(seen))
            continue
        seen = region if plan.warp is None else warp_region(region, plan)
        for file in plan.files:
            grey = resize_area(seen, file.width_px, file.height_px)
            made[plan.view.id + file.suffix] = encode_webp(grey)
    return made


def warp_region(region: GreyArray, plan: ViewPlan) -> NDArray[np.float32]:
    """Return a view's region turned and scaled to the reference's geometry, once to twice as wide as its widest file.

    The region is first averaged by blocks that leave at least two pixels for one of that file; a Lanczos filter then
    samples it once. Codes come to 0 to 1.
    """
    import cv2

    if plan.warp is None:
        msg = f"view {plan.view.id} is not to be warped"
        raise ValueError(msg)
    a, b, c, d, e, f = plan.warp
    widest = plan.files[0]
    scan_px_per_px = math.hypot(a, d) / widest.width_px
    block = max(1, int(scan_px_per_px / 2))
    fold = max(1, round(scan_px_per_px / block))
    width, height = fold * widest.width_px, fold * widest.height_px
    # From the middle of a pixel of the picture to the middle of one of the averaged region.
    across, down = 1.0 / (width * block), 1.0 / (height * block)
    to_region = np.array(
        [
            [a * across, b * down, (a / width + b / height) / 2 / block + (c - plan.left_px) / block - 0.5],
            [d * across, e * down, (d / width + e / height) / 2 / block + (f - plan.top_px) / block - 0.5],
        ]
    )
    white = {"uint8": 255.0, "uint16": 65535.0}.get(region.dtype.name, 1.0)
    warped = cv2.warpAffine(
        average_blocks(region, block),
        to_region,
        (width, height),
        flags=cv2.INTER_LANCZOS4 | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=SURROUND_GREY * white / 255.0,
    )
    codes: NDArray[np.float32] = np.clip(np.asarray(warped, dtype=np.float32) * np.float32(1.0 / white), 0.0, 1.0)
    return codes


def to_8_bit(codes: GreyArray) -> NDArray[np.uint8]:
    """Round code values to 8 bits, once: v x 255/65535 to the nearest for 16-bit, 0 to 1 for floating point.

    >>> to_8_bit(np.array([[0, 128, 129, 65535]], dtype=np.uint16)).tolist()
    [[0, 0, 1, 255]]
    """
    if codes.dtype == np.uint8:
        return np.ascontiguousarray(codes, dtype=np.uint8)
    if codes.dtype == np.uint16:
        return ((codes.astype(np.uint32) + 128) // 257).astype(np.uint8)
    rounded: NDArray[np.uint8] = np.rint(np.clip(codes.astype(np.float64), 0.0, 1.0) * 255.0).astype(np.uint8)
    return rounded


def resize_area(region: GreyArray, width_px: int, height_px: int) -> NDArray[np.uint8]:
    """Bring a region down to a size at full depth and round once to 8 bits; never enlarges.

    Whole blocks are averaged first where the region is much larger, then a Lanczos filter does the rest.
    """
    from PIL import Image

    rows, columns = region.shape
    if (columns, rows) == (width_px, height_px):
        return to_8_bit(region)
    block = max(1, min(columns // (REDUCING_GAP * width_px), rows // (REDUCING_GAP * height_px)))
    averaged = average_blocks(region, block)
    # Last blocks may be partial: the box ends where the region does, so that its geometry is kept.
    box = (0.0, 0.0, columns / block, rows / block)
    small = Image.fromarray(averaged).resize((width_px, height_px), Image.Resampling.LANCZOS, box=box)
    white = {"uint8": 255.0, "uint16": 65535.0}.get(region.dtype.name, 1.0)
    greys = np.asarray(small, dtype=np.float64) * (255.0 / white)
    rounded: NDArray[np.uint8] = np.rint(np.clip(greys, 0.0, 255.0)).astype(np.uint8)
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


def _to_unit_range(codes: GreyArray, code_density: tuple[tuple[float, float], ...] | None) -> NDArray[np.float32]:
    """Bring floating-point codes to 0 to 1 over the range they are calibrated in; without one they are taken to be."""
    low, high = (code_density[0][0], code_density[-1][0]) if code_density else (0.0, 1.0)
    return ((codes - low) / ((high - low) or 1.0)).astype(np.float32)


def _encode(grey: NDArray[np.uint8], kind: str, **options: Any) -> bytes:
    from PIL import Image

    out = BytesIO()
    Image.fromarray(grey).save(out, kind, **options)
    return out.getvalue()
