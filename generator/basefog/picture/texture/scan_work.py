"""One scan's measuring: a pure function of a few regions of it and of a few numbers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from basefog.measure.intervals import missing
from basefog.measure.resampling import seeded_generator
from basefog.picture.regions import Region
from basefog.picture.scans import GreyArray
from basefog.picture.texture.apertures import APERTURE_UM, Granularity, NoGranularity, measure_granularity
from basefog.picture.texture.calibration import CodeDensity, Densities, read_densities, why_too_rough, why_unusable
from basefog.picture.texture.correlation import Correlation, NoCorrelation, measure_correlation
from basefog.picture.texture.edge import NoSharpness, measure_edge
from basefog.picture.texture.shading import remove_shading
from basefog.picture.texture.spectrum import compute_spectrum
from basefog.records.findings import EdgeResponse, Quantity, Spectrum
from basefog.records.numbers import fixed
from basefog.records.vocabulary import MEASURE_BY_ID, ViewSubject

NET_DENSITY_RANGE = (0.8, 1.2)
"""Net density that granularity is stated for (measures.md: in the manner of ISO 10505, which states it at 1.0)."""

NO_CALIBRATION = "the scan has no code_density: nothing is measured from an uncalibrated scan"
LEAST_SIDE_PX = 16
TOO_SMALL = "the view is only a few pixels large: choose a larger even area"
LOSSY = "from a file with lossy compression, which may have changed the grain; save scans as TIFF or PNG"
NO_PITCH = "the scan's pixels_per_mm is not given"


@dataclass(frozen=True, kw_only=True, slots=True)
class ScanWork:
    """What is to be measured from one scan of one test: all that the result depends on besides the file.

    `grain` and `edge` are the regions of the views that show them, None where this scan shows none. `base_density` is
    base plus fog of a film, the paper's white of a print, None where it isn't known. `magnification` scales the
    aperture of a print, None for a film. `seed` is the test's key. `lossy` says that the file's kind may lose detail.
    """

    seed: str
    of: ViewSubject
    width_px: int
    height_px: int
    code_density: CodeDensity | None
    pixels_per_mm: float | None
    grain: Region | None
    edge: Region | None
    base_density: float | None
    magnification: float | None
    lossy: bool = False


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ScanFindings:
    """What was measured from one scan: quantities by measure id, each with its interval or why it has none."""

    measures: Mapping[str, Quantity] = field(default_factory=dict)
    spectrum: Spectrum | None = None
    edge_response: EdgeResponse | None = None


def regions_of_work(work: ScanWork) -> tuple[Region, ...]:
    """Return what is read of a scan to measure it: nothing where nothing can be measured."""
    if _why_nothing(work) is not None:
        return ()
    return tuple(region for region in (work.grain, work.edge) if region is not None)


def measure_regions(codes: Sequence[GreyArray], work: ScanWork) -> ScanFindings:
    """Return what a scan shows of grain and sharpness; `codes` are those of `regions_of_work`."""
    left = list(codes)
    grain = left.pop(0) if left and work.grain is not None else None
    edge = left.pop(0) if left and work.edge is not None else None
    return measure_codes(grain, edge, work)


def measure_codes(grain: GreyArray | None, edge: GreyArray | None, work: ScanWork) -> ScanFindings:
    """Return what the regions of a scan show of grain and sharpness, each None where the scan shows none."""
    code_density, pixels_per_mm = work.code_density, work.pixels_per_mm
    why = _why_nothing(work)
    if why is not None or code_density is None or pixels_per_mm is None:
        return _nothing(work, why or NO_CALIBRATION)
    measures: dict[str, Quantity] = {}
    spectrum = edge_response = None
    if grain is not None:
        measures, spectrum = _measure_grain(read_densities(grain, code_density), work, pixels_per_mm)
    if work.lossy:
        measures = {name: replace(quantity, note=LOSSY) for name, quantity in measures.items()}
    if edge is not None:
        densities = read_densities(edge, code_density)
        measures["mtf50"], edge_response = _measure_sharpness(densities, work, pixels_per_mm)
    return ScanFindings(measures=measures, spectrum=spectrum, edge_response=edge_response)


def _measure_grain(
    densities: Densities, work: ScanWork, pixels_per_mm: float
) -> tuple[dict[str, Quantity], Spectrum | None]:
    """Return the grain measures of a film or a print, and a film's spectrum."""
    pitch_um = 1000.0 / pixels_per_mm
    if min(densities.density.shape) < LEAST_SIDE_PX:
        return dict(_nothing(replace(work, edge=None), TOO_SMALL).measures), None
    even = remove_shading(densities.density)
    why = why_unusable(densities) or why_too_rough(densities.step, float(even.std()))
    if work.of == "print":
        return {"print_graininess": _measure_print(densities, work, pitch_um, why)}, None
    seen = NoGranularity(why=why) if why else measure_granularity(densities.density, pitch_um)
    if isinstance(seen, NoGranularity):
        return {"rms_granularity": missing(seen.why), "grain_correlation": missing(seen.why, "um")}, None
    measures = {
        "rms_granularity": _at_density(seen, work.base_density, "base plus fog"),
        "grain_correlation": _quantity_of_correlation(measure_correlation(even, pitch_um)),
    }
    return measures, compute_spectrum(
        even, pitch_um, note=f"at density {fixed(seen.density, 2)}, base and fog included"
    )


