"""How every chart looks: the key colours, and the marks that are drawn with them.

A chart names no colour: its marks are painted with custom properties, so that a chart inside a page follows the page
from light to dark. `CHART_STYLE` holds the values for a file that stands alone, and the theme takes them over.

The stock is a solid accent line, its points round. The reference is, in every chart on every page, a thin ink line
with long and short dashes, its points diamonds, its band grey. So the two are told apart without colour too. Where two
stocks stand beside each other and neither is the reference, the second (`other`) is a dotted ink line, its points
squares.
"""

from typing import Final

CHART_STYLE: Final[dict[str, tuple[str, str]]] = {
    "--paper": ("#fdfdfd", "#0d0d0d"),
    "--ink": ("#141414", "#e2e2e2"),
    "--muted": ("#565656", "#a6a6a6"),
    "--rule": ("#dcdcdc", "#303030"),
    "--accent": ("#9a3a0c", "#f68a4b"),
}
"""Custom properties that charts are painted with: the light value, the dark value.

`--paper` lies under everything, `--ink` is text and the reference, `--muted` is what belongs to the axes, `--rule` the
grid, `--accent` the stock. On paper, ink, muted and accent keep a contrast of 4.5 to 1 or more for text (WCAG 2.2,
success criterion 1.4.3).
"""

WIDTH_PX: Final = 480
"""Nominal width of a chart; on a phone of 358 px its text still measures about 10 px."""

TEXT_PX: Final = 14.0
SMALL_TEXT_PX: Final = 13.0

REFERENCE_DASHES: Final = "11 3 3 3"

_TEXT: Final = {
    # A rim of paper keeps letters clear of the grid lines they cross.
    "stroke": "var(--paper)",
    "stroke-width": "4",
    "stroke-linejoin": "round",
    "paint-order": "stroke",
}

MARKS: Final[dict[str, dict[str, str]]] = {
    "grid": {"fill": "none", "stroke": "var(--rule)", "stroke-width": "1"},
    "axis": {"fill": "none", "stroke": "var(--ink)", "stroke-width": "1"},
    "tick": {"fill": "var(--muted)", "font-size": f"{SMALL_TEXT_PX:g}"},
    "unit": {"fill": "var(--ink)", "font-size": f"{SMALL_TEXT_PX:g}"},
    "note": {"fill": "var(--muted)", "font-size": f"{SMALL_TEXT_PX:g}"},
    "range": {"fill": "none", "stroke": "var(--muted)", "stroke-width": ".8", "stroke-dasharray": "1 3"},
    "eye": {"fill": "none", "stroke": "var(--muted)", "stroke-width": "2"},
    "name": {"fill": "var(--ink)"},
    "key": {"fill": "var(--muted)", **_TEXT},
    "reference-band": {"fill": "var(--ink)", "fill-opacity": ".13"},
    "stock-band": {"fill": "var(--accent)", "fill-opacity": ".2"},
    "reference-level": {
        "fill": "none",
        "stroke": "var(--ink)",
        "stroke-width": ".8",
        "stroke-dasharray": REFERENCE_DASHES,
    },
    "stock-level": {"fill": "none", "stroke": "var(--accent)", "stroke-width": ".8"},
    "reference-curve": {
        "fill": "none",
        "stroke": "var(--ink)",
        "stroke-width": "1.4",
        "stroke-dasharray": REFERENCE_DASHES,
        "stroke-linejoin": "round",
    },
    "stock-curve": {
        "fill": "none",
        "stroke": "var(--accent)",
        "stroke-width": "2.2",
        "stroke-linejoin": "round",
        "stroke-linecap": "round",
    },
    "stock-line": {
        "fill": "none",
        "stroke": "var(--accent)",
        "stroke-width": "1",
        "stroke-linejoin": "round",
    },
    "stock-reading": {"fill": "none", "stroke": "var(--accent)", "stroke-width": "4", "stroke-linecap": "round"},
    "left-out": {"fill": "none", "stroke": "var(--ink)", "stroke-width": "1.6", "stroke-linecap": "round"},
    "stock-step": {"fill": "none", "stroke": "var(--accent)", "stroke-width": "6", "stroke-linecap": "round"},
    "stock-step-core": {"fill": "none", "stroke": "var(--paper)", "stroke-width": "3.4", "stroke-linecap": "round"},
    "reference-step-core": {
        "fill": "none",
        "stroke": "var(--paper)",
        "stroke-width": "2.8",
        "stroke-linecap": "square",
    },
    "other-band": {"fill": "var(--ink)", "fill-opacity": ".13"},
    "other-level": {"fill": "none", "stroke": "var(--ink)", "stroke-width": ".8", "stroke-dasharray": "1 3"},
    "other-curve": {
        "fill": "none",
        "stroke": "var(--ink)",
        "stroke-width": "2.6",
        "stroke-dasharray": ".1 5",
        "stroke-linejoin": "round",
        "stroke-linecap": "round",
    },
    "other-point": {"fill": "var(--paper)", "stroke": "var(--ink)", "stroke-width": "1.4"},
    "other-label": {"fill": "var(--ink)", "font-weight": "600", **_TEXT},
    "other-step": {"fill": "none", "stroke": "var(--muted)", "stroke-width": "6", "stroke-linecap": "round"},
    "limit": {"fill": "var(--ink)", "fill-opacity": ".13"},
    "far-limit": {"fill": "none", "stroke": "var(--muted)", "stroke-width": "1"},
    "reference-error": {"fill": "none", "stroke": "var(--ink)", "stroke-width": "1.2"},
    "stock-error": {"fill": "none", "stroke": "var(--accent)", "stroke-width": "1.6"},
    "reference-point": {"fill": "var(--paper)", "stroke": "var(--ink)", "stroke-width": "1.4"},
    "stock-point-rim": {"fill": "none", "stroke": "var(--paper)", "stroke-width": "11.4", "stroke-linecap": "round"},
    "stock-point": {"fill": "none", "stroke": "var(--accent)", "stroke-width": "9", "stroke-linecap": "round"},
    "reference-label": {"fill": "var(--ink)", **_TEXT},
    "stock-label": {"fill": "var(--accent)", "font-weight": "600", **_TEXT},
}
"""Marks, whose class is `mark-` and the name here, and what they are drawn with.

These are presentation attributes: any style sheet may overrule them.
"""
