"""All charts of a test behind one door: which there are, each drawn and described by its id."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Unpack

from basefog.picture.charts.curve import describe_curve_chart, draw_curve_chart
from basefog.picture.charts.development import describe_contrast_time_chart, draw_contrast_time_chart
from basefog.picture.charts.edge_response import describe_edge_chart, draw_edge_chart
from basefog.picture.charts.frames import describe_frame_chart, draw_frame_chart
from basefog.picture.charts.pair import ChartNames, speed_point_of
from basefog.picture.charts.patches import describe_patch_chart, draw_patch_chart
from basefog.picture.charts.reproduction import describe_reproduction_chart, draw_reproduction_chart
from basefog.picture.charts.spectrum import describe_spectrum_chart, draw_spectrum_chart
from basefog.picture.charts.tones import describe_tone_chart, draw_tone_chart
from basefog.records.findings import TestFindings


@dataclass(frozen=True, kw_only=True, slots=True)
class _Chart:
    """How a chart is drawn and described, and whether a test has what it shows."""

    draw: Callable[..., str]
    describe: Callable[..., str]
    has: Callable[[TestFindings], bool]


_CHARTS: Mapping[str, _Chart] = {
    "curve": _Chart(draw=draw_curve_chart, describe=describe_curve_chart, has=lambda test: test.curve is not None),
    "tones": _Chart(
        draw=draw_tone_chart, describe=describe_tone_chart, has=lambda test: speed_point_of(test) is not None
    ),
    "patches": _Chart(
        draw=draw_patch_chart,
        describe=describe_patch_chart,
        has=lambda test: any(patch.stops_from_grey.value is not None for patch in test.patches.values()),
    ),
    "tone-reproduction": _Chart(
        draw=draw_reproduction_chart,
        describe=describe_reproduction_chart,
        has=lambda test: test.tone_reproduction is not None,
    ),
    "frames": _Chart(
        draw=draw_frame_chart,
        describe=describe_frame_chart,
        has=lambda test: any(frame.shadow_density is not None for frame in test.frames),
    ),
    "contrast-time": _Chart(
        draw=draw_contrast_time_chart,
        describe=describe_contrast_time_chart,
        has=lambda test: test.contrast_time is not None and bool(test.contrast_time.points),
    ),
    "spectrum": _Chart(
        draw=draw_spectrum_chart, describe=describe_spectrum_chart, has=lambda test: test.spectrum is not None
    ),
    "edge-response": _Chart(
        draw=draw_edge_chart, describe=describe_edge_chart, has=lambda test: test.edge_response is not None
    ),
}
"""By the ids of the vocabulary, in the order in which a page shows them."""


def list_charts(test: TestFindings) -> tuple[str, ...]:
    """Return the ids of the charts that have something to show of a test."""
    return tuple(name for name, chart in _CHARTS.items() if chart.has(test))


def draw_chart(chart: str, test: TestFindings, reference: TestFindings | None, **names: Unpack[ChartNames]) -> str:
    """Return one chart of a test as SVG. Raises KeyError where there is no chart of that id."""
    return _CHARTS[chart].draw(test, reference, **_names_for(chart, names))


def describe_chart(chart: str, test: TestFindings, reference: TestFindings | None, **names: Unpack[ChartNames]) -> str:
    """Return one chart of a test in words. Raises KeyError where there is no chart of that id."""
    return _CHARTS[chart].describe(test, reference, **_names_for(chart, names))


def _names_for(chart: str, names: ChartNames) -> ChartNames:
    """Return the names that a chart takes: those of the patches only where it shows any."""
    if chart in {"patches", "frames"}:
        return names
    return {"name": names["name"], "reference_name": names["reference_name"]}
