"""Grain and sharpness of a test: quantities from what its scans showed and from base densities, numbers alone.

Granularity grows with density, and no even tone lies at net density 1.0 exactly. It is read at the view that comes
nearest and brought to 1.0 by a power of net density, so that films are compared, and ranked, at one density. The power
is that of films in general and that of the test's own views, each as far as it is known; what is not known of it counts
in the interval.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from basefog.measure.intervals import missing
from basefog.records.findings import Quantity, Spectrum
from basefog.records.numbers import fixed
from basefog.records.scan_figures import Correlation, EdgeSharpness, GrainFigures, Granularity, NotSeen, TestFigures
from basefog.records.vocabulary import MEASURE_BY_ID

SCAN_MEASURES = ("rms_granularity", "grain_correlation", "print_graininess", "mtf50")

NET_DENSITY_RANGE = (0.8, 1.2)
"""Net density that granularity is stated for (measures.md: in the manner of ISO 10505, which states it at 1.0)."""

SLOPE_RANGE = (0.5, 1.5)
"""Net densities of the views that a test's own exponent is taken from."""

LOSSY = "from a file with lossy compression, which may have changed the grain; save scans as TIFF or PNG"


@dataclass(frozen=True, kw_only=True, slots=True)
class Exponent:
    """d log sigma / d log D, D the net density, and its standard uncertainty."""

    value: float
    u: float


FILM_EXPONENT = Exponent(value=0.77, u=0.12)
"""Of films (project): opaque discs dropped at random have 0.83 from 0.8 to 1.0 and 0.93 from 1.0 to 1.2, by their exact
variance; grains hardly overlapping 0.5 (H. Siedentopf, Phys. Z. 38 (1937) 454, from memory)."""

PRINT_EXPONENT = Exponent(value=0.0, u=0.4)
"""Of prints (project, an assumption): a denser part of a print shows a thinner part of the negative, whose grain is
weaker, through the paper's gradient there, so that either sign may come of it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class _Read:
    """One view's granularity and the net density that it was read at."""

    view: GrainFigures
    seen: Granularity
    net: float


def measure_grain_of_test(
    figures: TestFigures, *, base_density: float | None, paper_white: float | None
) -> dict[str, Quantity]:
    """Return the four measures of scans by their ids, each with its interval or why it has none.

    Arguments: `base_density`, base plus fog of the film; `paper_white`, the least density of the paper; both None
    where they aren't known.
    """
    return {
        "rms_granularity": _granularity(figures.grain, base_density, "base plus fog", FILM_EXPONENT),
        "grain_correlation": _correlation(figures.grain, base_density),
        "print_graininess": _granularity(figures.print_grain, paper_white, "the paper's white", PRINT_EXPONENT),
        "mtf50": _sharpness(figures.edge),
    }


def spectrum_of_test(figures: TestFigures, *, base_density: float | None) -> Spectrum | None:
    """Return the spectrum of the view whose grain is stated, None where a test's scans show none."""
    return None if isinstance(figures.grain, NotSeen) else choose_view(figures.grain, base_density).spectrum


def choose_view(grain: tuple[GrainFigures, ...], base: float | None) -> GrainFigures:
    """Return the view that grain is stated of: of those with a granularity the one nearest net density 1.0.

    The first of them where no base is known; the first of all where none has a granularity, to say why.
    """
    seen = [(view, view.granularity.density) for view in grain if isinstance(view.granularity, Granularity)]
    if not seen or base is None:
        return seen[0][0] if seen else grain[0]
    return min(seen, key=lambda one: abs(one[1] - base - 1.0))[0]


