"""What a perfect program would find in each test of the demo, in the measures' own terms."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from simulation.negative import compute_mtf50
from simulation.readings import compute_patch_log_h
from simulation.truths import TestTruth


@dataclass(frozen=True, kw_only=True, slots=True)
class Expected:
    """The true values of a test's measures; None where the test gives the program no way to them.

    `stops_from_grey` is by patch. `grain_correlation_um` is the full width at half height of the density's
    autocorrelation on the film, to which a scan adds its pixel; `rms_granularity` is that at net density 1.0.
    """

    base_plus_fog: float
    speed_point: float | None
    average_gradient: float
    stops_from_grey: Mapping[str, float]
    rms_granularity: float | None
    grain_correlation_um: float | None
    mtf50: float | None


def compute_expected(test: TestTruth) -> Expected:
    """Return the true values of a test's measures.

    A Gaussian field of spread s has the autocorrelation exp(-d^2 / 4 s^2), 2 s sqrt(4 ln 2) wide at half height.
    """
    curve, film = test.curve(), test.film
    patches = test.patches if test.bracket else ()
    grey = compute_patch_log_h(test, "grey", 0.0)
    stops = {patch: (compute_patch_log_h(test, patch, 0.0) - grey) / math.log10(2.0) for patch in patches}
    return Expected(
        base_plus_fog=curve.base_plus_fog,
        speed_point=None if test.lux_s is None else curve.speed_log_h,
        average_gradient=curve.average_gradient,
        stops_from_grey=stops,
        rms_granularity=film.granularity if test.negative else None,
        grain_correlation_um=4.0 * film.grain_sigma_um * math.sqrt(math.log(2.0)) if test.negative else None,
        mtf50=compute_mtf50(film) if test.negative else None,
    )
