"""The tests of one family measured: a pure function of their readings, the reference's, and the series' terms.

The order of work: the tests' curves and frames, their shadows; then what is formed draw by draw with the reference's.
Nothing that the draws are of leaves this room, for they are large; the reference's part is remembered from family to
family.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from basefog.measure.asked import Terms
from basefog.measure.bracket_remarks import remark_on_exposures
from basefog.measure.contrast import find_average_gradient
from basefog.measure.curve_fit import STANDARD_SHUTTER_STOPS, FittedCurve, NoCurve, fit_test_curve
from basefog.measure.curve_measures import measure_curve, remark_on_curve, tabulate_curve
from basefog.measure.development import DevelopedContrast, measure_matching_time, trace_contrast_time
from basefog.measure.frames_fit import FramesFit, NoFramesFit, fit_frames
from basefog.measure.intervals import parts_of_draws, scale_parts
from basefog.measure.patch_stops import measure_patch_stops
from basefog.measure.resampling import DRAWS, WedgeRows, fold_wedge
from basefog.measure.shadow_match import (
    NoShadows,
    OnCurve,
    ShadowMatch,
    Shadows,
    Target,
    describe_frames,
    find_target,
    match_shadows,
    read_shadows,
)
from basefog.measure.tone_reproduction import (
    NoPaper,
    PaperCurve,
    choose_paper,
    measure_print_contrasts,
    reproduce_tones,
)
from basefog.measure.work import Work
from basefog.records.content import FloatArray, Test, read_only
from basefog.records.findings import BracketFit, ContrastTime, MeasuredTest, PatchLine, Quantity, Remark, StepFinding

LINE_MARGIN_STOPS, LINE_POINTS = 0.3, 61
"""How far the lines of patches run beyond the frames, stops, and in how many points."""

NO_REFERENCE = "the reference has no current test"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Member:
    """One test of a family as measured, without the remarks that other tests and batches give rise to.

    `patch_stops` says where its patches lie, stops from the grey one, for those of other tests; `told_shutter` how well
    its exposures repeat, degrees of freedom and stops, None where it doesn't tell. `asks_shutter` is whether how well
    those of other tests repeat would change anything here.
    """

    measured: MeasuredTest
    patch_stops: Mapping[str, float]
    told_shutter: tuple[int, float] | None
    asks_shutter: bool


def measure_family(
    *, tests: tuple[Test, ...], reference: tuple[Test, ...], terms: Terms, shutter_stops: float | None
) -> tuple[Member, ...]:
    """Return what the readings of the tests of one family gave, in their order.

    A family is a test and those that vary its time of development; most are of one test. Arguments: see `Asked`.
    """
    shutter = STANDARD_SHUTTER_STOPS if shutter_stops is None else shutter_stops
    works = [measure_work(test, terms, shutter_stops=shutter) for test in tests]
    against = _find_against(_Reference(tests=reference, terms=terms, shutter_stops=shutter))
    family = [_contrast_of(work) for work in works]
    asks = against.asks_shutter or any(_asks_shutter(work) for work in works)
    return tuple(
        Member(
            measured=_measure(work, terms, against, family, shutter),
            patch_stops=work.frames.patch_stops() if isinstance(work.frames, FramesFit) else {},
            told_shutter=work.frames.told_shutter() if isinstance(work.frames, FramesFit) else None,
            asks_shutter=asks,
        )
        for work in works
    )


def measure_work(test: Test, terms: Terms, *, shutter_stops: float = STANDARD_SHUTTER_STOPS) -> Work:
    """Return a test with its fitted curve, base plus fog, the measures of the curve, and its frames fitted together.

    Arguments: `shutter_stops`, how well exposures repeat, for a curve that rests on the bracket.
    """
    fitted = fit_test_curve(test, terms, shutter_stops=shutter_stops)
    base = fitted.base_plus_fog
    curve = fitted if isinstance(fitted, FittedCurve) else None
    frames: FramesFit | NoFramesFit
    if curve is None:
        frames = NoFramesFit(why="no bracket was read" if test.bracket is None else _why_of(fitted))
    else:
        frames = fit_frames(
            test,
            curve,
            grey_patch=terms.grey_patch,
            repeatability=terms.repeatability,
            quantum=0.0 if test.bracket is None else test.bracket.quantum,
        )
    return Work(
        test=test,
        curve=curve,
        curve_why=None if curve is not None else _why_of(fitted),
        base_plus_fog=np.full(1 + DRAWS, np.nan) if base is None else base,
        measures=measure_curve(fitted),
        frames=frames,
    )


def _why_of(fitted: FittedCurve | NoCurve) -> str:
    return fitted.why if isinstance(fitted, NoCurve) else ""


def _read_shadows(work: Work, terms: Terms, shutter_stops: float) -> Shadows | NoShadows:
    return read_shadows(
        work.test,
        work.frames,
        work.base_plus_fog,
        shadow_patch=terms.shadow_patch,
        repeatability=terms.repeatability,
        quantum=0.0 if work.test.bracket is None else work.test.bracket.quantum,
        shutter_stops=shutter_stops,
    )


def _asks_shutter(work: Work) -> bool:
    """Return whether the error of the frames' exposures is taken from other tests here."""
    tells = isinstance(work.frames, FramesFit) and work.frames.exposures_repeat_stops is not None
    return work.test.bracket is not None and not tells