def _measure_print(densities: Densities, work: ScanWork, pitch_um: float, why: str | None) -> Quantity:
    if why is not None:
        return missing(why)
    if work.magnification is None:
        return missing("enlarging.magnification is not given, and the aperture on the print is 48 um times it")
    seen = measure_granularity(densities.density, pitch_um, APERTURE_UM * work.magnification)
    if isinstance(seen, NoGranularity):
        return missing(seen.why)
    return _at_density(seen, work.base_density, "the paper's white")


def _at_density(seen: Granularity, base: float | None, base_name: str) -> Quantity:
    """Return a thousand times the standard deviation, or why it is not stated at this density."""
    if base is None:
        return missing(f"the net density of the view isn't known: {base_name} is missing")
    net = seen.density - base
    least, most = NET_DENSITY_RANGE
    if not least <= net <= most:
        return missing(
            f"the view has a net density of {fixed(net, 2)}, and granularity is stated from {least} to {most} only: "
            "it grows with density"
        )
    return Quantity(value=1000 * seen.sigma, low=1000 * seen.low, high=1000 * seen.high, unit="1", at_density=net)


def _quantity_of_correlation(found: Correlation | NoCorrelation) -> Quantity:
    if isinstance(found, NoCorrelation):
        return missing(found.why, "um")
    return Quantity(value=found.width_um, low=found.low_um, high=found.high_um, unit="um")


def _measure_sharpness(
    densities: Densities, work: ScanWork, pixels_per_mm: float
) -> tuple[Quantity, EdgeResponse | None]:
    unit = MEASURE_BY_ID["mtf50"].unit
    if why := why_unusable(densities):
        return missing(why, unit), None
    found = measure_edge(densities.density, pixels_per_mm, seeded_generator(work.seed, "edge"))
    if isinstance(found, NoSharpness):
        return missing(found.why, unit), None
    note = f"film, taking lens and scanner together; edge of {fixed(found.density_difference, 2)} in density"
    return Quantity(value=found.mtf50, low=found.low, high=found.high, unit=unit, note=note), found.response


def _why_nothing(work: ScanWork) -> str | None:
    if work.code_density is None:
        return NO_CALIBRATION
    return NO_PITCH if work.pixels_per_mm is None else None


def _nothing(work: ScanWork, why: str) -> ScanFindings:
    """Return every measure that this scan's views would give, missing for one reason."""
    grain = ("print_graininess",) if work.of == "print" else ("rms_granularity", "grain_correlation")
    names = (grain if work.grain is not None else ()) + (("mtf50",) if work.edge is not None else ())
    return ScanFindings(measures={name: missing(why, MEASURE_BY_ID[name].unit) for name in names})
