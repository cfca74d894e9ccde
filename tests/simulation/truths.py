"""What is true of the demo series: every film, every development batch and every test, as numbers nobody can read off.

A test's curve is its film's with the batch's activity on the gradient and the test's own shifts, so that a repeat
scatters, a retest moves, and both are known.
"""

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Final

import numpy as np

from simulation.curves import Corner, TrueCurve, build_curve, speed_to_log_h
from simulation.spectra import Sensitivity
from simulation.tables import TableShape

REPEATABILITY: Final = 0.008
U_WEDGE: Final = 0.003
SHUTTER_STOPS: Final = 0.02
CAMERA_FLARE: Final = 0.002
STANDARD_LUX_S: Final = 0.8
BATCH_NOMINAL: Final[Mapping[str, float]] = {"base": 0.24, "low": 0.41, "mid": 0.97, "high": 1.58}

DEVELOPMENT_RATE_PER_MIN: Final = 0.14

Shape = tuple[Corner, ...]


def _toe(width: float) -> Corner:
    return Corner(slope=1.0, at=0.0, width=width)


def compute_time_factor(time_min: float, usual_min: float) -> float:
    """Return the gradient at one development time over that at another: 1 - exp(-k t), the first-order law.

    Source of the law: S. E. Sheppard and C. E. K. Mees 1907 (from memory); k is invented.

    >>> round(compute_time_factor(6.0, 8.5), 3)
    0.817
    """
    rate = DEVELOPMENT_RATE_PER_MIN
    return math.expm1(-rate * time_min) / math.expm1(-rate * usual_min)


def _turn(slope: float, at: float, width: float) -> Corner:
    return Corner(slope=slope, at=at, width=width)


@dataclass(frozen=True, kw_only=True, slots=True)
class Film:
    """One film as it would be with every roll and every tank alike.

    `iso_speed` places the speed point in the series' developer at the time given; `granularity` is a thousand times
    the density's standard deviation through 48 um at net density 1.0; `grain_sigma_um` and `blur_sigma_um` are the
    Gaussian spreads of grain and of light in the emulsion.
    """

    slug: str
    iso_speed: float
    average_gradient: float
    base_plus_fog: float
    shape: Shape
    granularity: float
    grain_sigma_um: float
    blur_sigma_um: float
    sensitivity: Sensitivity = field(default_factory=Sensitivity)


