"""Findings become charts: SVG text for pages, and the same as files of their own."""

from basefog.picture.charts.curve import describe_curve_chart, draw_curve_chart
from basefog.picture.charts.small import draw_small_curve
from basefog.picture.charts.style import CHART_STYLE, MARKS
from basefog.picture.charts.svg import standalone_svg
from basefog.picture.charts.tones import describe_tone_chart, draw_tone_chart

__all__ = [
    "CHART_STYLE",
    "MARKS",
    "describe_curve_chart",
    "describe_tone_chart",
    "draw_curve_chart",
    "draw_small_curve",
    "draw_tone_chart",
    "standalone_svg",
]
