"""An invented series with its findings: a reference with a retest, a stock with everything, one without a test."""

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np

from basefog.records.content import (
    Densitometer,
    Development,
    Enlarging,
    Exposure,
    InputFile,
    Patch,
    Prose,
    Protocol,
    Question,
    Reading,
    Series,
    Stock,
    Test,
    Wedge,
)
from basefog.records.findings import (
    Comparison,
    ContrastTime,
    Curve,
    EdgeResponse,
    ErrorParts,
    Findings,
    FrameFinding,
    LampPart,
    PatchFinding,
    Quantity,
    Remark,
    Spectrum,
    StepFinding,
    TestFindings,
    TimePoint,
    ToneReproduction,
    ToSettle,
    WedgePart,
)
from basefog.records.problem import Place, remark_at
from basefog.records.vocabulary import MEASURES, VerdictWord
from picture.samples import make_bracket

READINGS = b"step,first\nbase,0.24\n1,0.42\n"
FORMULA_NAME = "=cmd|' /C calc'!A0"


def make_series(address: str | None = "https://trials.example.org/") -> Series:
    """Return the series."""
    marl = make_stock("marl-400", "Marl 400", ("2026-03-14", "2026-05-02"), maker="Quarry & Sons")
    first, second = marl.tests
    second = replace(second, replaces=first.id, reason="The camera moved <between> frames & rolls.")
    marl = replace(marl, tests=(replace(first, replaced_by=second.id), second), former_slugs=("marl-iso-400",))
    tern = make_stock("tern-100", FORMULA_NAME, ("2026-04-01-b",), maker="@home", box_speed=100.0)
    knot = replace(make_stock("knot-50", "Knot 50", ()), current=None)
    gull = make_stock("gull-25", "Gull 25", ("2026-02-01",))
    gull = replace(gull, tests=(replace(gull.tests[0], withdrawn="The wrong developer was used."),), current=None)
    return Series(
        title="Lantern Yard: “trials”",
        address=address,
        author="M. Osei",
        licence="CC-BY-4.0",
        language="en",
        description="One reference film, one protocol.",
        reference="marl-400",
        protocol=Protocol(
            developer="metol-hydroquinone, undiluted",
            subject=None,
            lighting=None,
            temperature_c=20.0,
            bracket_step_stops=1 / 3,
            grey_patch="grey",
            shadow_patch="dark",
        ),
        exposure=Exposure(wedge="contact-21", lux_s=0.8),
        densitometer=Densitometer(),
        patches=(Patch(id="red", name="Red", luminous_reflectance=0.12),),
        views=(),
        enlarging=Enlarging(paper=None, magnification=None, exposure_s=None),
        wedges={
            "contact-21": Wedge(
                id="contact-21",
                steps=("7", "8"),
                density=np.array([1.0, 1.15]),
                u_density=np.array([0.01, 0.01]),
                place=Place(path="wedges/contact-21.csv"),
            )
        },
        papers={},
        batches=(),
        stocks=(gull, knot, marl, tern),
        questions=(
            make_question("grain", answered=date(2026, 4, 20)),
            make_question("still-open", answered=None, title="And is it sharper?"),
        ),
        pages=(),
        remarks=(
            remark_at(Place(path="stocks/tern-100/2026-04-01-b/wedge.csv", line=7), "step 5 is odd", "Read it again."),
        ),
    )


def make_stock(
    slug: str, name: str, tests: tuple[str, ...], *, maker: str | None = None, box_speed: float = 400
) -> Stock:
    """Return a stock with plain tests, the last one current."""
    return Stock(
        slug=slug,
        name=name,
        maker=maker,
        box_speed=box_speed,
        process=None,
        formats=("135", "120"),
        former_slugs=(),
        tests=tuple(make_test(slug, test) for test in tests),
        current=tests[-1] if tests else None,
        notes=None,
        place=Place(path=f"stocks/{slug}/stock.yaml"),
    )


