"""What scans show of grain and sharpness: plain figures, from pixels, calibration and resolution alone.

Nothing here knows a film's base plus fog: densities count base and fog in, and what is stated at a net density is made
of these figures afterwards (`measure/grain.py`).
"""

from dataclasses import dataclass

from basefog.records.findings import EdgeResponse, Spectrum


@dataclass(frozen=True, kw_only=True, slots=True)
class NotSeen:
    """Why a scan does not show something, in the tester's words."""

    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Granularity:
    """Standard deviation of density through the aperture as read, with its 95 % interval.

    `density` is the mean, base and fog included; `apertures` how many fit side by side; `degrees_of_freedom` how many
    independent ones the whole region is worth.
    """

    sigma: float
    low: float
    high: float
    density: float
    apertures: int
    degrees_of_freedom: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Correlation:
    """Full width at half height of the autocorrelation, um, with its 95 % interval."""

    width_um: float
    low_um: float
    high_um: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class EdgeSharpness:
    """Frequency of half response in cycles/mm with its 95 % interval, the whole response, and the edge itself.

    `density_difference` is that between the two sides; `degrees` the edge's slant to the nearer row or column.
    """

    mtf50: float
    low: float
    high: float
    response: EdgeResponse
    density_difference: float
    degrees: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class GrainFigures:
    """What one view showed of grain; `view` is its id.

    `correlation` and `spectrum` are None of a print, of which they are not asked, `spectrum` also where there is none.
    `lossy` says that the file's kind may have lost detail.
    """

    view: str
    granularity: Granularity | NotSeen
    correlation: Correlation | NotSeen | None = None
    spectrum: Spectrum | None = None
    lossy: bool = False


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class TestFigures:
    """What all scans of one test showed: of the negative's grain, the print's grain and the negative's edge.

    Grain is by view, in the series' order, at least one; NotSeen where no view was measured.
    """

    grain: tuple[GrainFigures, ...] | NotSeen
    print_grain: tuple[GrainFigures, ...] | NotSeen
    edge: EdgeSharpness | NotSeen