FILMS: Final[Mapping[str, Film]] = {
    film.slug: film
    for film in (
        Film(
            slug="corvane-200",
            iso_speed=200.0,
            average_gradient=0.615,
            base_plus_fog=0.24,
            shape=(_toe(0.13), _turn(-0.45, 2.35, 0.22)),
            granularity=11.5,
            grain_sigma_um=4.8,
            blur_sigma_um=4.2,
        ),
        Film(
            slug="sallow-25",
            iso_speed=24.0,
            average_gradient=0.665,
            base_plus_fog=0.20,
            shape=(_toe(0.09), _turn(-0.40, 2.1, 0.18)),
            granularity=6.0,
            grain_sigma_um=3.4,
            blur_sigma_um=2.9,
            sensitivity=Sensitivity(green=0.80, red=0.62),
        ),
        Film(
            slug="gannick-1600",
            iso_speed=1020.0,
            average_gradient=0.60,
            base_plus_fog=0.31,
            shape=(_toe(0.20), _turn(-0.50, 1.95, 0.28)),
            granularity=22.5,
            grain_sigma_um=6.8,
            blur_sigma_um=5.6,
            sensitivity=Sensitivity(red=0.85, red_end_nm=660.0),
        ),
        Film(
            slug="mossend-100",
            iso_speed=112.0,
            average_gradient=0.585,
            base_plus_fog=0.23,
            shape=(_toe(0.14), _turn(-0.32, 1.25, 0.28), _turn(-0.40, 2.05, 0.30)),
            granularity=9.0,
            grain_sigma_um=4.5,
            blur_sigma_um=4.0,
            sensitivity=Sensitivity(red=0.62, red_end_nm=645.0),
        ),
        Film(
            slug="brindle-160",
            iso_speed=150.0,
            average_gradient=0.64,
            base_plus_fog=0.26,
            shape=(_toe(0.11), _turn(-0.86, 1.72, 0.10)),
            granularity=12.5,
            grain_sigma_um=5.1,
            blur_sigma_um=4.6,
            sensitivity=Sensitivity(red=0.80, red_end_nm=655.0),
        ),
        Film(
            slug="fennick-80",
            iso_speed=74.0,
            average_gradient=0.62,
            base_plus_fog=0.22,
            shape=(_toe(0.12), _turn(-0.40, 2.2, 0.22)),
            granularity=8.4,
            grain_sigma_um=3.9,
            blur_sigma_um=3.4,
            sensitivity=Sensitivity(green=0.95, red=0.16, red_end_nm=612.0),
        ),
        Film(
            slug="oldmoor-400",
            iso_speed=300.0,
            average_gradient=0.57,
            base_plus_fog=0.47,
            shape=(_toe(0.19), _turn(-0.40, 2.2, 0.25)),
            granularity=15.5,
            grain_sigma_um=5.7,
            blur_sigma_um=5.2,
            sensitivity=Sensitivity(red=0.78, red_end_nm=665.0),
        ),
        Film(
            slug="larkspar-125",
            iso_speed=126.0,
            average_gradient=0.625,
            base_plus_fog=0.25,
            shape=(_toe(0.08), _turn(-0.30, 3.4, 0.20)),
            granularity=9.6,
            grain_sigma_um=4.6,
            blur_sigma_um=3.8,
        ),
        Film(
            slug="twyne-320",
            iso_speed=255.0,
            average_gradient=0.545,
            base_plus_fog=0.28,
            shape=(_toe(0.12), _turn(0.62, 1.05, 0.10), _turn(-0.90, 2.35, 0.18)),
            granularity=13.8,
            grain_sigma_um=5.3,
            blur_sigma_um=4.8,
            sensitivity=Sensitivity(green=0.66),
        ),
        Film(
            slug="dimity-50",
            iso_speed=52.0,
            average_gradient=0.46,
            base_plus_fog=0.21,
            shape=(_toe(0.15), _turn(-0.35, 2.3, 0.25)),
            granularity=7.2,
            grain_sigma_um=4.2,
            blur_sigma_um=3.2,
            sensitivity=Sensitivity(green=0.82, red=0.66),
        ),
        Film(
            slug="scantle-250",
            iso_speed=256.0,
            average_gradient=0.605,
            base_plus_fog=0.29,
            shape=(_toe(0.12), _turn(-0.30, 2.6, 0.25)),
            granularity=11.9,
            grain_sigma_um=4.9,
            blur_sigma_um=4.1,
        ),
        Film(
            slug="remnet-640",
            iso_speed=295.0,
            average_gradient=0.59,
            base_plus_fog=0.36,
            shape=(_toe(0.17), _turn(-0.45, 2.15, 0.24)),
            granularity=17.5,
            grain_sigma_um=6.0,
            blur_sigma_um=5.0,
            sensitivity=Sensitivity(red=0.60, red_end_nm=640.0),
        ),
    )
}


@dataclass(frozen=True, kw_only=True, slots=True)
class BatchTruth:
    """One development batch: `activity` multiplies every gradient developed in it, `fog` adds to every base."""

    id: str
    activity: float = 1.0
    fog: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class TestTruth:
    """One test: what was done, and how this roll and this day differed from the film's own figures.

    `lux_s` None means the exposure was not known to the tester; it was the standard one all the same. `time_factor`
    is the gradient's factor for a development time other than the film's own, with `speed_shift` in log exposure
    (positive is slower). `meter_error_stops` shifts all frames of the bracket alike.
    """

    stock: str
    id: str
    exposure_index: float
    batch: str
    lux_s: float | None = STANDARD_LUX_S
    replicates: int = 2
    wedge: TableShape | None = "csv"
    bracket: TableShape | None = None
    patches: tuple[str, ...] = ("grey", "deep", "red", "green", "blue", "yellow", "skin")
    frame_base: bool = False
    time_factor: float = 1.0
    speed_shift: float = 0.0
    fog_shift: float = 0.0
    meter_error_stops: float = 0.0
    negative: bool = False
    print: bool = False

    @property
    def key(self) -> str:
        """The test's name over the whole series."""
        return f"{self.stock}/{self.id}"

    @property
    def film(self) -> Film:
        """The film that was tested."""
        return FILMS[self.stock]

    def curve(self) -> TrueCurve:
        """Return the curve that this roll truly had."""
        return _curve_of(self)

    def random(self, purpose: str) -> np.random.Generator:
        """Return the generator of one purpose of this test, the same in every process."""
        digest = hashlib.sha256(f"{self.key}/{purpose}".encode()).digest()
        return np.random.default_rng(int.from_bytes(digest[:8], "big"))