@dataclass(frozen=True, kw_only=True, slots=True)
class _Reference:
    """What the reference's part is found from; hashed by names alone, for its readings are long."""

    tests: tuple[Test, ...]
    terms: Terms
    shutter_stops: float

    def __hash__(self) -> int:
        return hash((tuple(test.key for test in self.tests), self.terms, self.shutter_stops))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Against:
    """What every test is set against: the reference's shadows, their rows' wedge, its contrast, and the paper."""

    target: Target | NoShadows
    wedge: WedgeRows | None
    contrast: DevelopedContrast | None
    paper: PaperCurve | NoPaper
    asks_shutter: bool


@lru_cache(maxsize=2)
def _find_against(reference: _Reference) -> _Against:
    terms = reference.terms
    works = [measure_work(test, terms, shutter_stops=reference.shutter_stops) for test in reference.tests]
    shadows = [_read_shadows(work, terms, reference.shutter_stops) for work in works]
    target = find_target(shadows) if shadows else NoShadows(why=NO_REFERENCE)
    return _Against(
        target=target,
        wedge=None if isinstance(target, NoShadows) else _wedge_of_target(target, works),
        contrast=_contrast_of_group(works),
        paper=choose_paper(terms.papers, terms.paper_id, repeatability=terms.repeatability),
        asks_shutter=any(_asks_shutter(work) for work in works),
    )


def _wedge_of_target(target: Target, works: list[Work]) -> WedgeRows | None:
    """Return the wedge whose rows the target has: that of the reference's tests, where it is one for all."""
    curve = next(work.curve for work in works if work.test.key == target.keys[0])
    return None if curve is None else curve.wedge


def _measure(
    work: Work, terms: Terms, against: _Against, family: list[DevelopedContrast], shutter_stops: float
) -> MeasuredTest:
    """Return what one test's readings gave."""
    test, shadows = work.test, _read_shadows(work, terms, shutter_stops)
    match = match_shadows(shadows, against.target, is_reference=False)
    matching_time, contrast_time = _measure_development(test, family, against.contrast)
    fitted = work.frames if isinstance(work.frames, FramesFit) else None
    return MeasuredTest(
        stock=test.stock,
        test=test.id,
        measures={
            **work.measures,
            "shadow_match": _tell_parts(match, shadows, against.wedge),
            **measure_print_contrasts(work.curve, work.curve_why, against.paper),
            "matching_time": matching_time,
        },
        patches={
            name: patch.stops_from_grey for name, patch in measure_patch_stops(work.frames, terms.patches).items()
        },
        curve=None if work.curve is None else tabulate_curve(work.curve),
        curve_why=work.curve_why,
        steps=_list_steps(test),
        frames=describe_frames(shadows, against.target, match, () if test.bracket is None else test.bracket.frames),
        bracket=None if fitted is None else _trace_bracket(fitted, terms.shadow_patch),
        exposures_repeat_stops=None if fitted is None else fitted.exposures_repeat_stops,
        tone_reproduction=reproduce_tones(work.curve, against.paper),
        contrast_time=contrast_time,
        remarks=(*remark_on_curve(work.curve), *_remark_on_bracket(work)),
    )