def make_test(stock: str, test_id: str) -> Test:
    """Return a test with three readings."""
    folder = f"stocks/{stock}/{test_id}"
    table = Place(path=f"{folder}/wedge.csv", line=2)
    return Test(
        stock=stock,
        id=test_id,
        date=date.fromisoformat(test_id[:10]),
        exposure_index=400,
        emulsion="0417-2",
        developed=Development(developer="d", temperature_c=20, time_min=8.5, agitation=None, batch=None),
        replaces=None,
        replaced_by=None,
        reason=None,
        withdrawn=None,
        departures=("Camera remounted between frames 6 and 7",),
        exposure=Exposure(wedge="contact-21", lux_s=0.8),
        repeat=False,
        development_of=None,
        print_exposure_s=None,
        scans=(),
        video=None,
        wedge=None,
        bracket=None,
        readings=(
            Reading(table="wedge", row="base", column="first", density=0.24, place=table),
            Reading(table="wedge", row="1", column="-first", density=0.423, place=replace(table, line=3)),
            Reading(table="bracket", row="-1", column="+grey", density=0.1 + 0.2, place=replace(table, line=4)),
        ),
        inputs=(
            InputFile(path=f"{folder}/test.yaml", sha256="0" * 64),
            InputFile(path=f"{folder}/wedge.csv", sha256=hashlib.sha256(READINGS).hexdigest()),
        ),
        notes=None,
        place=Place(path=f"{folder}/test.yaml"),
    )


def make_question(slug: str, *, answered: date | None, title: str = "Is Tern finer?") -> Question:
    """Return a question."""
    return Question(
        slug=slug,
        filed=date(2026, 4, 10),
        title=title,
        asked=date(2026, 4, 10),
        answered=answered,
        stocks=(),
        prose=Prose(text="Yes.", place=Place(path=f"questions/2026-04-10-{slug}.md")),
    )


def write_readings(series: Series, folder: Path) -> None:
    """Write the reading files that the series' inputs name."""
    for stock in series.stocks:
        for test in stock.tests:
            path = folder / "stocks" / test.key / "wedge.csv"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(READINGS)


def make_findings(series: Series) -> Findings:
    """Return findings: the stock tern-100 has every member that a test can have, the others little."""
    reference = f"{series.reference}/2026-05-02"
    tests = {
        test.key: make_found(test, reference, current=test.id == stock.current)
        for stock in series.stocks
        for test in stock.tests
    }
    tests |= {key: furnish(found) for key, found in tests.items() if found.stock == "tern-100"}
    return Findings(tests=tests, reference=reference)


def make_found(test: Test, reference: str, *, current: bool) -> TestFindings:
    """Return findings with no curve: every measure is missing with a why."""
    missing = {m.id: Quantity(value=None, low=None, high=None, unit=m.unit, why="too few steps") for m in MEASURES}
    return TestFindings(
        stock=test.stock,
        test=test.id,
        current=current,
        reference=reference,
        measures=missing,
        against_reference={"gamma": Comparison(verdict="not measured", why="too few steps")},
        curve=None,
        curve_why="there are only 2 steps, a curve needs 6",
        steps=(),
        frames=(),
        patches={},
    )


def make_frame(
    frame: str, stops: float, shadow: float | None, density: float | None, off_stops: float | None
) -> FrameFinding:
    """Return a frame; frame 7 is the chosen one."""
    return FrameFinding(
        frame=frame,
        stops=stops,
        chosen=frame == "7",
        shadow_density=shadow,
        residual_density=density,
        residual_stops=off_stops,
    )


BATCH = "2026-03-14-tank-2"
SURE = {
    "firm": True,
    "from_reference": 0.4801,
    "counts": ("reading", "wedge", "repeats"),
    "to_settle": ToSettle(tests=0),
}


def gradients_of(value: float, half: float, *, unshared: float, batches: tuple[str | None, ...]) -> Quantity:
    """Return a gradient with its parts, its scatter and the batches of its tests."""
    parts = ErrorParts(unshared=unshared)
    low, high = value - half, value + half
    return Quantity(value=value, low=low, high=high, unit="1", parts=parts, scatter=0.0123, batches=batches)


def about(difference: float, half: float, unit: str = "1", *, firm: bool | None = None) -> Comparison:
    """Return a comparison as the rule makes it of a difference and half its interval.

    `firm` is asked of what lies beyond its error; None where that is not asked, as of movements.
    """
    low, high = difference - half, difference + half
    verdict: VerdictWord = "higher" if low > 0 else "lower" if high < 0 else "no measurable difference"
    return Comparison(
        verdict=verdict,
        difference=difference,
        low=low,
        high=high,
        could_see=half,
        unit=unit,
        firm=None if firm is None else firm and verdict != "no measurable difference",
    )


