"""The words the contract fixes: measures, charts, verdicts, and the calls that prose may make."""

from dataclasses import dataclass
from typing import Final, Literal

CONTRACT_VERSION: Final = 1

VerdictWord = Literal["higher", "lower", "no measurable difference", "not measured"]
ScatterSource = Literal["repeats", "batches", "assumed"]
ViewSubject = Literal["print", "negative"]
ViewShows = Literal["tone", "grain", "sharpness"]
OptionalPage = Literal["coming", "open"]

LOG10_2: Final = 0.30102999566398120
"""One stop in log exposure."""

STANDARD_REPEATABILITY: Final = 0.01
"""Standard deviation of one density reading where the series names none (common practice, no source)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Measure:
    """One computed quantity: its id in the data files, its name on pages, its unit.

    `unit` is as written in the data files: `D` density, `log H` decimal logarithm of exposure, `1` a pure ratio,
    `stops`, `s`, `min`, `um`, `cycles/mm`, `ISO` the arithmetic speed scale. `comparative` measures are already
    against the reference and so carry no second verdict.
    """

    id: str
    name: str
    unit: str
    definition: str
    comparative: bool = False


MEASURES: Final[tuple[Measure, ...]] = (
    Measure(
        id="base_plus_fog",
        name="Base plus fog",
        unit="D",
        definition="Density of film that was processed but not exposed.",
    ),
    Measure(
        id="maximum_density",
        name="Maximum density",
        unit="D",
        definition="Density of the curve at the most exposed reading; a lower bound where the curve still rises there.",
    ),
    Measure(
        id="speed_point",
        name="Speed point",
        unit="log H",
        definition="Log exposure at which the curve stands 0.10 above base plus fog.",
    ),
    Measure(
        id="iso_speed",
        name="ISO speed",
        unit="ISO",
        definition="0.80 over the exposure at the speed point, only where the contrast condition of ISO 6 is met.",
    ),
    Measure(
        id="contrast_corrected_speed",
        name="Contrast-corrected speed",
        unit="ISO",
        definition="Speed brought to standard contrast by the delta X parabola where only contrast fails ISO 6.",
    ),
    Measure(
        id="speed_from_reference",
        name="Speed from the reference",
        unit="stops",
        definition="Stops by which the stock’s speed point needs less light than the reference’s; positive is faster.",
        comparative=True,
    ),
    Measure(
        id="average_gradient",
        name="Average gradient",
        unit="1",
        definition="Mean slope of the curve over the 1.30 of log exposure that follows the speed point.",
    ),
    Measure(
        id="contrast_index",
        name="Contrast index",
        unit="1",
        definition="Slope of the line from base plus fog that meets the curve at distances 0.2 and 2.2 along itself.",
    ),
    Measure(
        id="gamma",
        name="Gamma",
        unit="1",
        definition="Slope of the straight line: mean of the 0.60-wide windows within a tenth of the steepest.",
    ),
    Measure(
        id="shadow_gradient",
        name="Shadow gradient",
        unit="1",
        definition="Mean slope of the curve from the speed point to 0.60 above it.",
    ),
    Measure(
        id="middle_gradient",
        name="Middle gradient",
        unit="1",
        definition="Mean slope of the curve from 0.60 to 1.40 above the speed point.",
    ),
    Measure(
        id="highlight_gradient",
        name="Highlight gradient",
        unit="1",
        definition="Mean slope of the curve from 1.40 to 2.00 above the speed point.",
    ),
    Measure(
        id="useful_range",
        name="Useful range",
        unit="stops",
        definition="Stops over which the curve is steeper than three tenths of the average gradient.",
    ),
    Measure(
        id="shadow_match",
        name="Shadow match",
        unit="stops",
        definition="Extra light the stock needs for the reference’s shadow density on the subject; positive is slower.",
        comparative=True,
    ),
    Measure(
        id="print_exposure",
        name="Print exposure",
        unit="s",
        definition="Enlarging time that prints the unexposed margin to the black the reference prints to.",
    ),
    Measure(
        id="rms_granularity",
        name="RMS granularity",
        unit="1",
        definition="A thousand times the standard deviation of density through a 48 um aperture, at net density 1.0.",
    ),
    Measure(
        id="grain_correlation",
        name="Grain correlation",
        unit="um",
        definition="Full width at half height of the density’s autocorrelation, of film and scanner together.",
    ),
    Measure(
        id="print_graininess",
        name="Print graininess",
        unit="1",
        definition="The granularity of the print, its aperture scaled by the magnification; not comparable with film.",
    ),
    Measure(
        id="mtf50",
        name="MTF50",
        unit="cycles/mm",
        definition="Spatial frequency at which film and scanner together keep half the contrast of a slanted edge.",
    ),
    Measure(
        id="print_shadow_contrast",
        name="Print shadow contrast",
        unit="1",
        definition="Mean slope of print density against subject log luminance over the shadow range.",
    ),
    Measure(
        id="print_middle_contrast",
        name="Print middle contrast",
        unit="1",
        definition="Mean slope of print density against subject log luminance over the middle range.",
    ),
    Measure(
        id="print_highlight_contrast",
        name="Print highlight contrast",
        unit="1",
        definition="Mean slope of print density against subject log luminance over the highlight range.",
    ),
    Measure(
        id="matching_time",
        name="Matching time",
        unit="min",
        definition="Development time that would give the reference’s average gradient, inside the tested range.",
        comparative=True,
    ),
)

MEASURE_BY_ID: Final = {measure.id: measure for measure in MEASURES}

CHARTS: Final[dict[str, str]] = {
    "curve": "Characteristic curve",
    "tones": "Tone separation",
    "patches": "Patches",
    "tone-reproduction": "Tone reproduction",
    "frames": "Bracketed frames",
    "contrast-time": "Contrast against time",
    "control-strip": "Control strips",
    "spectrum": "Grain spectrum",
    "edge-response": "Edge response",
}
"""Ids of charts, as prose and addresses name them, and their titles."""

PROSE_CALLS: Final = ("value", "difference", "verdict", "sentence", "chart", "view")
"""The only names that `{{ }}` in Markdown may call; each takes a stock or `stock/test`, then one literal."""

COMPARING_CALLS: Final = ("difference", "verdict", "sentence")
"""Calls that set against the reference; with two stocks or tests before the measure, the first against the second."""
