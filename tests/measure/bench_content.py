"""Made-up tests for the bracket, the patches, the print and the development: every density from a known curve."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from basefog.measure.curve_fit import BRACKET_AXIS, FittedCurve, SmoothedFrames
from basefog.measure.resampling import DRAWS
from basefog.records.content import (
    Batch,
    BracketReadings,
    Densitometer,
    Development,
    Enlarging,
    Exposure,
    FloatArray,
    Frame,
    Paper,
    Patch,
    Protocol,
    Series,
    StepReadings,
    Stock,
    Test,
    WedgeReadings,
)
from basefog.records.problem import Place

PLACE = Place(path="stocks/tern-100/2026-03-14/test.yaml")
THIRDS = tuple(third / 3 for third in range(-3, 4))


def make_test(
    name: str = "tern-100/2026-03-14",
    *,
    frames: Sequence[Frame] = (),
    exposure_index: float = 100.0,
    time_min: float = 8.0,
    replaces: str | None = None,
    repeat: bool = False,
    development_of: str | None = None,
    withdrawn: str | None = None,
    print_exposure_s: float | None = None,
    wedge: WedgeReadings | None = None,
    batch: str | None = None,
) -> Test:
    """Return a test of that `stock/test` name with nothing in it but what is given."""
    stock, test = name.split("/")
    return Test(
        stock=stock,
        id=test,
        date=date.fromisoformat(test[:10]),
        exposure_index=exposure_index,
        emulsion=None,
        developed=Development(
            developer="metol-hydroquinone", temperature_c=20.0, time_min=time_min, agitation=None, batch=batch
        ),
        replaces=replaces,
        replaced_by=None,
        reason=None,
        withdrawn=withdrawn,
        departures=(),
        exposure=Exposure(wedge=None, lux_s=None),
        repeat=repeat,
        development_of=development_of,
        print_exposure_s=print_exposure_s,
        scans=(),
        video=None,
        wedge=wedge,
        bracket=BracketReadings(frames=tuple(frames), place=PLACE) if frames else None,
        readings=(),
        inputs=(),
        notes=None,
        place=PLACE,
    )


def make_stock(slug: str, tests: Sequence[Test]) -> Stock:
    """Return a stock of those tests, the last of them current."""
    return Stock(
        slug=slug,
        name=slug,
        maker=None,
        box_speed=100.0,
        process=None,
        formats=(),
        former_slugs=(),
        tests=tuple(tests),
        current=tests[-1].id if tests else None,
        notes=None,
        place=PLACE,
    )


def make_frame(
    frame: str, stops: float, patches: Mapping[str, Sequence[float]], base: Sequence[float] = (0.25,)
) -> Frame:
    """Return one frame of a bracket."""
    return Frame(
        frame=frame,
        stops=stops,
        base=tuple(sorted(base)),
        patches={patch: tuple(sorted(readings)) for patch, readings in patches.items()},
        place=PLACE,
    )


def make_frames(
    density: Callable[[float], float],
    patches: Mapping[str, float],
    *,
    stops: Sequence[float] = THIRDS,
    base: float | None = 0.25,
) -> tuple[Frame, ...]:
    """Return a bracket read without error: net `density` of log exposure, each patch at its log exposure at 0 stops."""
    lift = 0.0 if base is None else base
    return tuple(
        make_frame(
            str(number),
            step,
            {patch: (lift + density(place + np.log10(2) * step),) for patch, place in patches.items()},
            base=() if base is None else (base,),
        )
        for number, step in enumerate(stops, start=1)
    )


def shift_frame(frame: Frame, by: float) -> Frame:
    """Return a frame with a constant added to every density, the base's too."""
    return replace(
        frame,
        base=tuple(reading + by for reading in frame.base),
        patches={patch: tuple(reading + by for reading in readings) for patch, readings in frame.patches.items()},
    )


def make_curve(
    density: Callable[[FloatArray], FloatArray],
    *,
    first: float = -2.0,
    last: float = 2.0,
    base_plus_fog: float = 0.25,
    axis: str = "contact-21",
    spread: Sequence[float] = (),
) -> FittedCurve:
    """Return a curve known without error: net `density` of log exposure on base plus fog.

    `spread` shifts the curve's density draw by draw, in turn, where an error is wanted.
    """
    grid = np.linspace(first, last, 401)
    errors = np.zeros(1 + DRAWS)
    if spread:
        errors[1:] = np.resize(np.asarray(spread, dtype=np.float64), DRAWS)
    return FittedCurve(
        log_exposure=grid,
        density=base_plus_fog + density(grid)[None, :] + errors[:, None],
        base_plus_fog=np.full(1 + DRAWS, base_plus_fog),
        base_why=None,
        base_note=None,
        reading_error=0.01,
        absolute=False,
        axis=axis,
        note=None,
    )


