"""Findings become charts: SVG text for pages, and the same as files of their own.

Every chart of a test is drawn from the test's findings and the reference's, and comes with a sentence or two that say
what it shows; a chart that can't be drawn holds the reason instead.
"""

from basefog.picture.charts.batches import describe_control_strip_chart, draw_control_strip_chart
from basefog.picture.charts.choice import describe_chart, draw_chart, list_charts
from basefog.picture.charts.curve import describe_curve_chart, draw_curve_chart
from basefog.picture.charts.development import describe_contrast_time_chart, draw_contrast_time_chart
from basefog.picture.charts.edge_response import describe_edge_chart, draw_edge_chart
from basefog.picture.charts.frames import describe_frame_chart, draw_frame_chart
from basefog.picture.charts.patches import describe_patch_chart, draw_patch_chart
from basefog.picture.charts.reproduction import describe_reproduction_chart, draw_reproduction_chart
from basefog.picture.charts.small import draw_small_curve
from basefog.picture.charts.spectrum import describe_spectrum_chart, draw_spectrum_chart
from basefog.picture.charts.style import CHART_STYLE, MARKS
from basefog.picture.charts.svg import standalone_svg
from basefog.picture.charts.tones import describe_tone_chart, draw_tone_chart

__all__ = [
    "CHART_STYLE",
    "MARKS",
    "describe_chart",
    "describe_contrast_time_chart",
    "describe_control_strip_chart",
    "describe_curve_chart",
    "describe_edge_chart",
    "describe_frame_chart",
    "describe_patch_chart",
    "describe_reproduction_chart",
    "describe_spectrum_chart",
    "describe_tone_chart",
    "draw_chart",
    "draw_contrast_time_chart",
    "draw_control_strip_chart",
    "draw_curve_chart",
    "draw_edge_chart",
    "draw_frame_chart",
    "draw_patch_chart",
    "draw_reproduction_chart",
    "draw_small_curve",
    "draw_spectrum_chart",
    "draw_tone_chart",
    "list_charts",
    "standalone_svg",
]
