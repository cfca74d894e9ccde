"""What was computed from a series: quantities with intervals, verdicts, curves; pure values, no files, no drawing.

Records that hold arrays compare by identity; their arrays are float64 and read-only.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import ClassVar, Literal

from basefog.records.content import FloatArray
from basefog.records.vocabulary import ScatterSource, VerdictWord


@dataclass(frozen=True, kw_only=True)
class WedgePart:
    """What a quantity owes to the calibration of the wedge it was exposed through.

    `by_step` is the change of the quantity for each unit of a step's calibrated density (central difference over
    +-u_j), `u_density` the standard uncertainty u_j of that density, both by step id. It has no slots, so that the
    variance, which every difference asks for, is summed once.
    """

    wedge: str
    by_step: Mapping[str, float]
    u_density: Mapping[str, float]

    @cached_property
    def variance(self) -> float:
        """The sum over the steps of (sensitivity x u_j) squared."""
        return math.fsum([(slope * self.u_density[step]) ** 2 for step, slope in self.by_step.items()])


@dataclass(frozen=True, kw_only=True, slots=True)
class LampPart:
    """What a quantity owes to the exposure with no wedge in the beam.

    `per_log_unit` is the change of the quantity for each unit of log10 lux_s; `lux_s` and `u_lux_s` (its standard
    uncertainty, lux s) name the lamp: two tests that agree in both share its error.
    """

    lux_s: float
    u_lux_s: float
    per_log_unit: float

    @property
    def variance(self) -> float:
        """The squared standard uncertainty that the lamp brings."""
        return (self.per_log_unit * self.u_lux_s / (self.lux_s * math.log(10))) ** 2


@dataclass(frozen=True, kw_only=True, slots=True)
class ErrorParts:
    """Where the error of a figure comes from; all of it in the figure's unit, of speeds in log10 of the speed.

    `unshared` is the variance that no other test shares: readings and sampling. What other tests may share stands by
    its source: the wedge's calibration and the lamp.
    """

    unshared: float
    wedge: WedgePart | None = None
    lamp: LampPart | None = None

    @property
    def shared(self) -> float:
        """The variance of the parts that other tests may share."""
        return sum(0.0 if part is None else part.variance for part in (self.wedge, self.lamp))

    @property
    def variance(self) -> float:
        """All of it."""
        return self.unshared + self.shared


@dataclass(frozen=True, kw_only=True, slots=True)
class Quantity:
    """One measured value with its 95 % interval, or None and why it can't be had, in the tester's words.

    `bound` is "lower" where the true value is at least this; `note` tells how it departs from the plain definition;
    `at_density`, `as_read` and `relative_to_average` are carried by the measures that measures.md names. `exact` is
    the figure before it was rounded to a standard scale. `parts` say where the error comes from; of a measure that is
    itself a difference to the reference they are the test's own and `of_reference` those of what is subtracted.

    `tests` is how many tests the figure is the mean of, `batches` in which batch each was developed (None: not known),
    and `scatter` the standard deviation by which one such test differs from its likes though nothing was changed, in
    the unit of the parts; None where nothing tells it.
    """

    value: float | None
    low: float | None
    high: float | None
    unit: str
    why: str | None = None
    bound: str | None = None
    note: str | None = None
    at_density: float | None = None
    as_read: float | None = None
    relative_to_average: float | None = None
    exact: float | None = None
    parts: ErrorParts | None = None
    of_reference: ErrorParts | None = None
    tests: int = 1
    batches: tuple[str | None, ...] = (None,)
    scatter: float | None = None

    @property
    def half_width(self) -> float | None:
        """Half the width of the interval, None where there is no value."""
        if self.low is None or self.high is None:
            return None
        return (self.high - self.low) / 2


@dataclass(frozen=True, kw_only=True, slots=True)
class ToSettle:
    """How many further tests, `of` the stock or of the reference, would make a difference firm if it is what it seems.

    `tests` is 0 where it is firm already; None with `why` where repeats can't do it or nothing tells how many.
    """

    tests: int | None
    of: Literal["stock", "reference"] | None = None
    why: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Comparison:
    """A difference (this less the other), its 95 % interval, and what may be said of it.

    `could_see` is half the interval's width: the 95 % limit. `firm` says whether the verdict holds for all stocks of
    the series at once, `from_reference` which share of its variance is the reference's, `counts` what its error
    holds. `difference` and the rest are None, and `why` is
    set, where the verdict is "not measured".
    """

    verdict: VerdictWord
    difference: float | None = None
    low: float | None = None
    high: float | None = None
    could_see: float | None = None
    unit: str = "1"
    why: str | None = None
    firm: bool | None = None
    from_reference: float | None = None
    counts: tuple[str, ...] = ()
    to_settle: ToSettle | None = None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Curve:
    """A fitted characteristic curve on an even grid over the readings, with its pointwise 95 % band.

    All arrays have the same length. `gradient` is the mean slope dD/dlogH over 0.30 log units about each
    point, less at the ends, with its own band. `absolute` says whether `log_exposure` is log10 lux seconds or relative;
    `axis` names the relative axis (the wedge's id, or "bracket"), so that two relative curves are only put on one axis
    where they share it.
    """

    log_exposure: FloatArray
    density: FloatArray
    low: FloatArray
    high: FloatArray
    gradient: FloatArray
    gradient_low: FloatArray
    gradient_high: FloatArray
    absolute: bool
    axis: str
    note: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class StepFinding:
    """The mean of one step's readings, and how many there were."""

    step: str
    log_exposure: float
    density: float
    readings: int


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameFinding:
    """One frame of the bracket against the target shadow density.

    `residual_density` is stock less reference, `residual_stops` this frame's stops less the shadow match; both None
    where they can't be had. `shadow_density` is the net density of the shadow patch on this frame.
    """

    frame: str
    stops: float
    chosen: bool
    shadow_density: float | None
    residual_density: float | None
    residual_stops: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameReading:
    """One mean reading of a patch on a frame, and what the fit of all frames makes of it.

    `density` stands on the curve's own base plus fog, as the curve does; `predicted_density` is the curve's at the
    frame's exposure and the patch's place, None where the fit has either not or the curve ends before it. `used` says
    whether it served; `left_out`, that it disagrees with the others and was left out (or would have been, had there
    been enough of them).
    """

    frame: str
    stops: float
    patch: str
    density: float
    predicted_density: float | None
    used: bool
    left_out: bool


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PatchLine:
    """The density of one patch over the bracket as the fit of all frames has it: equal lengths, NaN off the curve."""

    patch: str
    stops: FloatArray
    density: FloatArray


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BracketFit:
    """The frames of a bracket fitted together: every reading, and the line of every patch that has a place.

    Densities stand on `base`, the curve's base plus fog (None where it isn't known). `shadow_patch` is the one that
    frames are matched by, None where the protocol names none.
    """

    base: float | None
    shadow_patch: str | None
    readings: tuple[FrameReading, ...]
    lines: tuple[PatchLine, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PatchFinding:
    """How light the film renders a patch, in stops from the grey patch; against the eye and the reference.

    `pooled` is the stock's figure where it is the mean of several tests.
    """

    patch: str
    stops_from_grey: Quantity
    pooled: Quantity | None
    against_eye: Comparison
    against_reference: Comparison


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ToneReproduction:
    """Print density against subject log luminance (zero at the speed point), through the series' paper."""

    subject_log_luminance: FloatArray
    print_density: FloatArray
    low: FloatArray
    high: FloatArray
    paper: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Spectrum:
    """The Wiener spectrum of density over spatial frequency on the film, averaged over all directions.

    Both arrays have the same length; `power_um2` is a variance of density for each cycle/um squared.
    """

    cycles_per_mm: FloatArray
    power_um2: FloatArray
    note: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class EdgeResponse:
    """The share of an edge's contrast that film and scanner keep at each spatial frequency, with its 95 % band."""

    cycles_per_mm: FloatArray
    response: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True, kw_only=True, slots=True)
class TimePoint:
    """One test of a contrast-time family."""

    test: str
    time_min: float
    average_gradient: Quantity


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ContrastTime:
    """Average gradient against development time over a family of tests, and its monotone curve."""

    points: tuple[TimePoint, ...]
    time_min: FloatArray
    average_gradient: FloatArray
    reference_average_gradient: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class BatchFinding:
    """One density of a batch's control strip against the other batches (leave one out)."""

    batch: str
    strip_step: str
    density: float
    mean: float | None
    sigma: float | None
    beyond_2_sigma: bool
    beyond_3_sigma: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Scatter:
    """Test-to-test scatter of one measure or patch: how far two tests of one film differ though nothing was changed.

    `sigma` is its standard deviation, in the measure's unit; where `relative`, a share of the test's own value; where
    `by_gradient`, a density, to be divided by the curve's gradient. `source` says what told it: the repeats of
    `stocks` stocks, the control strips of the batches, or nothing but an assumption, which has no degrees of freedom.
    """

    measure: str
    sigma: float
    degrees_of_freedom: int | None
    source: ScatterSource
    stocks: int = 0
    relative: bool = False
    by_gradient: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Factors:
    """What half an interval, and a firm difference, are times the square root of the variance, for one measure.

    `student` for one verdict alone; `dunnett` for all `stocks` against the reference at once; `any_two` for all pairs
    of `stocks` and reference. `degrees_of_freedom` None is infinite.
    """

    measure: str
    stocks: int
    degrees_of_freedom: int | None
    student: float
    dunnett: float
    any_two: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Remark:
    """Something worth knowing that the numbers show; `mend` is one act that the tester can do."""

    message: str
    mend: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MeasuredTest:
    """What one test's readings gave, before it is set against others.

    `measures` by id: all that need no other test, and of those that do the ones that are formed draw by draw;
    `patches`, stops from grey by patch id.
    """

    stock: str
    test: str
    measures: Mapping[str, Quantity]
    patches: Mapping[str, Quantity]
    curve: Curve | None
    curve_why: str | None
    steps: tuple[StepFinding, ...]
    frames: tuple[FrameFinding, ...]
    bracket: BracketFit | None = None
    exposures_repeat_stops: float | None = None
    tone_reproduction: ToneReproduction | None = None
    contrast_time: ContrastTime | None = None
    remarks: tuple[Remark, ...] = ()

    @property
    def key(self) -> str:
        """The test's name over the whole series: `stock/test`."""
        return f"{self.stock}/{self.test}"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ScannedTest:
    """What one test's scans gave: measures by id, each with its interval or why it has none."""

    measures: Mapping[str, Quantity]
    spectrum: Spectrum | None = None
    edge_response: EdgeResponse | None = None
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TestFindings:
    """All that was found of one test, made once, in `judge`.

    `measures`, `pooled` and `against_reference` are by measure id, in contract order. `pooled` is filled on the
    current test of a stock with repeats: the stock's figures, which verdicts then use. `group` names the tests that
    they are the means of. `movement` and `patch_movement` are against `moved_from`.
    """

    DIGEST_ONCE: ClassVar = True

    stock: str
    test: str
    current: bool
    reference: str | None
    measures: Mapping[str, Quantity]
    against_reference: Mapping[str, Comparison]
    curve: Curve | None
    curve_why: str | None
    steps: tuple[StepFinding, ...]
    frames: tuple[FrameFinding, ...]
    patches: Mapping[str, PatchFinding]
    pooled: Mapping[str, Quantity] = field(default_factory=dict)
    group: tuple[str, ...] = ()
    movement: Mapping[str, Comparison] = field(default_factory=dict)
    patch_movement: Mapping[str, Comparison] = field(default_factory=dict)
    moved_from: str | None = None
    bracket: BracketFit | None = None
    exposures_repeat_stops: float | None = None
    tone_reproduction: ToneReproduction | None = None
    contrast_time: ContrastTime | None = None
    spectrum: Spectrum | None = None
    edge_response: EdgeResponse | None = None
    remarks: tuple[Remark, ...] = ()

    @property
    def key(self) -> str:
        """The test's name over the whole series: `stock/test`."""
        return f"{self.stock}/{self.test}"

    def figure(self, measure: str) -> Quantity:
        """Return the stock's figure of a measure where this test carries one, else the test's own."""
        return self.pooled.get(measure, self.measures[measure])

    def patch_figure(self, patch: str) -> Quantity:
        """Return the stock's figure of a patch where this test carries one, else the test's own."""
        finding = self.patches[patch]
        return finding.stops_from_grey if finding.pooled is None else finding.pooled


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Findings:
    """The findings of a whole series.

    `tests` is by `stock/test`; `reference` names the reference's current test; `scatter` and `factors` are by measure
    id, `patch_scatter` and `patch_factors` by patch id.
    """

    tests: Mapping[str, TestFindings]
    reference: str | None
    batches: tuple[BatchFinding, ...] = ()
    scatter: Mapping[str, Scatter] = field(default_factory=dict)
    patch_scatter: Mapping[str, Scatter] = field(default_factory=dict)
    factors: Mapping[str, Factors] = field(default_factory=dict)
    patch_factors: Mapping[str, Factors] = field(default_factory=dict)

    def of(self, stock: str, test: str) -> TestFindings:
        """Return the findings of one test. Raises KeyError where there is none."""
        return self.tests[f"{stock}/{test}"]

    @property
    def of_reference(self) -> TestFindings | None:
        """The findings of the reference's current test, or None where all are withdrawn."""
        return None if self.reference is None else self.tests[self.reference]
