"""Control strips: every batch's densities against the limits that the other batches set."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from basefog.picture.charts.curve import join_words
from basefog.picture.charts.labels import Spot
from basefog.picture.charts.pair import empty_picture
from basefog.picture.charts.plot import RIGHT_PX, Plot, with_own_settings
from basefog.picture.charts.scale import Scale
from basefog.picture.charts.style import WIDTH_PX
from basefog.records.findings import BatchFinding
from basefog.records.numbers import format_number, round_to

LEFT_PX: Final = 44.0
TOP_PX: Final = 56.0
ROW_PX: Final = 92.0
ROW_GAP_PX: Final = 30.0
LEAST_REACH: Final = 0.03
"""Least density that a row shows on either side of its middle."""


@with_own_settings
def draw_control_strip_chart(batches: Sequence[BatchFinding], *, batch: str | None = None) -> str:
    """Return a row a step of the strip: density by batch, with the 2- and 3-sigma limits of the other batches.

    `batch` marks one batch, that of a test; batches beyond 3 sigma are named.
    """
    title = "Control strips" if batch is None else f"Control strips, batch {batch}"
    description = describe_control_strip_chart(batches, batch=batch)
    test = batch or "all"
    if not batches:
        return empty_picture("control-strip", test, title=title, why=description)
    steps = list(dict.fromkeys(finding.strip_step for finding in batches))
    ids = sorted({finding.batch for finding in batches})
    scale = Scale(
        x0=-0.5,
        x1=len(ids) - 0.5,
        y0=0.0,
        y1=1.0,
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        bottom_px=TOP_PX + (ROW_PX + ROW_GAP_PX) * len(steps) - ROW_GAP_PX,
    )
    plot = Plot(scale)
    _draw_key(plot, batches, batch)
    for index, step in enumerate(steps):
        row = {finding.batch: finding for finding in batches if finding.strip_step == step}
        _draw_row(plot, step, [row.get(name) for name in ids], TOP_PX + (ROW_PX + ROW_GAP_PX) * index, batch)
    for index, anchor in ((0, "start"), (len(ids) - 1, "end")):
        edge_px = scale.left_px if anchor == "start" else scale.right_px
        plot.write("tick", Spot(x_px=edge_px, y_px=scale.bottom_px + 18, anchor=anchor), ids[index])
    plot.write("unit", Spot(x_px=scale.right_px, y_px=scale.bottom_px + 36, anchor="end"), "batch")
    return plot.render(chart="control-strip", test=test, title=title, description=description)


def describe_control_strip_chart(batches: Sequence[BatchFinding], *, batch: str | None = None) -> str:
    """Return how many batches are beyond which limit, in a sentence or two."""
    if not batches:
        return "No control strip was read."
    count = len({finding.batch for finding in batches})
    said = f"Control strips of {count} {'batch' if count == 1 else 'batches'}"
    if all(finding.sigma is None for finding in batches):
        return f"{said}; limits are drawn from seven batches on."
    beyond = sorted({finding.batch for finding in batches if finding.beyond_3_sigma})
    said += (
        f"; beyond 3 sigma of the others: {join_words(beyond)}." if beyond else "; none beyond 3 sigma of the others."
    )
    own = [finding for finding in batches if finding.batch == batch]
    if own:
        densities = [f"{finding.strip_step} {format_number(finding.density, 2)}" for finding in own]
        said += f" Batch {batch} reads {join_words(densities)}."
    return said


def _draw_key(plot: Plot, batches: Sequence[BatchFinding], batch: str | None) -> None:
    entries = [("other-step", "key", "batch")]
    if batch is not None:
        entries = [("stock-point", "stock-label", "this batch"), ("other-step", "key", "others")]
    if any(finding.sigma is not None for finding in batches):
        entries += [("limit", "key", "2 sigma"), ("far-limit", "key", "3 sigma of the others")]
    plot.legend(entries, y_px=20.0)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Row:
    """One step of the strip: its batches in order with their places across, and its own range of density."""

    read: tuple[tuple[float, BatchFinding], ...]
    half_px: float
    top_px: float
    middle: float
    reach: float

    def y_px(self, density: float) -> float:
        """Return where a density stands down."""
        return self.top_px + ROW_PX / 2 - (density - self.middle) / self.reach * ROW_PX / 2

    def limit(self, sigmas: float) -> list[tuple[float, float]]:
        """Return the line of a limit: level over each batch that has one, for it is set by the others."""
        return [
            (x_px + side * self.half_px, self.y_px(finding.mean + sigmas * finding.sigma))
            for x_px, finding in self.read
            if finding.mean is not None and finding.sigma is not None
            for side in (-1, 1)
        ]


def _draw_row(plot: Plot, step: str, findings: Sequence[BatchFinding | None], top_px: float, batch: str | None) -> None:
    """Draw one step of the strip: a frame of its own range, limits, and a ring a batch."""
    read = tuple((plot.scale.x_px(index), finding) for index, finding in enumerate(findings) if finding is not None)
    middle, reach = _range([finding for _, finding in read])
    left_px, right_px = plot.scale.left_px, plot.scale.right_px
    row = _Row(
        read=read,
        half_px=(right_px - left_px) / len(findings) / 2,
        top_px=top_px,
        middle=middle,
        reach=reach,
    )
    plot.write("unit", Spot(x_px=left_px, y_px=top_px - 7), step)
    for density in (middle - reach, middle, middle + reach):
        y_px = row.y_px(density)
        plot.pixel_line([(left_px, y_px), (right_px, y_px)], "grid")
        plot.write("tick", Spot(x_px=left_px - 6, y_px=y_px + 4.5, anchor="end"), format_number(density, 2))
    if row.limit(0):
        plot.pixel_area([*row.limit(2), *reversed(row.limit(-2))], "limit")
        for sigmas in (-3, 3):
            plot.pixel_line(row.limit(sigmas), "far-limit")
    others = [(x_px, row.y_px(finding.density)) for x_px, finding in read if finding.batch != batch]
    if others:
        plot.rings(others, "other-step")
    for x_px, finding in read:
        if finding.batch == batch:
            plot.points([(x_px, row.y_px(finding.density))], "stock-point")


def _range(read: Sequence[BatchFinding]) -> tuple[float, float]:
    """Return the middle of a row and how far it reaches on either side, both to a hundredth."""
    values = [finding.density for finding in read]
    for finding in read:
        if finding.mean is not None and finding.sigma is not None:
            values += [finding.mean - 3 * finding.sigma, finding.mean + 3 * finding.sigma]
    middle = round_to((min(values) + max(values)) / 2, 2)
    reach = max(max(values) - middle, middle - min(values), LEAST_REACH)
    return middle, round_to(reach + 0.01, 2)
