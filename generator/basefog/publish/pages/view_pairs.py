"""Views of a test beside the reference's: which files, how large, with what scale, and why one is missing."""

from dataclasses import dataclass
from typing import Final

from basefog.picture import ViewPlan, plan_views
from basefog.picture.views import choose_scan
from basefog.publish.addresses import address_of_view
from basefog.publish.pages.names import name_pair
from basefog.records.content import Series, Stock, Test, View
from basefog.records.findings import Findings
from basefog.records.numbers import format_number, round_to
from basefog.records.registration import Alignment, Refusal

NO_TURN_DEG: Final = 0.05
"""A turn below this rounds to nothing at the one decimal that is told."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PictureSource:
    """One file of a picture and its width, for a browser to choose from."""

    address: str
    width_px: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Picture:
    """One view of one test. `lossless` pictures are shown pixel for pixel and never scaled.

    `bar_px` is the length of the scale bar in pixels of the picture, `bar_mm` on the thing scanned; both are 0 where
    the scan's scale is not known.
    """

    view: str
    test: str
    name: str
    alt: str
    address: str
    width_px: int
    height_px: int
    sources: tuple[PictureSource, ...]
    lossless: bool
    bar_px: float
    bar_mm: float
    bar_label: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ViewPair:
    """A view of the test, and the reference's beside it where there is one.

    `absent` says why a picture is missing and what to do: the test's own where there are no pictures, else the
    reference's.
    """

    id: str
    name: str
    of: str
    shows: str
    pictures: tuple[Picture, ...]
    absent: str = ""


def view_pairs_of(series: Series, findings: Findings, stock: Stock, test: Test) -> tuple[ViewPair, ...]:
    """Return the views of a test in the series' order, with those that only the reference can show."""
    reference_stock = series.reference_stock
    reference = reference_stock.current_test if findings.reference is not None else None
    own = {plan.view.id: plan for plan in plan_views(test, reference, series.views)}
    others: dict[str, ViewPlan] = {}
    beside = reference if reference is not None and reference.key != test.key else None
    if beside is not None:
        others = {plan.view.id: plan for plan in plan_views(beside, beside, series.views)}
    name, reference_name = name_pair(series, stock, test)
    pairs = []
    for view in series.views:
        pictures, absent = [], ""
        if plan := own.get(view.id):
            pictures.append(picture_of(plan, stock, test, name=name))
        elif view.id in others:
            absent = _say_why_missing(view, test)
        else:
            continue
        if pictures and beside is not None:
            if other := others.get(view.id):
                pictures.append(picture_of(other, reference_stock, beside, name=reference_name))
            else:
                absent = _say_reference_missing(view, reference_name)
        pairs.append(
            ViewPair(
                id=view.id,
                name=view.name,
                of=view.of,
                shows=view.shows,
                pictures=tuple(pictures),
                absent=absent,
            )
        )
    return tuple(pairs)


def _say_why_missing(view: View, test: Test) -> str:
    """Say why a test can't show a view that the reference shows, and how to mend it."""
    if not test.scans:
        return "This test has no scans. Scans made as the reference’s were would show them."
    scan = choose_scan(test, view)
    if scan is None:
        return f"This test has no scan of the {view.of}. A scan made as the reference’s was would show them."
    refused = scan.registration if isinstance(scan.registration, Refusal) else None
    why = refused.message if refused else "does not reach as far as these"
    return f"The scan of the {view.of} {why}. Scan it again as the reference’s was, or give each view’s box by hand."


def _say_reference_missing(view: View, reference_name: str) -> str:
    return f"Nothing lies beside it: {reference_name} has no scan of its {view.of}. Scan that too, as this one was."


def alignments_of(series: Series, findings: Findings, test: Test) -> tuple[str, ...]:
    """Return how each of a test's scans lay against the reference's, where that was found from the pixels.

    Once for all views of a kind: those that were found from the pixels are cut from one scan.
    """
    reference = series.reference_stock.current_test if findings.reference is not None else None
    cut: dict[str, list[ViewPlan]] = {}
    for plan in plan_views(test, reference, series.views):
        if plan.alignment is not None:
            cut.setdefault(plan.view.of, []).append(plan)
    return tuple(
        f"The {of}’s views were laid on the reference’s by what both show: {_say_alignment(plans[0].alignment)}"
        + ("; grain keeps its turn and size as scanned." if any(plan.lossless for plan in plans) else ".")
        for of, plans in cut.items()
        if plans[0].alignment is not None
    )


def _say_alignment(found: Alignment) -> str:
    """Say how a scan lay against the reference's."""
    turn = f"{format_number(abs(found.rotation_deg), 1)}°"
    way = "clockwise" if found.rotation_deg > 0 else "anticlockwise"
    parts = [
        f"correlation {format_number(found.correlation, 3)}",
        _say_shift(found),
        f"turned {turn} {way}" if abs(found.rotation_deg) >= NO_TURN_DEG else "not turned",
        f"{format_number(100 * found.scale_ratio, 1)}\N{NO-BREAK SPACE}% as large",
    ]
    if found.is_mirrored:
        parts.append("mirrored, and turned round for this page")
    if found.is_inverted:
        parts.append("light and dark exchanged")
    return ", ".join(parts)


def _say_shift(found: Alignment) -> str:
    across, down = (
        f"{format_number(abs(float(shift)), 1)}\N{NO-BREAK SPACE}px" for shift in (found.right_px, found.down_px)
    )
    return (
        f"{across} to the {'right' if found.right_px >= 0 else 'left'}, {down} {'down' if found.down_px >= 0 else 'up'}"
    )


def picture_of(plan: ViewPlan, stock: Stock, test: Test, *, name: str) -> Picture:
    """Return one planned view for a page, under the name that its test goes by there."""
    widest = plan.files[0]
    bar_px = plan.scale_bar_mm * plan.pixels_per_mm if plan.scale_bar_mm and plan.pixels_per_mm else 0.0
    return Picture(
        view=plan.view.id,
        test=test.key,
        name=name,
        alt=_alt(plan.view, stock),
        address=address_of_view(test, plan.view.id, widest.suffix),
        width_px=widest.width_px,
        height_px=widest.height_px,
        sources=tuple(
            PictureSource(address=address_of_view(test, plan.view.id, file.suffix), width_px=file.width_px)
            for file in plan.files
        ),
        lossless=plan.lossless,
        bar_px=round_to(bar_px, 1),
        bar_mm=plan.scale_bar_mm if plan.scale_bar_mm and bar_px else 0.0,
        bar_label=_length(plan.scale_bar_mm, plan.view.of) if bar_px else "",
    )


def _alt(view: View, stock: Stock) -> str:
    kind = {"grain": "grain", "sharpness": "sharpness", "tone": "tones"}[view.shows]
    thing = "print" if view.of == "print" else "negative"
    return f"{view.name} on {stock.name}: {kind} of the {thing}"


def _length(length_mm: float | None, of: str) -> str:
    """Return a scale bar's length with what it lies on.

    >>> _length(0.5, "negative")
    '500 µm on the film'
    """
    if length_mm is None:
        return ""
    text = f"{length_mm:g} mm" if length_mm >= 1 else f"{1000 * length_mm:g} µm"
    return f"{text} on the {'film' if of == 'negative' else 'print'}"
