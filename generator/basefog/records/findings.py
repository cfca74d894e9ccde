"""What was computed from a series: quantities with intervals, verdicts, curves; pure values, no files, no drawing.

Records that hold arrays compare by identity; their arrays are float64 and read-only.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from basefog.records.content import FloatArray
from basefog.records.vocabulary import VerdictWord


@dataclass(frozen=True, kw_only=True, slots=True)
class Quantity:
    """One measured value with its 95 % interval, or None and why it can't be had, in the tester's words.

    `bound` is "lower" where the true value is at least this; `note` tells how it departs from the plain definition;
    `at_density` is the net density at which it was read and `as_read` what was read there, where it is stated at
    another; `relative_to_average` is carried by the measures that measures.md names.
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

    @property
    def half_width(self) -> float | None:
        """Half the width of the interval, None where there is no value."""
        if self.low is None or self.high is None:
            return None
        return (self.high - self.low) / 2


@dataclass(frozen=True, kw_only=True, slots=True)
class Comparison:
    """A difference (this less the other), its 95 % interval, and what may be said of it.

    `could_see` is half the interval's width: the smallest difference that the two tests could have told.
    `difference` and the rest are None, and `why` is set, where the verdict is "not measured".
    """

    verdict: VerdictWord
    difference: float | None = None
    low: float | None = None
    high: float | None = None
    could_see: float | None = None
    unit: str = "1"
    why: str | None = None


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
class PatchFinding:
    """How light the film renders a patch, in stops from the grey patch; against the eye and the reference."""

    patch: str
    stops_from_grey: Quantity
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
    """Test-to-test scatter of one measure, pooled from repeats: standard deviation and degrees of freedom."""

    measure: str
    sigma: float
    degrees_of_freedom: int
    stocks: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Remark:
    """Something worth knowing that the numbers show; `mend` is one act that the tester can do."""

    message: str
    mend: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TestFindings:
    """All that was computed of one test. `measures` and `against_reference` are by measure id, in contract order."""

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
    movement: Mapping[str, Comparison] = field(default_factory=dict)
    tone_reproduction: ToneReproduction | None = None
    contrast_time: ContrastTime | None = None
    spectrum: Spectrum | None = None
    edge_response: EdgeResponse | None = None
    remarks: tuple[Remark, ...] = ()

    @property
    def key(self) -> str:
        """The test's name over the whole series: `stock/test`."""
        return f"{self.stock}/{self.test}"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Findings:
    """The findings of a whole series.

    `tests` is by `stock/test`; `reference` names the reference's current test; `scatter` is by measure id and
    `patch_scatter` by patch id, both empty until at least three stocks have repeats.
    """

    tests: Mapping[str, TestFindings]
    reference: str | None
    batches: tuple[BatchFinding, ...] = ()
    scatter: Mapping[str, Scatter] = field(default_factory=dict)
    patch_scatter: Mapping[str, Scatter] = field(default_factory=dict)

    def of(self, stock: str, test: str) -> TestFindings:
        """Return the findings of one test. Raises KeyError where there is none."""
        return self.tests[f"{stock}/{test}"]

    @property
    def of_reference(self) -> TestFindings | None:
        """The findings of the reference's current test, or None where all are withdrawn."""
        return None if self.reference is None else self.tests[self.reference]