def _tell_parts(match: ShadowMatch, shadows: Shadows | NoShadows, wedge_of_target: WedgeRows | None) -> Quantity:
    """Return a shadow match with its own parts, and as what is subtracted from them the reference's."""
    if match.own is None or match.reference is None or not isinstance(shadows, Shadows):
        return match.quantity
    own_wedge = shadows.on_curve.curve.wedge if isinstance(shadows.on_curve, OnCurve) else None
    of_reference = parts_of_draws(match.reference, _wedge_of_rows(match.reference, wedge_of_target))
    return replace(
        match.quantity,
        low=None,
        high=None,
        parts=parts_of_draws(match.own, _wedge_of_rows(match.own, own_wedge)),
        of_reference=scale_parts(of_reference, -1.0),
    )


def _measure_development(
    test: Test, family: list[DevelopedContrast], contrast: DevelopedContrast | None
) -> tuple[Quantity, ContrastTime | None]:
    """Return a test's matching time, and its contrast-time curve where other times of it were tested."""
    if test.development_of is not None:
        return measure_matching_time(test, (), contrast), None
    aim = None if contrast is None else contrast.average_gradient.value
    return measure_matching_time(test, family, contrast), trace_contrast_time(family, aim)


def _remark_on_bracket(work: Work) -> tuple[Remark, ...]:
    if work.test.bracket is None:
        return ()
    if isinstance(work.frames, NoFramesFit):
        return work.frames.remarks
    return (*work.frames.remarks, *remark_on_exposures(work.frames))


def _wedge_of_rows(rows: FloatArray, wedge: WedgeRows | None) -> WedgeRows | None:
    """Return the wedge whose rows follow the draws, None where none do."""
    return wedge if wedge is not None and rows.shape[0] > 1 + DRAWS else None


def _contrast_of(work: Work) -> DevelopedContrast:
    draws = np.full(1 + DRAWS, np.nan)
    if work.curve is not None:
        draws = fold_wedge(find_average_gradient(work.curve), work.curve.wedge)
    return DevelopedContrast(test=work.test, average_gradient=work.measures["average_gradient"], draws=draws)


def _contrast_of_group(works: list[Work]) -> DevelopedContrast | None:
    """Return the reference's contrast: the mean over its repeats that have one; None without a reference."""
    if not works:
        return None
    contrasts = [_contrast_of(work) for work in works]
    had = [one for one in contrasts if np.isfinite(one.draws[0])]
    if len(had) < 2:
        return contrasts[0]
    draws = np.mean([one.draws for one in had], axis=0)
    first = contrasts[0]
    return replace(first, draws=draws, average_gradient=replace(first.average_gradient, value=float(draws[0])))


def _trace_bracket(fit: FramesFit, shadow_patch: str | None) -> BracketFit:
    """Return the readings of a bracket and the line of each patch through all frames."""
    stops = np.linspace(fit.stops.min() - LINE_MARGIN_STOPS, fit.stops.max() + LINE_MARGIN_STOPS, LINE_POINTS)
    lines = [(patch, fit.line_of(patch, stops)) for patch in fit.patches]
    base = float(fit.curve.base_plus_fog[0])
    return BracketFit(
        base=base if np.isfinite(base) else None,
        shadow_patch=shadow_patch,
        readings=fit.readings,
        lines=tuple(
            PatchLine(patch=patch, stops=read_only(stops), density=read_only(density))
            for patch, density in lines
            if density is not None
        ),
    )


def _list_steps(test: Test) -> tuple[StepFinding, ...]:
    if test.wedge is None:
        return ()
    return tuple(
        StepFinding(
            step=step.step,
            log_exposure=step.log_exposure,
            density=float(np.mean(step.readings)),
            readings=len(step.readings),
        )
        for step in test.wedge.steps
        if step.readings
    )
