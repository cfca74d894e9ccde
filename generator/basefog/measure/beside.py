"""What a test shows only beside others: against the reference's frame, print and contrast, and among its family.

`lay_out` gathers once what every test of a series is set against; `measure_beside` then adds to one test its bracket,
patches, print, tones and development.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from basefog.measure.batches import remark_on_batch
from basefog.measure.bracket import (
    NetShadows,
    NoShadows,
    Target,
    choose_frame,
    describe_frames,
    find_target,
    frame_nearest_metered,
    measure_shadow_match,
    read_net_shadows,
)
from basefog.measure.contrast import find_gradient
from basefog.measure.development import (
    DevelopedContrast,
    find_family,
    measure_matching_time,
    trace_contrast_time,
)
from basefog.measure.intervals import missing
from basefog.measure.patches import judge_patches, measure_patches, note_patches
from basefog.measure.printing import find_reference_exposure_s, measure_print_exposure
from basefog.measure.resampling import DRAWS
from basefog.measure.speed import CONTRAST_RUN
from basefog.measure.tone_reproduction import (
    NoPaper,
    PaperCurve,
    choose_paper,
    measure_print_contrasts,
    reproduce_tones,
)
from basefog.measure.work import Work
from basefog.records.content import Series
from basefog.records.findings import (
    ContrastTime,
    FrameFinding,
    PatchFinding,
    Quantity,
    Remark,
    Scatter,
    ToneReproduction,
)

NO_REFERENCE = "the reference has no current test: all its tests are withdrawn"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Layout:
    """What every test of a series is set against: the reference's work, its target frame, the paper."""

    series: Series
    works: Mapping[str, Work]
    reference: Work | None
    target: Target | NoShadows
    paper: PaperCurve | NoPaper


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Beside:
    """What setting a test beside others added to it; `stops_from_grey` is by patch id."""

    measures: Mapping[str, Quantity]
    frames: tuple[FrameFinding, ...]
    stops_from_grey: Mapping[str, Quantity]
    tone_reproduction: ToneReproduction | None
    contrast_time: ContrastTime | None
    remarks: tuple[Remark, ...]


def lay_out(series: Series, works: Mapping[str, Work], reference: Work | None) -> Layout:
    """Return what the tests of a series are set against; `works` by `stock/test`."""
    target: Target | NoShadows = NoShadows(why=NO_REFERENCE)
    if reference is not None:
        target = find_target(_read_shadows(reference, series), reference.test)
    return Layout(
        series=series,
        works=works,
        reference=reference,
        target=target,
        paper=choose_paper(series.papers, series.enlarging.paper, repeatability=series.densitometer.repeatability),
    )


def measure_beside(work: Work, layout: Layout) -> Beside:
    """Return all that a test shows only beside others, every quantity with its interval or why it has none."""
    series, reference = layout.series, layout.reference
    shadows = _read_shadows(work, series)
    shadow_match = _measure_shadow_match(shadows, layout.target)
    matching_time, contrast_time = _measure_development(work, layout)
    batch = work.test.developed.batch
    frames = () if work.test.bracket is None else work.test.bracket.frames
    return Beside(
        measures={
            "shadow_match": shadow_match,
            "print_exposure": measure_print_exposure(
                work.measures["base_plus_fog"],
                None if reference is None else reference.measures["base_plus_fog"],
                None if reference is None else find_reference_exposure_s(reference.test, series.enlarging),
                is_reference=reference is not None and reference.test.key == work.test.key,
            ),
            **measure_print_contrasts(work.curve, work.curve_why, layout.paper),
            "matching_time": matching_time,
        },
        frames=describe_frames(frames, shadows, layout.target, shadow_match.value),
        stops_from_grey=_measure_patches(work, shadows, layout),
        tone_reproduction=reproduce_tones(work.curve, layout.paper),
        contrast_time=contrast_time,
        remarks=() if batch is None else remark_on_batch(batch, series.batches),
    )


def judge_beside(
    work: Work, besides: Mapping[str, Beside], layout: Layout, scatter: Mapping[str, Scatter]
) -> dict[str, PatchFinding]:
    """Return the findings of a test's patches, against the eye and the reference; empty without a bracket.

    Arguments: `besides` by `stock/test`; `scatter` by patch id.
    """
    grey = layout.series.protocol.grey_patch
    if grey is None or work.test.bracket is None:
        return {}
    reference = layout.reference
    why = NO_REFERENCE if reference is None else "this is the reference"
    apart = reference is not None and reference.test.key != work.test.key
    return judge_patches(
        besides[work.test.key].stops_from_grey,
        besides[reference.test.key].stops_from_grey if apart and reference is not None else None,
        layout.series.patches,
        grey_patch=grey,
        why_no_reference=why,
        scatter=scatter,
    )


def _read_shadows(work: Work, series: Series) -> NetShadows | NoShadows:
    return read_net_shadows(
        work.test,
        work.base_plus_fog,
        shadow_patch=series.protocol.shadow_patch,
        repeatability=series.densitometer.repeatability,
    )


def _measure_shadow_match(shadows: NetShadows | NoShadows, target: Target | NoShadows) -> Quantity:
    if isinstance(shadows, NoShadows):
        return missing(shadows.why, "stops")
    if isinstance(target, NoShadows):
        return missing(target.why, "stops")
    return measure_shadow_match(shadows, target)


def _measure_patches(work: Work, shadows: NetShadows | NoShadows, layout: Layout) -> dict[str, Quantity]:
    """Return the stops from grey of every patch, on the chosen frame; on the metered one where none can be chosen."""
    patches, grey = layout.series.patches, layout.series.protocol.grey_patch
    if work.test.bracket is None or grey is None:
        why = "no bracket was read" if work.test.bracket is None else "the protocol names no grey patch"
        return {patch.id: missing(why, "stops") for patch in patches}
    if work.curve is None:
        return {patch.id: missing(work.curve_why or "there is no curve", "stops") for patch in patches}
    note = None
    if isinstance(shadows, NetShadows) and isinstance(layout.target, Target):
        frame = choose_frame(shadows, layout.target)
    else:
        frame = frame_nearest_metered(work.test.bracket.frames)
        note = f"on frame {frame.frame}, nearest the metered exposure, for want of a shadow density to match"
    found = measure_patches(
        work.test, frame, work.curve, patches, grey_patch=grey, repeatability=layout.series.densitometer.repeatability
    )
    return found if note is None else note_patches(found, note)


def _measure_development(work: Work, layout: Layout) -> tuple[Quantity, ContrastTime | None]:
    """Return a test's matching time, and its contrast-time curve where other times of it were tested."""
    reference = None if layout.reference is None else _contrast_of(layout.reference)
    stock = layout.series.stock(work.test.stock)
    if work.test.development_of is not None:
        return measure_matching_time(work.test, (), reference), None
    family = [_contrast_of(layout.works[test.key]) for test in find_family(stock, work.test)]
    aim = None if layout.reference is None else layout.reference.measures["average_gradient"].value
    return measure_matching_time(work.test, family, reference), trace_contrast_time(family, aim)


def _contrast_of(work: Work) -> DevelopedContrast:
    nothing = np.full(1 + DRAWS, np.nan)
    return DevelopedContrast(
        test=work.test,
        average_gradient=work.measures["average_gradient"],
        draws=nothing if work.curve is None else find_gradient(work.curve, 0.0, CONTRAST_RUN),
    )