def bring_to_one(
    net: Sequence[float], sigma: Sequence[float], freedom: Sequence[float], at: int, prior: Exponent
) -> tuple[float, float]:
    """Return the granularity of one view at net density 1.0, and its relative standard uncertainty.

    sigma D^-p, ln sigma of each view having the variance 1 / (2 freedom). p is the mean, weighted by inverse variance,
    of the prior exponent and of the slope of ln sigma over ln D through the views at 0.5 to 1.5, where there are two or
    more. The view's own sampling error is in that slope as well: what the two have in common is counted once.

    Arguments: `net` densities, all above zero, `sigma` and degrees of freedom of all views alike; `at`, which of them
    is brought; `prior`.

    Source: project; least squares.

    >>> value, error = bring_to_one([1.0], [0.010], [800.0], 0, FILM_EXPONENT)
    >>> round(value, 6), round(error, 6)
    (0.01, 0.025)
    """
    x, y = np.log(net), np.log(sigma)
    variance = 0.5 / np.asarray(freedom, dtype=np.float64)
    least, most = SLOPE_RANGE
    weights = np.where((np.asarray(net) >= least) & (np.asarray(net) <= most), 1 / variance, 0.0)
    # One view alone, or all at one density, has no slope: no weight is left to it.
    off = x - np.average(x, weights=weights) if weights.any() else np.zeros_like(x)
    total = float(np.sum(weights * off**2)) + prior.u**-2
    of_views = weights * off / total
    of_prior = prior.u**-2 / total
    exponent = float(of_views @ y) + of_prior * prior.value
    # ln sigma_1 = sum of c_i ln sigma_i and of a part of the prior exponent.
    c = -x[at] * of_views
    c[at] += 1.0
    relative = math.sqrt(float(c**2 @ variance) + (x[at] * of_prior * prior.u) ** 2)
    return float(np.exp(y[at] - exponent * x[at])), relative


def _granularity(
    grain: tuple[GrainFigures, ...] | NotSeen, base: float | None, base_name: str, prior: Exponent
) -> Quantity:
    """Return a thousand times the standard deviation at net density 1.0, or why it is not stated."""
    if isinstance(grain, NotSeen):
        return missing(grain.why)
    chosen = choose_view(grain, base)
    seen = chosen.granularity
    if isinstance(seen, NotSeen):
        return missing(seen.why)
    if base is None:
        return missing(f"the net density of the view isn't known: {base_name} is missing")
    net = seen.density - base
    least, most = NET_DENSITY_RANGE
    if not least <= net <= most:
        return missing(
            f"the view has a net density of {fixed(net, 2)}, and granularity is stated from {least} to {most} only: "
            "it grows with density"
        )
    read = [one for one in _read_at(grain, base) if one.net > 0]
    value, relative = bring_to_one(
        [one.net for one in read],
        [one.seen.sigma for one in read],
        [one.seen.degrees_of_freedom for one in read],
        next(place for place, one in enumerate(read) if one.view is chosen),
        prior,
    )
    # The ends of the variance's own interval, drawn apart as far as the error has grown.
    wider = relative * math.sqrt(2 * seen.degrees_of_freedom)
    return Quantity(
        value=1000 * value,
        low=1000 * value * (1 - wider * (1 - seen.low / seen.sigma)),
        high=1000 * value * (1 + wider * (seen.high / seen.sigma - 1)),
        unit="1",
        note=LOSSY if chosen.lossy else None,
        at_density=net,
        as_read=1000 * seen.sigma,
    )


def _read_at(grain: tuple[GrainFigures, ...], base: float) -> list[_Read]:
    return [
        _Read(view=view, seen=view.granularity, net=view.granularity.density - base)
        for view in grain
        if isinstance(view.granularity, Granularity)
    ]


def _correlation(grain: tuple[GrainFigures, ...] | NotSeen, base: float | None) -> Quantity:
    unit = MEASURE_BY_ID["grain_correlation"].unit
    if isinstance(grain, NotSeen):
        return missing(grain.why, unit)
    view = choose_view(grain, base)
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
    note = f"film, taking lens and scanner together; edge of {fixed(edge.density_difference, 2)} in density"
    return Quantity(value=edge.mtf50, low=edge.low, high=edge.high, unit=unit, note=note)
