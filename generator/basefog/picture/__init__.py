"""Scans become views; findings become charts. Importing this loads no drawing or imaging library."""

from basefog.picture.charts import (
    CHART_STYLE,
    MARKS,
    describe_chart,
    describe_contrast_time_chart,
    describe_control_strip_chart,
    describe_curve_chart,
    describe_frame_chart,
    describe_patch_chart,
    describe_reproduction_chart,
    describe_tone_chart,
    draw_chart,
    draw_contrast_time_chart,
    draw_control_strip_chart,
    draw_curve_chart,
    draw_frame_chart,
    draw_patch_chart,
    draw_reproduction_chart,
    draw_small_curve,
    draw_tone_chart,
    list_charts,
    standalone_svg,
)
from basefog.picture.cuts import cut_scan
from basefog.picture.registration_of_series import register_series
from basefog.picture.scans import decode_scan
from basefog.picture.strip import compute_strip_greys
from basefog.picture.views import PictureFile, ViewPlan, box_on_scan, first_scan, plan_views

__all__ = [
    "CHART_STYLE",
    "MARKS",
    "PictureFile",
    "ViewPlan",
    "box_on_scan",
    "compute_strip_greys",
    "cut_scan",
    "decode_scan",
    "describe_chart",
    "describe_contrast_time_chart",
    "describe_control_strip_chart",
    "describe_curve_chart",
    "describe_frame_chart",
    "describe_patch_chart",
    "describe_reproduction_chart",
    "describe_tone_chart",
    "draw_chart",
    "draw_contrast_time_chart",
    "draw_control_strip_chart",
    "draw_curve_chart",
    "draw_frame_chart",
    "draw_patch_chart",
    "draw_reproduction_chart",
    "draw_small_curve",
    "draw_tone_chart",
    "first_scan",
    "list_charts",
    "plan_views",
    "register_series",
    "standalone_svg",
]
