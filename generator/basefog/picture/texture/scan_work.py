"""One scan's measuring: a pure function of a few regions of it and of how it was calibrated."""

from collections.abc import Iterable
from dataclasses import dataclass

from basefog.measure.resampling import seeded_generator
from basefog.picture.texture.apertures import APERTURE_UM, measure_granularity
from basefog.picture.texture.calibration import CodeDensity, Densities, read_densities, why_too_rough, why_unusable
from basefog.picture.texture.correlation import measure_correlation
from basefog.picture.texture.edge import measure_edge
from basefog.picture.texture.shading import remove_shading
from basefog.picture.texture.spectrum import compute_spectrum
from basefog.records.content import FloatArray
from basefog.records.numbers import fixed
from basefog.records.scan_figures import EdgeSharpness, GrainFigures, Granularity, NotSeen
from basefog.records.vocabulary import ViewSubject
from basefog.scanfiles import GreyArray, Region

NO_CALIBRATION = "the scan has no code_density: nothing is measured from an uncalibrated scan"
LEAST_SIDE_PX = 16
TOO_SMALL = "the view is only a few pixels large: choose a larger even area"
NO_PITCH = "the scan's pixels_per_mm is not given"
NO_MAGNIFICATION = "enlarging.magnification is not given, and the aperture on the print is 48 um times it"


@dataclass(frozen=True, kw_only=True, slots=True)
class ScanWork:
    """What is to be measured from one scan of one test: all that the result depends on besides the file.

    `grain` has the region of every view that shows grain, by the view's id; `edge` that of the view that shows
    sharpness, None where this scan shows none. `magnification` scales the aperture of a print, None for a film. `seed`
    is the test's key, which only the edge asks for. `lossy` says that the file's kind may lose detail.
    """

    seed: str
    of: ViewSubject
    code_density: CodeDensity | None
    pixels_per_mm: float | None
    grain: tuple[tuple[str, Region], ...]
    edge: Region | None
    magnification: float | None
    lossy: bool = False


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ScanSeen:
    """What one scan showed: grain by view, and the edge, None where it has no view of one."""

    grain: tuple[GrainFigures, ...]
    edge: EdgeSharpness | NotSeen | None = None


def regions_of_work(work: ScanWork) -> tuple[Region, ...]:
    """Return what is read of a scan to measure it, the edge last: nothing where nothing can be measured."""
    if _why_nothing(work) is not None:
        return ()
    return tuple(region for _, region in work.grain) + (() if work.edge is None else (work.edge,))


def measure_regions(codes: Iterable[GreyArray], work: ScanWork) -> ScanSeen:
    """Return what a scan shows of grain and sharpness; `codes` are those of `regions_of_work`, taken one by one."""
    code_density, pixels_per_mm = work.code_density, work.pixels_per_mm
    why = _why_nothing(work)
    if why is not None or code_density is None or pixels_per_mm is None:
        return _nothing(work, why or NO_CALIBRATION)
    left = iter(codes)
    grain = tuple(
        _measure_grain(view, read_densities(next(left), code_density), work, pixels_per_mm) for view, _ in work.grain
    )
    edge = None
    if work.edge is not None:
        edge = _measure_sharpness(read_densities(next(left), code_density), work, pixels_per_mm)
    return ScanSeen(grain=grain, edge=edge)


def _measure_grain(view: str, densities: Densities, work: ScanWork, pixels_per_mm: float) -> GrainFigures:
    """Return what one view shows: of a print the granularity alone."""
    if min(densities.density.shape) < LEAST_SIDE_PX:
        return _no_grain(view, TOO_SMALL, work)
    pitch_um = 1000.0 / pixels_per_mm
    even = remove_shading(densities.density)
    seen = _measure_through(densities, even, work, pitch_um)
    if isinstance(seen, NotSeen):
        return _no_grain(view, seen.why, work)
    if work.of == "print":
        return GrainFigures(view=view, granularity=seen, lossy=work.lossy)
    return GrainFigures(
        view=view,
        granularity=seen,
        correlation=measure_correlation(even, pitch_um),
        spectrum=compute_spectrum(even, pitch_um, note=f"at density {fixed(seen.density, 2)}, base and fog included"),
        lossy=work.lossy,
    )


def _measure_through(densities: Densities, even: FloatArray, work: ScanWork, pitch_um: float) -> Granularity | NotSeen:
    """Return the granularity through 48 um on the film, which on a print are so many more as it is enlarged."""
    if why := why_unusable(densities) or why_too_rough(densities.step, float(even.std())):
        return NotSeen(why=why)
    if work.of == "negative":
        return measure_granularity(densities.density, pitch_um)
    if work.magnification is None:
        return NotSeen(why=NO_MAGNIFICATION)
    return measure_granularity(densities.density, pitch_um, APERTURE_UM * work.magnification)


def _measure_sharpness(densities: Densities, work: ScanWork, pixels_per_mm: float) -> EdgeSharpness | NotSeen:
    if why := why_unusable(densities):
        return NotSeen(why=why)
    return measure_edge(densities.density, pixels_per_mm, seeded_generator(work.seed, "edge"))


def _why_nothing(work: ScanWork) -> str | None:
    if work.code_density is None:
        return NO_CALIBRATION
    return NO_PITCH if work.pixels_per_mm is None else None


def _no_grain(view: str, why: str, work: ScanWork) -> GrainFigures:
    missing = NotSeen(why=why)
    return GrainFigures(
        view=view, granularity=missing, correlation=None if work.of == "print" else missing, lossy=work.lossy
    )


def _nothing(work: ScanWork, why: str) -> ScanSeen:
    """Return that none of this scan's views shows anything, for one reason."""
    grain = tuple(_no_grain(view, why, work) for view, _ in work.grain)
    return ScanSeen(grain=grain, edge=None if work.edge is None else NotSeen(why=why))
