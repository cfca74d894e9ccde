"""Invented findings to draw: analytic toe, straight line and shoulder, with bands as a real fit would have them."""

from dataclasses import replace

import numpy as np

from basefog.records.content import FloatArray
from basefog.records.findings import (
    BatchFinding,
    BracketFit,
    Comparison,
    ContrastTime,
    Curve,
    EdgeResponse,
    FrameFinding,
    FrameReading,
    PatchFinding,
    PatchLine,
    Quantity,
    Spectrum,
    StepFinding,
    TestFindings,
    TimePoint,
    ToneReproduction,
)
from basefog.records.vocabulary import VerdictWord

NO_DIFFERENCE: VerdictWord = "no measurable difference"


def softplus(x: FloatArray, width: float) -> FloatArray:
    """Return a smooth hinge: 0 far left, x far right."""
    return np.asarray(width * np.logaddexp(0.0, x / width))


def density_at(x: FloatArray, *, base: float, gamma: float, toe: float, shoulder: float, width: float) -> FloatArray:
    """Return an invented characteristic curve: a straight line between a toe and a shoulder."""
    return base + gamma * (softplus(x - toe, width) - softplus(x - shoulder, width * 1.6))


def make_curve(
    *,
    first: float = -3.15,
    last: float = -0.15,
    base: float = 0.28,
    gamma: float = 0.62,
    toe: float = -2.6,
    shoulder: float = 0.2,
    width: float = 0.14,
    error: float = 0.015,
    absolute: bool = True,
    axis: str = "contact-21",
    note: str | None = None,
) -> Curve:
    """Return an invented fitted curve on an even grid."""
    x = np.linspace(first, last, 301)
    density = density_at(x, base=base, gamma=gamma, toe=toe, shoulder=shoulder, width=width)
    half = error * (1.0 + 1.5 * np.abs(np.linspace(-1.0, 1.0, x.size)) ** 6)
    gradient = np.gradient(density, x)
    spread = 4.0 * half
    return Curve(
        log_exposure=x,
        density=density,
        low=density - half,
        high=density + half,
        gradient=gradient,
        gradient_low=gradient - spread,
        gradient_high=gradient + spread,
        absolute=absolute,
        axis=axis,
        note=note,
    )


def quantity(value: float, half: float, unit: str = "1") -> Quantity:
    return Quantity(value=value, low=value - half, high=value + half, unit=unit)


def mean_gradient(curve: Curve, first: float, last: float) -> Quantity:
    x = curve.log_exposure
    if first < x[0] or last > x[-1]:
        return Quantity(value=None, low=None, high=None, unit="1", why="the curve ends before")
    ends = np.interp([first, last], x, curve.density)
    return quantity(float(ends[1] - ends[0]) / (last - first), 0.011)


def make_findings(
    curve: Curve | None = None,
    *,
    stock: str = "tern-100",
    test: str = "2026-03-14",
    base: float | None = None,
    steps: int = 21,
    seed: int = 1,
    curve_why: str | None = None,
) -> TestFindings:
    """Return findings of an invented test, its measures read off the curve."""
    measures: dict[str, Quantity] = {}
    found: list[StepFinding] = []
    if curve is not None:
        x = curve.log_exposure
        base = float(curve.density[0]) if base is None else base
        measures["base_plus_fog"] = quantity(base, 0.008, "D")
        if curve.density[0] <= base + 0.1 <= curve.density[-1]:
            speed = float(np.interp(base + 0.1, curve.density, x))
            measures["speed_point"] = quantity(speed, 0.021, "log H")
            for measure, start, end in (
                ("average_gradient", 0.0, 1.3),
                ("shadow_gradient", 0.0, 0.6),
                ("middle_gradient", 0.6, 1.4),
                ("highlight_gradient", 1.4, 2.0),
            ):
                measures[measure] = mean_gradient(curve, speed + start, speed + end)
        noise = np.random.default_rng(seed).normal(0.0, 0.008, steps)
        for index, place in enumerate(np.linspace(x[0], x[-1], steps)):
            density = float(np.interp(place, x, curve.density) + noise[index])
            found.append(StepFinding(step=str(index + 1), log_exposure=float(place), density=density, readings=3))
    return TestFindings(
        stock=stock,
        test=test,
        current=True,
        reference="marl-400/2026-03-12",
        measures=measures,
        against_reference={"average_gradient": Comparison(verdict="not measured", why="invented")},
        curve=curve,
        curve_why=curve_why,
        steps=tuple(found),
        frames=(),
        patches={},
    )