def furnish(found: TestFindings) -> TestFindings:
    """Return the findings with every member that a test can have."""
    higher = Comparison(verdict="higher", difference=0.0312, low=0.0121, high=0.0503, could_see=0.0191, **SURE)  # type: ignore[arg-type]
    none = Comparison(verdict="not measured", why="the reference was not read")
    x = np.linspace(-2.0, 0.5, 26)
    band = np.full_like(x, 0.00512)
    density = 0.25 + 0.6 * np.maximum(0.0, x + 1.5)
    gradient = np.gradient(density, x)
    measures: Mapping[str, Quantity] = {
        **found.measures,
        "gamma": Quantity(value=0.61234, low=0.60123, high=0.62345, unit="1", relative_to_average=1.0456),
        "maximum_density": Quantity(value=2.2719, low=2.2681, high=2.2757, unit="D", bound="lower"),
        "rms_granularity": Quantity(
            value=12.346, low=11.9, high=12.8, unit="1", note="from one scan", at_density=0.961, as_read=11.978
        ),
        "speed_point": Quantity(value=-1.3333333, low=None, high=None, unit="log H"),
        "iso_speed": Quantity(
            value=160.0,
            low=134.0,
            high=152.0,
            unit="ISO",
            exact=143.0,
            parts=ErrorParts(
                unshared=0.01**2,
                wedge=WedgePart(wedge="contact-21", by_step={"7": 0.4}, u_density={"7": 0.01}),
                lamp=LampPart(lux_s=0.8, u_lux_s=0.05, per_log_unit=1.0),
            ),
        ),
        "average_gradient": gradients_of(0.61, 0.010, unshared=0.005**2, batches=(BATCH,)),
    }
    patch = PatchFinding(
        patch="red",
        stops_from_grey=Quantity(value=-0.412, low=-0.48, high=-0.34, unit="stops"),
        pooled=None,
        against_eye=Comparison(verdict="higher", difference=0.17, low=0.10, high=0.24, could_see=0.07, unit="stops"),
        against_reference=replace(higher, unit="stops"),
    )
    dark = replace(
        patch,
        patch="dark",
        stops_from_grey=Quantity(value=None, low=None, high=None, unit="stops", why="beyond the readings"),
    )
    gradients = Quantity(value=0.61, low=0.60, high=0.62, unit="1")
    return replace(
        found,
        measures=measures,
        against_reference={"gamma": higher, "print_exposure": replace(higher, unit="stops"), "mtf50": none},
        curve=Curve(
            log_exposure=x,
            density=density,
            low=density - band,
            high=density + band,
            gradient=gradient,
            gradient_low=gradient - band,
            gradient_high=gradient + band,
            absolute=False,
            axis="contact-21",
            note="the bracket's grey patch",
        ),
        curve_why=None,
        steps=(StepFinding(step="1", log_exposure=-0.15, density=2.2666666667, readings=3),),
        frames=(
            make_frame("7", 1 / 3, 0.3, -0.01, -0.05),
            make_frame("8", 0.0, None, None, None),
            make_frame("9", -1.0, 0.2, -0.11, None),
        ),
        patches={"red": patch, "dark": replace(dark, against_eye=none, against_reference=none)},
        bracket=make_bracket(),
        tone_reproduction=ToneReproduction(
            subject_log_luminance=x, print_density=2.0 - 0.5 * (x - x[0]), low=x, high=x, paper="grade-2"
        ),
        contrast_time=ContrastTime(
            points=(TimePoint(test="2026-04-01-b", time_min=8.5, average_gradient=gradients),),
            time_min=np.array([6.0, 8.5]),
            average_gradient=np.array([0.5, 0.61]),
            reference_average_gradient=0.6123456,
        ),
        spectrum=Spectrum(
            cycles_per_mm=np.array([10.0, 20.0, 40.0]),
            power_um2=np.array([0.234567, 0.1, 0.001234567]),
            note="at density 1.20",
        ),
        edge_response=EdgeResponse(
            cycles_per_mm=np.array([0.0, 30.0]),
            response=np.array([1.0, 0.5]),
            low=np.array([1.0, 0.46]),
            high=np.array([1.0, 0.54]),
        ),
        remarks=(Remark(message="the batch is beyond 3 sigma", mend="Read its strip again."),),
    )


def with_repeats(found: TestFindings) -> TestFindings:
    """Return furnished findings as those of a stock's third test: means of its repeats, and what it moved."""
    same = Comparison(verdict="no measurable difference", difference=0.0312, low=-0.02, high=0.0824, could_see=0.0512)
    red = replace(found.patches["red"], pooled=Quantity(value=-0.40, low=-0.45, high=-0.35, unit="stops", tests=2))
    mean = gradients_of(0.605, 0.007, unshared=0.003**2, batches=(BATCH, None, None))
    return replace(
        found,
        group=("2026-04-01-b", "2026-03-01", "2026-02-01"),
        pooled={"average_gradient": replace(mean, tests=3)},
        patches={**found.patches, "red": red},
        movement={"gamma": same},
        patch_movement={"red": replace(same, unit="stops")},
        moved_from="2026-03-01",
        exposures_repeat_stops=0.0712,
    )
