"""Views of a test beside the reference's: which files, how large, with what scale."""

from dataclasses import dataclass

from basefog.picture import ViewPlan, plan_views
from basefog.publish.addresses import address_of_view
from basefog.publish.pages.names import name_pair
from basefog.records.content import Series, Stock, Test, View
from basefog.records.findings import Findings


@dataclass(frozen=True, kw_only=True, slots=True)
class PictureSource:
    """One file of a picture and its width, for a browser to choose from."""

    address: str
    width_px: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Picture:
    """One view of one test. `lossless` pictures are shown pixel for pixel and never scaled.

    `bar_px` is the length of the scale bar in pixels of the picture, 0 where the scan's scale is not known.
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
    bar_label: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ViewPair:
    """A view of the test, and the reference's beside it where there is one."""

    id: str
    name: str
    of: str
    shows: str
    pictures: tuple[Picture, ...]


def view_pairs_of(series: Series, findings: Findings, stock: Stock, test: Test) -> tuple[ViewPair, ...]:
    """Return the views of a test in the series' order."""
    reference_stock = series.reference_stock
    reference = reference_stock.current_test if findings.reference is not None else None
    own = {plan.view.id: plan for plan in plan_views(test, reference, series.views)}
    others: dict[str, ViewPlan] = {}
    if reference is not None and reference.key != test.key:
        others = {plan.view.id: plan for plan in plan_views(reference, reference, series.views)}
    name, reference_name = name_pair(series, stock, test)
    pairs = []
    for view in series.views:
        if view.id not in own:
            continue
        pictures = [picture_of(own[view.id], stock, test, name=name)]
        if reference is not None and view.id in others:
            pictures.append(picture_of(others[view.id], reference_stock, reference, name=reference_name))
        pairs.append(ViewPair(id=view.id, name=view.name, of=view.of, shows=view.shows, pictures=tuple(pictures)))
    return tuple(pairs)


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
        bar_px=round(bar_px, 1),
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
