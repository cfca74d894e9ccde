"""The charts of a test as its pages show them: drawn, told in words, with their files and the numbers behind them."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from markupsafe import Markup

from basefog.publish.addresses import address_of_test_data
from basefog.publish.pages.frame import CONTROL_STRIPS, Link
from basefog.records.content import FloatArray, Test
from basefog.records.findings import BatchFinding, TestFindings
from basefog.records.numbers import format_number, settle
from basefog.records.vocabulary import CHARTS

INLINE: Final = frozenset(
    {"curve", "tones", "tone-reproduction", "frames", "contrast-time", "spectrum", "edge-response"}
)
"""Charts that stand in the page itself, because a script reads values off their lines; the others are shown from their
files."""

_IN_CURVE_TABLE: Final = frozenset({"curve", "tones"})
"""Charts whose numbers are in the test's `curve.csv`."""

_SIZE = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
_NOTHING: Final = Markup()


@dataclass(frozen=True, kw_only=True, slots=True)
class NumberTable:
    """Numbers behind a chart, as texts of equal decimals a column; the first cell of a row heads it."""

    summary: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Chart:
    """A chart of a test: `svg` is drawn into the page, or empty where the page shows its `file`."""

    id: str
    title: str
    words: str
    file: str
    width_px: int
    height_px: int
    data: Link | None
    table: NumberTable | None
    svg: Markup = _NOTHING


def draw_charts(
    addresses: Mapping[str, str],
    test: TestFindings,
    reference: TestFindings | None,
    *,
    data: Mapping[str, Link],
    names: tuple[str, str],
    patch_names: Mapping[str, str],
) -> tuple[dict[str, Chart], dict[str, bytes]]:
    """Return a test's charts by id, and their files by address, each drawn once.

    Arguments: `addresses` and `data` by chart id, where its file goes and where its numbers are; `names` what the test
    and the reference are called in a sentence.
    """
    from basefog import picture

    charts, files = {}, {}
    for chart, address in addresses.items():
        how = {"name": names[0], "reference_name": names[1]}
        svg = picture.draw_chart(chart, test, reference, patch_names=patch_names, **how)
        width_px, height_px = size_of(svg)
        charts[chart] = Chart(
            id=chart,
            title=CHARTS[chart],
            words=picture.describe_chart(chart, test, reference, patch_names=patch_names, **how),
            file=address,
            width_px=width_px,
            height_px=height_px,
            data=data[chart],
            table=table_of(chart, test),
            svg=Markup(svg) if chart in INLINE else _NOTHING,  # noqa: S704  # our own drawing
        )
        files[address] = picture.standalone_svg(svg)
    return charts, files


def draw_control_strips(batches: tuple[BatchFinding, ...]) -> tuple[Chart, bytes]:
    """Return the chart of all development batches, for the method page, and its file."""
    from basefog import picture

    svg = picture.draw_control_strip_chart(batches)
    width_px, height_px = size_of(svg)
    chart = Chart(
        id="control-strip",
        title=CHARTS["control-strip"],
        words=picture.describe_control_strip_chart(batches),
        file=CONTROL_STRIPS,
        width_px=width_px,
        height_px=height_px,
        data=None,
        table=None,
    )
    return chart, picture.standalone_svg(svg)


def size_of(svg: str) -> tuple[int, int]:
    """Return a drawing's width and height, so that a page keeps its place before it is there.

    >>> size_of('<svg viewBox="0 0 480 371.5">')
    (480, 372)
    """
    found = _SIZE.search(svg)
    if found is None:
        raise ValueError("svg: it has no view box")
    return round(float(found[1])), round(float(found[2]))


def data_of_chart(chart: str, test: Test) -> Link:
    """Return where the numbers of a chart are for download."""
    if chart in _IN_CURVE_TABLE:
        return Link(label="Data as CSV", address=address_of_test_data(test, "curve.csv"))
    return Link(label="Data as JSON", address=address_of_test_data(test))


def table_of(chart: str, found: TestFindings) -> NumberTable | None:
    """Return the numbers of a chart that no other table of the page tells, None for the rest."""
    tables = {
        "tones": _table_of_tones,
        "tone-reproduction": _table_of_reproduction,
        "spectrum": _table_of_spectrum,
        "edge-response": _table_of_edge,
    }
    return tables[chart](found) if chart in tables else None


def _table_of_tones(found: TestFindings) -> NumberTable | None:
    speed = found.measures.get("speed_point")
    curve = found.curve
    if curve is None or speed is None or speed.value is None:
        return None
    away = curve.log_exposure - speed.value
    places = _round_places(max(float(away[0]), -0.3), min(float(away[-1]), 2.4), 0.2)
    columns = [np.interp(places, away, values) for values in (curve.gradient, curve.gradient_low, curve.gradient_high)]
    head = ("Log exposure from the speed point", "Gradient", "Low", "High")
    return _table("The gradient in figures", head, [places, *columns], (1, 3, 3, 3))


def _table_of_reproduction(found: TestFindings) -> NumberTable | None:
    tones = found.tone_reproduction
    if tones is None:
        return None
    x = tones.subject_log_luminance
    places = _round_places(float(x[0]), float(x[-1]), 0.2)
    columns = [np.interp(places, x, values) for values in (tones.print_density, tones.low, tones.high)]
    head = ("Subject log luminance", "Print density", "Low", "High")
    return _table("The print densities in figures", head, [places, *columns], (1, 2, 2, 2))


def _table_of_spectrum(found: TestFindings) -> NumberTable | None:
    spectrum = found.spectrum
    if spectrum is None:
        return None
    head = ("Cycles/mm", "Density variance, µm²")
    return _table("The spectrum in figures", head, [spectrum.cycles_per_mm, spectrum.power_um2], (1, 4))


def _table_of_edge(found: TestFindings) -> NumberTable | None:
    edge = found.edge_response
    if edge is None:
        return None
    x = edge.cycles_per_mm
    places = _round_places(float(x[0]), float(x[-1]), 5.0)
    columns = [np.interp(places, x, values) for values in (edge.response, edge.low, edge.high)]
    return _table("The response in figures", ("Cycles/mm", "Response", "Low", "High"), [places, *columns], (0, 3, 3, 3))


def _round_places(first: float, last: float, step: float) -> FloatArray:
    """Return the multiples of a step from first to last."""
    return np.arange(np.ceil(settle(first / step, 3)), np.floor(settle(last / step, 3)) + 1) * step


def _table(
    summary: str, head: tuple[str, ...], columns: list[FloatArray], decimals: tuple[int, ...]
) -> NumberTable | None:
    rows = tuple(
        tuple(format_number(float(value), places) for value, places in zip(row, decimals, strict=True))
        for row in zip(*columns, strict=True)
    )
    return NumberTable(summary=summary, head=head, rows=rows) if rows else None
