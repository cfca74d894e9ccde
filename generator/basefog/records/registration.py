"""How a scan lies against the reference's scan of the same kind, or why that could not be found."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Alignment:
    """Where each point of the reference's scan lies on another scan: shift, turn and scale, perhaps a mirror.

    `to_scan` is (a, b, c, d, e, f): the reference's point (x, y) is the scan's (a x + b y + c, d x + e y + f), both in
    pixels from the upper left corner, so that the middle of the first pixel is (0.5, 0.5).

    `correlation` is that of the two pictures laid on one another, local contrast evened out, 0 to 1. `right_px` and
    `down_px` say how far the subject stands from where the reference has it, at the reference's scale, both seen from
    the scan's middle; `rotation_deg` is clockwise; `scale_ratio` is how much larger the subject is, after the scans'
    resolutions are taken out. `is_inverted`: light and dark are exchanged; `is_mirrored`: left and right are.
    """

    to_scan: tuple[float, float, float, float, float, float]
    correlation: float
    right_px: float
    down_px: float
    rotation_deg: float
    scale_ratio: float
    is_inverted: bool = False
    is_mirrored: bool = False

    def place(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point of the reference's scan lies on this one, in pixels."""
        a, b, c, d, e, f = self.to_scan
        return a * x + b * y + c, d * x + e * y + f

    @property
    def scan_px_per_reference_px(self) -> float:
        """How many pixels of this scan one pixel of the reference's takes, along a side."""
        a, b, _, d, e, _ = self.to_scan
        return float(abs(a * e - b * d) ** 0.5)


@dataclass(frozen=True, kw_only=True, slots=True)
class Refusal:
    """Why a scan was not aligned, to be read after the scan's name, and what to do about it."""

    message: str
    mend: str = "Scan it again as the reference's was"