def make_stock() -> TestFindings:
    """Return an invented stock, a little slower and steeper than the reference."""
    return make_findings(make_curve(base=0.31, gamma=0.68, toe=-2.3, shoulder=0.1, width=0.11))


def make_reference() -> TestFindings:
    """Return an invented reference."""
    return make_findings(make_curve(), stock="marl-400", test="2026-03-12", seed=2)


def with_measures(findings: TestFindings, **measures: Quantity) -> TestFindings:
    """Return findings with some measures replaced."""
    return replace(findings, measures={**findings.measures, **measures})


def make_patch(name: str, stops: float, *, eye: float | None, reference: float | None) -> PatchFinding:
    """Return an invented patch: its stops from grey, and where the eye and the reference have it."""

    def beside(other: float | None) -> Comparison:
        if other is None:
            return Comparison(verdict="not measured", unit="stops", why="invented")
        difference = stops - other
        verdict: VerdictWord = "higher" if difference > 0.15 else "lower" if difference < -0.15 else NO_DIFFERENCE
        low, high = difference - 0.15, difference + 0.15
        return Comparison(verdict=verdict, difference=difference, low=low, high=high, could_see=0.15, unit="stops")

    return PatchFinding(
        patch=name,
        stops_from_grey=quantity(stops, 0.0 if stops == 0 else 0.09, "stops"),
        pooled=None,
        against_eye=beside(eye),
        against_reference=beside(reference),
    )


def make_frames(*, slower: float = 0.0, aim: float = 0.36) -> tuple[FrameFinding, ...]:
    """Return thirteen invented frames in thirds of a stop; a slower stock needs more light for the aim."""
    stops = [index / 3 for index in range(-6, 7)]
    shadows = [0.02 + 0.18 * float(np.logaddexp(0.0, (place - slower + 2.0) * 1.2) / 1.2) for place in stops]
    nearest = min(range(13), key=lambda index: abs(shadows[index] - aim))
    return tuple(
        FrameFinding(
            frame=str(index + 1),
            stops=place,
            chosen=index == nearest,
            shadow_density=shadow,
            residual_density=shadow - aim,
            residual_stops=place - slower,
        )
        for index, (place, shadow) in enumerate(zip(stops, shadows, strict=True))
    )


def make_bracket(*, slower: float = 0.0, base: float = 0.28) -> BracketFit:
    """Return an invented fit: grey, shadow and red on lines of frames 1 to 13; red's ninth left out, its first kept."""
    places = {"grey": 1.0, "deep": 0.0, "red": 2.6}
    grid = np.linspace(-2.3, 2.3, 47)

    def density(place: float, stops: FloatArray) -> FloatArray:
        return np.asarray(base + 0.02 + 0.18 * softplus((stops - slower + 2.0 + place) * 1.2, 1.0) / 1.2)

    readings = []
    for patch, place in places.items():
        for index in range(13):
            stops = (index - 6) / 3
            predicted = float(density(place, np.array(stops)))
            misfit = patch == "red" and index in {0, 8}
            readings.append(
                FrameReading(
                    frame=str(index + 1),
                    stops=stops,
                    patch=patch,
                    density=predicted + (0.15 if misfit else 0.0),
                    predicted_density=predicted,
                    used=not (misfit and index == 8),
                    left_out=misfit,
                )
            )
    lines = []
    for patch, place in places.items():
        line = density(place, grid)
        # The curve ends before the lightest patch's last stops.
        lines.append(PatchLine(patch=patch, stops=grid, density=np.where(line > base + 0.8, np.nan, line)))
    return BracketFit(base=base, shadow_patch="deep", readings=tuple(readings), lines=tuple(lines))


def make_reproduction(*, gamma: float = 1.2) -> ToneReproduction:
    """Return an invented tone reproduction: from the paper's black to its white."""
    x = np.arange(-0.85, 2.01, 0.05)
    density = 0.08 + 1.7 / (1.0 + np.exp((x - 0.75) * 2.2 * gamma))
    return ToneReproduction(
        subject_log_luminance=x, print_density=density, low=density - 0.02, high=density + 0.02, paper="invented-2"
    )