def own_curve(
    density: Callable[[FloatArray], FloatArray],
    stops: Sequence[float],
    *,
    u_exposure: float = 0.0,
    u_density: float = 0.0,
    first: float = -2.0,
    last: float = 2.0,
) -> FittedCurve:
    """Return a bracket's own curve: net `density` itself, of which straight lines from frame to frame carry the errors.

    `u_exposure`, log exposure, of every frame's exposure, `u_density` of its grey reading; the draws hold both.
    """
    curve = make_curve(density, first=first, last=last, axis=BRACKET_AXIS)
    sites = np.log10(2) * np.array(stops)
    grid = curve.log_exposure
    operator = np.stack([np.interp(grid, sites, unit) for unit in np.eye(sites.size)], axis=1)
    slope = np.interp(sites, grid, np.gradient(curve.density[0], grid))
    generator = np.random.default_rng(1815)
    exposures, readings = (u * generator.standard_normal((DRAWS, sites.size)) for u in (u_exposure, u_density))
    drawn = curve.density.copy()
    drawn[1:] += (slope * exposures + readings) @ operator.T
    smoothed = SmoothedFrames(
        log_exposure=sites,
        operator=operator,
        u_exposure=np.full(sites.size, u_exposure),
        shift=slope * u_exposure,
        u_density=np.full(sites.size, u_density),
        drawn_exposures=exposures,
    )
    return replace(curve, density=drawn, smoothed=smoothed)


def soft_toe(gradient: float = 0.62, width: float = 0.15, place: float = 0.0) -> Callable[[FloatArray], FloatArray]:
    """Return net density with a soft toe and a straight line of that gradient after it."""

    def density(log_exposure: FloatArray) -> FloatArray:
        return np.asarray(gradient * width * np.logaddexp(0.0, (log_exposure - place) / width))

    return density


def make_wedge(density: Callable[[FloatArray], FloatArray], *, base: float = 0.25) -> WedgeReadings:
    """Return 21 steps of 0.15 read without error: net `density` of log exposure on `base`, from -0.9 up."""
    return WedgeReadings(
        steps=tuple(
            StepReadings(
                step=str(number),
                log_exposure=float(site),
                u_log_exposure=0.0,
                readings=(base + float(density(site)),),
                place=PLACE,
            )
            for number, site in enumerate(-0.9 + 0.15 * np.arange(21), start=1)
        ),
        base=(base,),
        absolute=False,
        wedge="contact-21",
        place=PLACE,
    )


def make_series(
    stocks: Sequence[Stock],
    *,
    papers: Sequence[Paper] = (),
    batches: Sequence[Batch] = (),
    grey_patch: str | None = "grey",
    exposure_s: float | None = 12.0,
) -> Series:
    """Return a series of those stocks, the first of them the reference."""
    return Series(
        title="Lantern Yard film trials",
        address=None,
        author=None,
        licence=None,
        language="en",
        description=None,
        reference=stocks[0].slug,
        protocol=Protocol(
            developer="metol-hydroquinone",
            subject=None,
            lighting=None,
            temperature_c=20.0,
            bracket_step_stops=1 / 3,
            grey_patch=grey_patch,
            shadow_patch="dark",
        ),
        exposure=Exposure(wedge="contact-21", lux_s=None),
        densitometer=Densitometer(),
        patches=(
            Patch(id="grey", name="Grey", luminous_reflectance=0.18),
            Patch(id="dark", name="Dark skin", luminous_reflectance=0.10),
            Patch(id="red", name="Red", luminous_reflectance=0.12),
        ),
        views=(),
        enlarging=Enlarging(paper=papers[0].id if papers else None, magnification=9.0, exposure_s=exposure_s),
        wedges={},
        papers={paper.id: paper for paper in papers},
        batches=tuple(batches),
        stocks=tuple(sorted(stocks, key=lambda stock: stock.slug)),
        questions=(),
        pages=(),
    )


NO_BASE = np.full(1 + DRAWS, np.nan)
"""Base plus fog that isn't known."""
