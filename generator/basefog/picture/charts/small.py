"""The small curve of a table row: a test's curve over the reference's, without words or axes."""

from typing import Final

from basefog.picture.charts.pair import companion_of
from basefog.picture.charts.svg import Mark, polyline, render_marks, thin
from basefog.records.content import FloatArray
from basefog.records.findings import Curve, TestFindings

WIDTH_PX: Final = 96.0
HEIGHT_PX: Final = 60.0
MARGIN_PX: Final = 3.0
UNIT_PX: Final = 26.0
"""Pixels a log unit, both ways, in every row: curves of two rows compare by eye. Only a curve too large for the
picture is drawn smaller."""


def draw_small_curve(test: TestFindings, reference: TestFindings | None) -> str:
    """Return a test's curve and the reference's as a small SVG, hidden from readers who have the table's numbers."""
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart chart-small" aria-hidden="true" '
        f'viewBox="0 0 {WIDTH_PX:g} {HEIGHT_PX:g}" width="{WIDTH_PX:g}" height="{HEIGHT_PX:g}">'
    )
    if test.curve is None:
        return f"{head}</svg>"
    companion = companion_of(test, reference, name="")
    drawn: list[tuple[str, Curve, float]] = [("stock-curve", test.curve, 0.0)]
    if companion.curve is not None:
        drawn.insert(0, ("reference-curve", companion.curve, companion.shift))
    first = min(float(curve.log_exposure[0]) + shift for _, curve, shift in drawn)
    last = max(float(curve.log_exposure[-1]) + shift for _, curve, shift in drawn)
    top = max(float(curve.density.max()) for _, curve, _ in drawn)
    unit_px = min(UNIT_PX, (WIDTH_PX - 2 * MARGIN_PX) / (last - first), (HEIGHT_PX - 2 * MARGIN_PX) / max(top, 0.01))
    left_px = (WIDTH_PX - unit_px * (last - first)) / 2
    base_px = HEIGHT_PX - MARGIN_PX
    marks = [Mark(kind="axis", path=f"M{MARGIN_PX:g} {base_px:g}H{WIDTH_PX - MARGIN_PX:g}")]
    for kind, curve, shift in drawn:
        x_px = left_px + (curve.log_exposure + shift - first) * unit_px
        marks.append(Mark(kind=kind, path=_path(x_px, base_px - curve.density * unit_px)))
    return f"{head}{render_marks(marks)}</svg>"


def _path(x_px: FloatArray, y_px: FloatArray) -> str:
    return polyline(thin(list(zip(x_px.tolist(), y_px.tolist(), strict=True))))