def make_contrast_time() -> ContrastTime:
    """Return an invented family of four times, with the reference's gradient among theirs."""
    times = (5.0, 7.0, 10.0, 14.0)
    x = np.geomspace(5.0, 14.0, 50)
    gradient = 0.9 * (1 - np.exp(-0.16 * x))
    points = tuple(
        TimePoint(
            test=f"2026-03-1{index}", time_min=time, average_gradient=quantity(0.9 * (1 - np.exp(-0.16 * time)), 0.012)
        )
        for index, time in enumerate(times)
    )
    return ContrastTime(points=points, time_min=x, average_gradient=gradient, reference_average_gradient=0.62)


def make_batches(count: int) -> tuple[BatchFinding, ...]:
    """Return invented control strips; the fifth batch is far too dense; limits from seven batches on."""
    found = []
    for step, level in (("base", 0.24), ("low", 0.41), ("mid", 0.97), ("high", 1.6)):
        for index in range(count):
            density = level + 0.01 * (index % 3 - 1) + (0.1 if index == 4 else 0.0)
            limits = (level, 0.012) if count >= 7 else (None, None)
            far = count >= 7 and index == 4
            found.append(
                BatchFinding(
                    batch=f"2026-{index + 1:02d}-14-tank",
                    strip_step=step,
                    density=density,
                    mean=limits[0],
                    sigma=limits[1],
                    beyond_2_sigma=far,
                    beyond_3_sigma=far,
                )
            )
    return tuple(found)


def make_spectrum(*, level_um2: float = 0.2, half_cycles_per_mm: float = 30.0) -> Spectrum:
    """Return an invented Wiener spectrum that falls as a bell does, to a half at one frequency."""
    cycles = np.linspace(4.0, 60.0, 30)
    return Spectrum(
        cycles_per_mm=cycles,
        power_um2=level_um2 * 0.5 ** ((cycles / half_cycles_per_mm) ** 2),
        note="at density 1.20, base and fog included",
    )


def make_edge_response(*, half_cycles_per_mm: float = 30.0) -> EdgeResponse:
    """Return an invented response that falls as a bell does, to a half at one frequency."""
    cycles = np.linspace(0.0, 56.0, 57)
    response = 0.5 ** ((cycles / half_cycles_per_mm) ** 2)
    half = 0.04 * response * cycles / half_cycles_per_mm
    return EdgeResponse(cycles_per_mm=cycles, response=response, low=response - half, high=response + half)


PATCH_NAMES = {"grey": "Grey", "deep": "Deep grey", "red": "Red", "blue": "Blue"}


def make_whole_stock() -> TestFindings:
    """Return an invented stock of which everything was measured."""
    patches = [
        make_patch("grey", 0.0, eye=None, reference=None),
        make_patch("deep", -1.8, eye=-1.85, reference=-1.7),
        make_patch("red", 0.4, eye=-0.05, reference=0.3),
        make_patch("blue", -0.85, eye=-1.6, reference=-0.65),
    ]
    stock = with_measures(
        make_stock(),
        shadow_match=quantity(0.42, 0.12, "stops"),
        matching_time=quantity(7.3, 0.2, "min"),
        print_shadow_contrast=quantity(0.9, 0.02),
        print_middle_contrast=quantity(1.1, 0.02),
        print_highlight_contrast=quantity(0.2, 0.02),
        mtf50=quantity(33.0, 1.8, "cycles/mm"),
    )
    return replace(
        stock,
        frames=make_frames(slower=0.42),
        patches={patch.patch: patch for patch in patches},
        tone_reproduction=make_reproduction(),
        contrast_time=make_contrast_time(),
        spectrum=make_spectrum(level_um2=0.1),
        edge_response=make_edge_response(half_cycles_per_mm=33.0),
    )


def make_whole_reference() -> TestFindings:
    """Return an invented reference of which everything was measured."""
    patches = [
        make_patch("grey", 0.0, eye=None, reference=None),
        make_patch("deep", -1.7, eye=-1.85, reference=-1.7),
        make_patch("red", 0.3, eye=-0.05, reference=0.3),
        make_patch("blue", -0.65, eye=-1.6, reference=-0.65),
    ]
    return replace(
        with_measures(make_reference(), mtf50=quantity(28.0, 2.2, "cycles/mm")),
        frames=make_frames(),
        patches={patch.patch: patch for patch in patches},
        tone_reproduction=make_reproduction(gamma=1.0),
        spectrum=make_spectrum(),
        edge_response=make_edge_response(half_cycles_per_mm=28.0),
    )
