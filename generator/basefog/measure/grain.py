"""Grain and sharpness of a test: quantities from what its scans showed and from base densities, numbers alone."""

from basefog.measure.intervals import missing
from basefog.records.findings import Quantity, Spectrum
from basefog.records.scan_figures import Correlation, EdgeSharpness, GrainFigures, NotSeen, TestFigures
from basefog.records.vocabulary import MEASURE_BY_ID

SCAN_MEASURES = ("rms_granularity", "grain_correlation", "print_graininess", "mtf50")

NET_DENSITY_RANGE = (0.8, 1.2)
"""Net density that granularity is stated for (measures.md: in the manner of ISO 10505, which states it at 1.0)."""

LOSSY = "from a file with lossy compression, which may have changed the grain; save scans as TIFF or PNG"


def measure_grain_of_test(
    figures: TestFigures, *, base_density: float | None, paper_white: float | None
) -> dict[str, Quantity]:
    """Return the four measures of scans by their ids, each with its interval or why it has none.

    Arguments: `base_density`, base plus fog of the film; `paper_white`, the least density of the paper; both None
    where they aren't known.
    """
    return {
        "rms_granularity": _granularity(figures.grain, base_density, "base plus fog"),
        "grain_correlation": _correlation(figures.grain),
        "print_graininess": _granularity(figures.print_grain, paper_white, "the paper's white"),
        "mtf50": _sharpness(figures.edge),
    }


def spectrum_of_test(figures: TestFigures) -> Spectrum | None:
    """Return the spectrum of a test's grain, None where its scans show none."""
    return None if isinstance(figures.grain, NotSeen) else figures.grain[0].spectrum


def _granularity(grain: tuple[GrainFigures, ...] | NotSeen, base: float | None, base_name: str) -> Quantity:
    """Return a thousand times the standard deviation, or why it is not stated at this density."""
    if isinstance(grain, NotSeen):
        return missing(grain.why)
    [view] = grain
    seen = view.granularity
    if isinstance(seen, NotSeen):
        return missing(seen.why)
    if base is None:
        return missing(f"the net density of the view isn't known: {base_name} is missing")
    net = seen.density - base
    least, most = NET_DENSITY_RANGE
    if not least <= net <= most:
        return missing(
            f"the view has a net density of {net:.2f}, and granularity is stated from {least} to {most} only: "
            "it grows with density"
        )
    return Quantity(
        value=1000 * seen.sigma,
        low=1000 * seen.low,
        high=1000 * seen.high,
        unit="1",
        note=LOSSY if view.lossy else None,
        at_density=net,
    )


def _correlation(grain: tuple[GrainFigures, ...] | NotSeen) -> Quantity:
    unit = MEASURE_BY_ID["grain_correlation"].unit
    if isinstance(grain, NotSeen):
        return missing(grain.why, unit)
    view = grain[0]
    found = view.correlation
    if not isinstance(found, Correlation):
        return missing("it was not measured" if found is None else found.why, unit)
    return Quantity(
        value=found.width_um,
        low=found.low_um,
        high=found.high_um,
        unit=unit,
        note=LOSSY if view.lossy else None,
    )


def _sharpness(edge: EdgeSharpness | NotSeen) -> Quantity:
    unit = MEASURE_BY_ID["mtf50"].unit
    if isinstance(edge, NotSeen):
        return missing(edge.why, unit)
    note = f"film, taking lens and scanner together; edge of {edge.density_difference:.2f} in density"
    return Quantity(value=edge.mtf50, low=edge.low, high=edge.high, unit=unit, note=note)