BATCHES: Final[Mapping[str, BatchTruth]] = {
    batch.id: batch
    for batch in (
        BatchTruth(id="2026-01-17-tank-1", activity=1.060, fog=0.012),
        BatchTruth(id="2026-02-28-tank-1", activity=1.004),
        BatchTruth(id="2026-03-07-tank-1", activity=0.998),
        BatchTruth(id="2026-03-21-tank-1", activity=1.006),
        BatchTruth(id="2026-03-28-tank-1", activity=0.992),
        BatchTruth(id="2026-04-04-tank-1", activity=1.003),
        BatchTruth(id="2026-04-11-tank-2", activity=0.880, fog=-0.010),
        BatchTruth(id="2026-04-18-tank-1", activity=1.010),
        BatchTruth(id="2026-04-25-tank-1", activity=0.997),
        BatchTruth(id="2026-05-09-tank-1", activity=1.001),
        BatchTruth(id="2026-05-10-tank-1", activity=1.000),
        BatchTruth(id="2026-05-16-tank-1", activity=0.994),
        BatchTruth(id="2026-05-23-tank-1", activity=1.005),
        BatchTruth(id="2026-06-06-tank-1", activity=0.996),
        BatchTruth(id="2026-06-13-tank-1", activity=1.012),
        BatchTruth(id="2026-06-20-tank-1", activity=0.989),
        BatchTruth(id="2026-07-04-tank-1", activity=1.002),
        BatchTruth(id="2026-07-11-tank-1", activity=0.999),
        BatchTruth(id="2026-07-25-tank-1", activity=1.007),
        BatchTruth(id="2026-08-15-tank-1", activity=0.995),
        BatchTruth(id="2026-09-12-tank-1", activity=1.003),
        BatchTruth(id="2026-10-03-tank-1", activity=1.008),
    )
}

