"""An empty chart for a page's script to draw curves into: its groups of marks, in their order, with nothing in them."""

from typing import Final

from basefog.picture.charts.style import MARKS, TEXT_PX, WIDTH_PX

WHOSE: Final = ("other", "reference", "stock")
"""Whose marks there are, those drawn first and so lying undermost first."""

KINDS: Final = (
    "grid",
    "axis",
    "tick",
    "unit",
    *(f"{whose}-{kind}" for kind in ("band", "level", "curve", "point", "label") for whose in WHOSE),
)
"""Marks of the chart, the undermost first."""

HEIGHT_PX: Final = 400.0


def draw_blank_chart() -> str:
    """Return a chart of characteristic curves without its curves, to be filled by `curves.js`.

    The script finds every group by its class, so that dashes and colours are those of every other chart; it sets the
    view box, the scale (`data-x`, `data-y`, `data-x-name`) and the label.
    """
    groups = "".join(f'<g class="mark-{kind}"{_attributes(kind)}></g>' for kind in KINDS)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" class="chart chart-curve" role="img"'
        ' aria-label="Characteristic curves"'
        f' viewBox="0 0 {WIDTH_PX} {HEIGHT_PX:g}" font-size="{TEXT_PX:g}" data-y-name="density">{groups}</svg>'
    )


def _attributes(kind: str) -> str:
    return "".join(f' {name}="{value}"' for name, value in MARKS[kind].items())
