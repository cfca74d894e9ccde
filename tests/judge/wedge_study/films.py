"""Made-up films on one wedge under one lamp, both wrong by as much as is stated, in series whose truth is known."""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from basefog.records.content import Exposure, FloatArray, Series, StepReadings, Stock, Test, WedgeReadings
from basefog.records.vocabulary import LOG10_2
from measure.bench_content import PLACE, make_stock, make_test
from measure.study.curves import bend, curve_of_rows, find_all
from measure.wedge_films import wedge_series

WEDGE = "contact-21"
STEPS: FloatArray = np.linspace(-3.0, 0.0, 21)
"""Log exposures of 21 steps of 0.15 as the calibration has them, under 1 lux second."""

U_DENSITY = 0.010
"""Standard uncertainty of the calibrated density of one step."""

LUX_S, U_LUX_S = 1.0, 0.03
REPEATABILITY = 0.008
BASE = 0.25

SCATTER_GRADIENT, SCATTER_PLACE, SCATTER_BASE = 0.02, 0.010, 0.004
"""How one test of a film differs from another where tests scatter: share, log units and density."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Film:
    """A film's curve in closed form: a toe of some width at `place`, a straight line, and a shoulder `run` above it.

    `run` None is no shoulder within the readings.
    """

    gradient: float
    place: float
    width: float
    run: float | None
    base: float = BASE

    def density(self, log_exposure: FloatArray) -> FloatArray:
        """Return density, base and fog included."""
        net = bend(log_exposure, self.place, self.width)
        if self.run is not None:
            net = net - bend(log_exposure, self.place + self.run, 0.22)
        return np.asarray(self.base + self.gradient * net)

    def scattered(self, generator: np.random.Generator) -> "Film":
        """Return the film as one test has it where tests scatter."""
        by_gradient, by_place, by_base = generator.standard_normal(3)
        return replace(
            self,
            gradient=self.gradient * (1 + SCATTER_GRADIENT * by_gradient),
            place=self.place + SCATTER_PLACE * by_place,
            base=self.base + SCATTER_BASE * by_base,
        )


@lru_cache(maxsize=8)
def find_truth(film: Film) -> dict[str, float]:
    """Return every measure of a film by its definition, from the closed form on a grid of 0.001."""
    grid = np.linspace(STEPS[0], STEPS[-1], 3001)
    curve = curve_of_rows(grid, np.tile(film.density(grid), (2, 1)), np.full(2, film.base))
    return {name: float(values[0]) for name, values in find_all(curve).items()}


SHAPES = (
    {"width": 0.12, "run": None},
    {"width": 0.09, "run": 1.60},
    {"width": 0.16, "run": 1.55},
)
"""Toe widths and shoulders: a long straight line, a hard toe and a soft toe that both have their shoulder."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """What is simulated: how the stocks lie against the reference, how often steps are read and tests done.

    `apart_stops` is how much slower a stock is; `contrast` its gradient over the reference's. `tests` of the reference
    and of each stock; `scatter` says whether tests of one film differ.
    """

    name: str
    apart_stops: float
    contrast: float
    readings: int
    tests: tuple[int, ...] = (1, 1)
    scatter: bool = False


def draw_films(cell: Cell, generator: np.random.Generator) -> list[Film]:
    """Return the reference and the stocks of one series; their toes may fall anywhere between two steps."""
    shape = SHAPES[generator.integers(len(SHAPES))]
    place = -2.70 + 0.15 * generator.random() + (0.255 if cell.apart_stops == 0 else 0.0)
    reference = Film(gradient=0.62 / math.sqrt(cell.contrast), place=place, **shape)
    stock = replace(reference, gradient=reference.gradient * cell.contrast, place=place + LOG10_2 * cell.apart_stops)
    return [reference, *[stock] * (len(cell.tests) - 1)]


def draw_series(cell: Cell, films: list[Film], generator: np.random.Generator) -> Series:
    """Return the readings of one series: one error of the wedge and one of the lamp for all of its tests."""
    true_lux_s = LUX_S + U_LUX_S * generator.standard_normal()
    # A step that is denser than its calibration says passes less light than it is taken for.
    true_places = STEPS - U_DENSITY * generator.standard_normal(STEPS.size) + math.log10(true_lux_s / LUX_S)
    stocks: list[Stock] = []
    for number, (film, count) in enumerate(zip(films, cell.tests, strict=True)):
        slug = f"stock-{number}"
        stocks.append(
            make_stock(
                slug, [_expose(film, cell, f"{slug}/2026-0{1 + at}-01", true_places, generator) for at in range(count)]
            )
        )
    return wedge_series(*stocks, repeatability=REPEATABILITY)


def _expose(film: Film, cell: Cell, key: str, true_places: FloatArray, generator: np.random.Generator) -> Test:
    developed = film.scattered(generator) if cell.scatter else film
    clean = np.append(developed.density(true_places), developed.base)
    readings = clean[:, None] + REPEATABILITY * generator.standard_normal((clean.size, cell.readings))
    rows = [tuple(sorted(round(float(reading), 3) for reading in row)) for row in readings]
    steps = tuple(
        StepReadings(step=str(number), log_exposure=float(place), u_log_exposure=U_DENSITY, readings=row, place=PLACE)
        for number, (place, row) in enumerate(zip(STEPS, rows[:-1], strict=True), start=1)
    )
    wedge = WedgeReadings(steps=steps, base=rows[-1], absolute=True, wedge=WEDGE, place=PLACE)
    return replace(
        make_test(key, wedge=wedge, repeat=not key.endswith("-01-01")),
        exposure=Exposure(wedge=WEDGE, lux_s=LUX_S, u_lux_s=U_LUX_S),
    )
