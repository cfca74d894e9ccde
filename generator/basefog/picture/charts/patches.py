"""Patches: how light the film renders each colour, in stops from the grey patch, a row a patch."""

from collections.abc import Mapping, Sequence
from typing import Final, Unpack

from basefog.picture.charts.curve import join_words
from basefog.picture.charts.labels import Spot, estimate_width_px, shorten
from basefog.picture.charts.pair import ChartNames, empty_chart, first_word
from basefog.picture.charts.plot import RIGHT_PX, Plot, regular_ticks, with_own_settings
from basefog.picture.charts.scale import Scale, outward
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.records.findings import PatchFinding, TestFindings
from basefog.records.numbers import fixed, settle

ROW_PX: Final = 38.0
TOP_PX: Final = 44.0
NAME_WIDTH_PX: Final = 130.0


@with_own_settings
def draw_patch_chart(test: TestFindings, reference: TestFindings | None, **names: Unpack[ChartNames]) -> str:
    """Return a row a patch: the stock's point and the reference's with their intervals, and where the eye has it."""
    title = f"Patches on {names['name']}"
    description = describe_patch_chart(test, reference, **names)
    rows = [patch for patch in test.patches.values() if patch.stops_from_grey.value is not None]
    if not rows:
        return empty_chart("patches", test, title=title, why=description)
    others = {} if reference is None or reference.key == test.key else dict(reference.patches)
    labels = [shorten(_name_of(patch, names.get("patch_names")), TEXT_PX, NAME_WIDTH_PX) for patch in rows]
    left_px = max(estimate_width_px(words, TEXT_PX) for words in labels) + 16
    reach = _reach([*rows, *(others[patch.patch] for patch in rows if patch.patch in others)])
    x0, x1 = outward(0.5, *reach)
    scale = Scale(
        x0=x0,
        x1=x1,
        y0=float(len(rows)),
        y1=0.0,
        left_px=left_px,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        bottom_px=TOP_PX + ROW_PX * len(rows),
    )
    plot = Plot(scale)
    plot.rule_across(regular_ticks(0.5 if x1 - x0 <= 5 else 1.0, x0, x1), "stops from the grey patch")
    if x0 <= 0 <= x1:
        plot.pixel_line([(scale.x_px(0), scale.top_px), (scale.x_px(0), scale.bottom_px)], "axis")
    middles_px = [scale.top_px + ROW_PX * (index + 0.5) for index in range(len(rows))]
    for middle_px in middles_px:
        plot.pixel_line([(8, middle_px + ROW_PX / 2), (scale.right_px, middle_px + ROW_PX / 2)], "grid")
    for middle_px, words in zip(middles_px, labels, strict=True):
        plot.write("name", Spot(x_px=left_px - 8, y_px=middle_px + 5, anchor="end"), words)
    _draw_eye(plot, rows, middles_px)
    _draw_points(plot, [others.get(patch.patch) for patch in rows], [y_px + 7 for y_px in middles_px], "reference")
    _draw_points(plot, rows, [y_px - 7 for y_px in middles_px], "stock")
    _draw_key(plot, names["name"], names["reference_name"] if others else None)
    return plot.render(chart="patches", test=test.key, title=title, description=description)


def describe_patch_chart(test: TestFindings, reference: TestFindings | None, **names: Unpack[ChartNames]) -> str:
    """Return which patches differ from the reference and from the eye by more than the error, in a sentence or two."""
    name, patch_names = names["name"], names.get("patch_names")
    measured = [patch for patch in test.patches.values() if patch.stops_from_grey.value is not None]
    if not measured:
        whys = sorted({patch.stops_from_grey.why for patch in test.patches.values() if patch.stops_from_grey.why})
        return f"{first_word(name)} has no patches to show: {whys[0] if whys else 'none were read'}."
    said = [f"{first_word(name)} against the eye: {_sides(measured, 'against_eye', patch_names)}."]
    if reference is not None and reference.key != test.key:
        said.append(f"Against {names['reference_name']}: {_sides(measured, 'against_reference', patch_names)}.")
    return " ".join(said)


def _sides(patches: list[PatchFinding], kind: str, names: Mapping[str, str] | None) -> str:
    """Return which patches are lighter and which darker by more than the error, and by how much."""
    said = []
    for side, verdict in (("lighter", "higher"), ("darker", "lower")):
        which = [
            f"{_name_of(patch, names)} {fixed(abs(comparison.difference), 1)}"
            for patch in patches
            if (comparison := getattr(patch, kind)).verdict == verdict and comparison.difference is not None
        ]
        if which:
            said.append(f"{join_words(which)} stops {side}")
    return "; ".join(said) or "no measurable difference"


def _name_of(patch: PatchFinding, names: Mapping[str, str] | None) -> str:
    return (names or {}).get(patch.patch, patch.patch)


def _reach(patches: list[PatchFinding]) -> tuple[float, float]:
    """Return the least and the greatest value that any mark of any row has."""
    values = [0.0]
    for patch in patches:
        quantity = patch.stops_from_grey
        values += [value for value in (quantity.value, quantity.low, quantity.high) if value is not None]
        eye = eye_value(patch)
        values += [] if eye is None else [eye]
    return min(values) - 0.05, max(values) + 0.05


def eye_value(patch: PatchFinding) -> float | None:
    """Return the stops from grey at which the eye has a patch, None where its luminance is not known."""
    if patch.stops_from_grey.value is None or patch.against_eye.difference is None:
        return None
    return patch.stops_from_grey.value - patch.against_eye.difference


def _draw_eye(plot: Plot, patches: Sequence[PatchFinding], middles_px: Sequence[float]) -> None:
    """Draw where the eye has each patch, as an upright bar."""
    for patch, middle_px in zip(patches, middles_px, strict=True):
        eye = eye_value(patch)
        if eye is not None:
            x_px = plot.scale.x_px(eye)
            plot.pixel_line([(x_px, middle_px - 15), (x_px, middle_px + 15)], "eye")


def _draw_points(plot: Plot, patches: Sequence[PatchFinding | None], heights_px: Sequence[float], whose: str) -> None:
    """Draw a point a patch in its 95 % interval: all intervals, then all points."""
    places = []
    for patch, y_px in zip(patches, heights_px, strict=True):
        if patch is None or patch.stops_from_grey.value is None:
            continue
        quantity = patch.stops_from_grey
        if quantity.low is not None and quantity.high is not None and settle(quantity.high - quantity.low, 3) > 0:
            plot.pixel_line(
                [(plot.scale.x_px(quantity.low), y_px), (plot.scale.x_px(quantity.high), y_px)], f"{whose}-error"
            )
        places.append((plot.scale.x_px(patch.stops_from_grey.value), y_px))
    plot.points(places, f"{whose}-point")


def _draw_key(plot: Plot, name: str, reference_name: str | None) -> None:
    entries = [("stock-point", "stock-label", name), ("eye", "key", "the eye")]
    if reference_name is not None:
        entries.insert(1, ("reference-point", "reference-label", reference_name))
    plot.legend([(sample, kind, shorten(text, TEXT_PX, 150.0)) for sample, kind, text in entries], y_px=20.0)
