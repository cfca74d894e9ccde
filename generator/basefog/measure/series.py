"""A series in, every test's own quantities out; nothing here reads a file, computes a formula, or judges.

The order of work: curves of all tests with a wedge, and their brackets, which tell how well exposures repeat; then the
curves of the others, whose frames that is the error of; then what is formed draw by draw with the reference's: its
shadows, its contrast. Differences and verdicts are `judge`'s.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from basefog.measure.batches import remark_on_batch
from basefog.measure.bracket_remarks import (
    PatchPlaces,
    gather_places,
    remark_on_exchanged_patches,
    remark_on_exposures,
)
from basefog.measure.contrast import find_average_gradient
from basefog.measure.curve_fit import STANDARD_SHUTTER_STOPS, FittedCurve, NoCurve, fit_test_curve
from basefog.measure.curve_measures import measure_curve, remark_on_curve, tabulate_curve
from basefog.measure.development import DevelopedContrast, find_family, measure_matching_time, trace_contrast_time
from basefog.measure.frames_fit import FramesFit, NoFramesFit, fit_frames, pool_shutter_scatter
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
from basefog.records.content import FloatArray, Series, Test, read_only
from basefog.records.findings import BracketFit, ContrastTime, MeasuredTest, PatchLine, Quantity, Remark, StepFinding

LINE_MARGIN_STOPS, LINE_POINTS = 0.3, 61
"""How far the lines of patches run beyond the frames, stops, and in how many points."""

NO_REFERENCE = "the reference has no current test"


def measure_series(series: Series, reference_group: tuple[Test, ...]) -> dict[str, MeasuredTest]:
    """Return what every test's readings gave, by `stock/test`.

    Arguments: `reference_group`, the reference's current test and its repeats, the current one first; empty where the
    reference has no current test.
    """
    tests = [test for stock in series.stocks for test in stock.tests]
    works = {test.key: measure_work(test, series) for test in tests if test.wedge is not None}
    told = [work.frames for work in works.values() if isinstance(work.frames, FramesFit) and work.has_wedge]
    shutter_stops = pool_shutter_scatter(told)
    for test in tests:
        if test.key not in works or not works[test.key].has_wedge:
            works[test.key] = measure_work(test, series, shutter_stops=shutter_stops)
    shadows = {key: _read_shadows(work, series, shutter_stops) for key, work in works.items()}
    layout = _Layout(
        series=series,
        works=works,
        shadows=shadows,
        target=find_target([shadows[test.key] for test in reference_group])
        if reference_group
        else NoShadows(why=NO_REFERENCE),
        contrast=_contrast_of_group([works[test.key] for test in reference_group]),
        paper=choose_paper(series.papers, series.enlarging.paper, repeatability=series.densitometer.repeatability),
        places=gather_places(work.frames for work in works.values() if isinstance(work.frames, FramesFit)),
    )
    return {test.key: layout.measure(works[test.key]) for test in tests}


def measure_work(test: Test, series: Series, *, shutter_stops: float = STANDARD_SHUTTER_STOPS) -> Work:
    """Return a test with its fitted curve, base plus fog, the measures of the curve, and its frames fitted together.

    Arguments: `shutter_stops`, how well exposures repeat, for a curve that rests on the bracket.
    """
    fitted = fit_test_curve(test, series, shutter_stops=shutter_stops)
    base = fitted.base_plus_fog
    curve = fitted if isinstance(fitted, FittedCurve) else None
    frames: FramesFit | NoFramesFit
    if curve is None:
        frames = NoFramesFit(why="no bracket was read" if test.bracket is None else _why_of(fitted))
    else:
        frames = fit_frames(
            test,
            curve,
            grey_patch=series.protocol.grey_patch,
            repeatability=series.densitometer.repeatability,
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


def _read_shadows(work: Work, series: Series, shutter_stops: float) -> Shadows | NoShadows:
    return read_shadows(
        work.test,
        work.frames,
        work.base_plus_fog,
        shadow_patch=series.protocol.shadow_patch,
        repeatability=series.densitometer.repeatability,
        quantum=0.0 if work.test.bracket is None else work.test.bracket.quantum,
        shutter_stops=shutter_stops,
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Layout:
    """What every test of a series is set against: the reference's shadows and contrast, the paper, all other tests."""

    series: Series
    works: Mapping[str, Work]
    shadows: Mapping[str, Shadows | NoShadows]
    target: Target | NoShadows
    contrast: DevelopedContrast | None
    paper: PaperCurve | NoPaper
    places: PatchPlaces

    def measure(self, work: Work) -> MeasuredTest:
        """Return what one test's readings gave."""
        test, shadows = work.test, self.shadows[work.test.key]
        match = match_shadows(shadows, self.target, is_reference=False)
        matching_time, contrast_time = self._measure_development(work)
        frames = () if test.bracket is None else test.bracket.frames
        patches = measure_patch_stops(work.frames, self.series.patches)
        return MeasuredTest(
            stock=test.stock,
            test=test.id,
            measures={
                **work.measures,
                "shadow_match": self._tell_parts(match, shadows),
                **measure_print_contrasts(work.curve, work.curve_why, self.paper),
                "matching_time": matching_time,
            },
            patches={name: patch.stops_from_grey for name, patch in patches.items()},
            curve=None if work.curve is None else tabulate_curve(work.curve),
            curve_why=work.curve_why,
            steps=_list_steps(test),
            frames=describe_frames(shadows, self.target, match, frames),
            bracket=_trace_bracket(work.frames, self.series.protocol.shadow_patch)
            if isinstance(work.frames, FramesFit)
            else None,
            exposures_repeat_stops=work.frames.exposures_repeat_stops if isinstance(work.frames, FramesFit) else None,
            tone_reproduction=reproduce_tones(work.curve, self.paper),
            contrast_time=contrast_time,
            remarks=(
                *remark_on_curve(work.curve),
                *self._remark_on_bracket(work),
                *(() if test.developed.batch is None else remark_on_batch(test.developed.batch, self.series.batches)),
            ),
        )

    def _tell_parts(self, match: ShadowMatch, shadows: Shadows | NoShadows) -> Quantity:
        """Return a shadow match with its own parts, and as what is subtracted from them the reference's."""
        if match.own is None or match.reference is None or not isinstance(shadows, Shadows):
            return match.quantity
        own_wedge = shadows.on_curve.curve.wedge if isinstance(shadows.on_curve, OnCurve) else None
        return replace(
            match.quantity,
            low=None,
            high=None,
            parts=parts_of_draws(match.own, _wedge_of_rows(match.own, own_wedge)),
            of_reference=scale_parts(
                parts_of_draws(match.reference, _wedge_of_rows(match.reference, self._wedge_of_target())), -1.0
            ),
        )

    def _wedge_of_target(self) -> WedgeRows | None:
        """Return the wedge whose rows the target has: that of the reference's tests, where it is one for all."""
        if isinstance(self.target, NoShadows):
            return None
        curve = self.works[self.target.keys[0]].curve
        return None if curve is None else curve.wedge

    def _measure_development(self, work: Work) -> tuple[Quantity, ContrastTime | None]:
        """Return a test's matching time, and its contrast-time curve where other times of it were tested."""
        test = work.test
        if test.development_of is not None:
            return measure_matching_time(test, (), self.contrast), None
        stock = self.series.stock(test.stock)
        family = [_contrast_of(self.works[one.key]) for one in find_family(stock, test)]
        aim = None if self.contrast is None else self.contrast.average_gradient.value
        return measure_matching_time(test, family, self.contrast), trace_contrast_time(family, aim)

    def _remark_on_bracket(self, work: Work) -> tuple[Remark, ...]:
        if work.test.bracket is None:
            return ()
        if isinstance(work.frames, NoFramesFit):
            return work.frames.remarks
        return (
            *work.frames.remarks,
            *remark_on_exposures(work.frames),
            *remark_on_exchanged_patches(work.frames, self.places),
        )


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
