"""The small curve of a table row: a test's curve over the reference's, without words or axes."""

from typing import Final

from basefog.picture.charts.pair import companion_of
from basefog.picture.charts.svg import polyline, thin
from basefog.records.content import FloatArray
from basefog.records.findings import Curve, TestFindings

WIDTH_PX: Final = 96.0
HEIGHT_PX: Final = 60.0
MARGIN_PX: Final = 3.0
UNIT_PX: Final = 26.0
"""Pixels a log unit, both ways, in every row: curves of two rows compare by eye. Only a curve too large for the
picture is drawn smaller."""
TOLERANCE_PX: Final = 0.2
"""How far a drawn line may be from the curve: a tenth of its own width."""


def draw_small_curve(test: TestFindings, reference: TestFindings | None) -> str:
    """Return a test's curve and the reference's as a small SVG for a page, hidden from readers who have its numbers.

    Empty where the test has no curve. A thousand of them stand in one page, so they carry no paint: the theme's style
    sheet paints `.chart-small`, its paths of class `reference` and the other.
    """
    if test.curve is None:
        return ""
    companion = companion_of(test, reference, name="")
    drawn: list[tuple[str, Curve, float]] = [("", test.curve, 0.0)]
    if companion.curve is not None:
        drawn.insert(0, (' class="reference"', companion.curve, companion.shift))
    first = min(float(curve.log_exposure[0]) + shift for _, curve, shift in drawn)
    last = max(float(curve.log_exposure[-1]) + shift for _, curve, shift in drawn)
    top = max(float(curve.density.max()) for _, curve, _ in drawn)
    unit_px = min(UNIT_PX, (WIDTH_PX - 2 * MARGIN_PX) / (last - first), (HEIGHT_PX - 2 * MARGIN_PX) / max(top, 0.01))
    left_px = (WIDTH_PX - unit_px * (last - first)) / 2
    base_px = HEIGHT_PX - MARGIN_PX
    paths = []
    for kind, curve, shift in drawn:
        x_px = left_px + (curve.log_exposure + shift - first) * unit_px
        paths.append(f'<path{kind} d="{_path(x_px, base_px - curve.density * unit_px)}"/>')
    head = f'<svg class="chart-small" viewBox="0 0 {WIDTH_PX:g} {HEIGHT_PX:g}" aria-hidden="true">'
    return f"{head}{''.join(paths)}</svg>"


def _path(x_px: FloatArray, y_px: FloatArray) -> str:
    return polyline(thin(list(zip(x_px.tolist(), y_px.tolist(), strict=True)), tolerance_px=TOLERANCE_PX))