TESTS: Final[tuple[TestTruth, ...]] = (
    TestTruth(stock="corvane-200", id="2026-01-17", exposure_index=200, batch="2026-01-17-tank-1", bracket="csv"),
    TestTruth(
        stock="corvane-200",
        id="2026-03-07",
        exposure_index=200,
        batch="2026-03-07-tank-1",
        replicates=3,
        bracket="csv",
        frame_base=True,
        negative=True,
        print=True,
    ),
    TestTruth(stock="corvane-200", id="2026-05-16", exposure_index=200, batch="2026-05-16-tank-1", speed_shift=0.012),
    TestTruth(stock="corvane-200", id="2026-10-03", exposure_index=200, batch="2026-10-03-tank-1", speed_shift=-0.009),
    TestTruth(
        stock="sallow-25",
        id="2026-02-28",
        exposure_index=25,
        batch="2026-02-28-tank-1",
        lux_s=6.4,
        replicates=3,
        bracket="csv",
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="sallow-25",
        id="2026-06-13",
        exposure_index=25,
        batch="2026-06-13-tank-1",
        lux_s=6.4,
        speed_shift=0.010,
    ),
    TestTruth(stock="mossend-100", id="2026-03-21", exposure_index=100, batch="2026-03-21-tank-1", bracket="semicolon"),
    TestTruth(
        stock="mossend-100",
        id="2026-06-20",
        exposure_index=100,
        batch="2026-06-20-tank-1",
        wedge="semicolon",
        bracket="csv",
        speed_shift=-0.014,
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="brindle-160",
        id="2026-03-28",
        exposure_index=160,
        batch="2026-03-28-tank-1",
        wedge="xlsx",
        bracket="csv",
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="gannick-1600",
        id="2026-04-11",
        exposure_index=1600,
        batch="2026-04-11-tank-2",
        lux_s=0.1,
        bracket="csv",
        speed_shift=0.04,
        print=True,
    ),
    TestTruth(
        stock="gannick-1600",
        id="2026-07-04",
        exposure_index=1600,
        batch="2026-07-04-tank-1",
        lux_s=0.1,
        replicates=3,
        bracket="csv",
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="fennick-80",
        id="2026-04-18",
        exposure_index=80,
        batch="2026-04-18-tank-1",
        bracket="xlsx",
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="oldmoor-400",
        id="2026-04-04",
        exposure_index=400,
        batch="2026-04-04-tank-1",
        fog_shift=0.14,
    ),
    TestTruth(
        stock="oldmoor-400",
        id="2026-04-25",
        exposure_index=400,
        batch="2026-04-25-tank-1",
        bracket="csv",
        frame_base=True,
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="larkspar-125",
        id="2026-05-09",
        exposure_index=125,
        batch="2026-05-09-tank-1",
        replicates=1,
        wedge="cgats",
        bracket="csv",
        patches=("grey", "deep", "green", "blue", "yellow", "skin"),
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="larkspar-125",
        id="2026-05-10",
        exposure_index=125,
        batch="2026-05-10-tank-1",
        time_factor=compute_time_factor(6.0, 8.5),
        speed_shift=0.055,
        fog_shift=-0.020,
    ),
    TestTruth(
        stock="larkspar-125",
        id="2026-05-10-b",
        exposure_index=125,
        batch="2026-05-10-tank-1",
        time_factor=compute_time_factor(7.0, 8.5),
        speed_shift=0.022,
        fog_shift=-0.010,
    ),
    TestTruth(
        stock="larkspar-125",
        id="2026-05-10-c",
        exposure_index=125,
        batch="2026-05-10-tank-1",
        time_factor=compute_time_factor(11.0, 8.5),
        speed_shift=-0.030,
        fog_shift=0.020,
    ),
    TestTruth(
        stock="twyne-320",
        id="2026-05-23",
        exposure_index=320,
        batch="2026-05-23-tank-1",
        bracket="csv",
        meter_error_stops=-0.55,
    ),
    TestTruth(
        stock="twyne-320",
        id="2026-08-15",
        exposure_index=320,
        batch="2026-08-15-tank-1",
        wedge="ods",
        bracket="csv",
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="dimity-50",
        id="2026-06-06",
        exposure_index=50,
        batch="2026-06-06-tank-1",
        lux_s=None,
        replicates=1,
        print=True,
    ),
    TestTruth(
        stock="scantle-250",
        id="2026-07-11",
        exposure_index=250,
        batch="2026-07-11-tank-1",
        bracket="csv",
        negative=True,
        print=True,
    ),
    TestTruth(
        stock="remnet-640",
        id="2026-07-25",
        exposure_index=640,
        batch="2026-07-25-tank-1",
        bracket="csv",
        fog_shift=0.03,
        speed_shift=-0.035,
    ),
    TestTruth(
        stock="remnet-640",
        id="2026-09-12",
        exposure_index=640,
        batch="2026-09-12-tank-1",
        replicates=3,
        bracket="csv",
        negative=True,
        print=True,
    ),
)


@cache
def _curve_of(test: TestTruth) -> TrueCurve:
    film, batch = test.film, BATCHES[test.batch]
    return build_curve(
        speed_log_h=speed_to_log_h(film.iso_speed) + test.speed_shift,
        average_gradient=film.average_gradient * batch.activity * test.time_factor,
        base_plus_fog=film.base_plus_fog + batch.fog + test.fog_shift,
        shape=film.shape,
    )


def compute_metered_log_h(exposure_index: float) -> float:
    """Return the log exposure that a meter gives an 18 % grey: 8.125 lux seconds over the exposure index.

    Source: the metering chain q K / S with q = 0.65 and K = 12.5 (after the ANSI exposure meter standard, seen in a
    secondary place).

    >>> round(compute_metered_log_h(125.0), 3)
    -1.187
    """
    return math.log10(0.65 * 12.5 / exposure_index)
