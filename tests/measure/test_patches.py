import math
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest
from basefog.measure.patches import judge_patches, measure_patches, note_patches
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.measure.curve_fit import FittedCurve, fit_curve
from basefog.measure.intervals import compare
from basefog.records.content import FloatArray, Frame, Patch, StepReadings
from basefog.records.findings import Comparison, PatchFinding, Quantity, Scatter
from measure.bench_content import PLACE, make_curve, make_frame, make_frames, make_test, shift_frame, soft_toe

PATCHES = (
    Patch(id="grey", name="Grey", luminous_reflectance=0.18),
    Patch(id="dark", name="Dark skin", luminous_reflectance=0.09),
    Patch(id="red", name="Red", luminous_reflectance=None),
)
PLACES = {"grey": 0.60, "dark": 0.25, "red": 0.45}
ERROR = 0.01


def straight(gradient: float) -> Callable[[FloatArray], FloatArray]:
    return lambda log_exposure: np.asarray(0.5 + gradient * np.asarray(log_exposure))


def frame_of(
    density: Callable[[FloatArray], FloatArray], places: Mapping[str, float] = PLACES, base: float | None = 0.25
) -> Frame:
    return make_frames(lambda log_exposure: float(density(np.array(log_exposure))), places, stops=[0.0], base=base)[0]


def measure(
    frame: Frame, curve: FittedCurve, *, name: str = "tern-100/2026-03-14", repeatability: float = ERROR
) -> dict[str, Quantity]:
    test = make_test(name, frames=[frame])
    return measure_patches(test, frame, curve, PATCHES, grey_patch="grey", repeatability=repeatability)


def value(quantity: Quantity) -> float:
    assert quantity.value is not None
    return quantity.value


def judge(
    quantities: Mapping[str, Quantity],
    reference: Mapping[str, Quantity] | None,
    patches: tuple[Patch, ...] = PATCHES,
    scatter: Mapping[str, Scatter] | None = None,
) -> dict[str, PatchFinding]:
    return judge_patches(
        quantities,
        reference,
        patches,
        grey_patch="grey",
        why_no_reference="this is the reference",
        scatter=scatter or {},
    )


@pytest.mark.parametrize("density", [straight(0.45), straight(0.80), soft_toe(0.62, 0.20, 0.2)])
def test_contrast_drops_out(density: Callable[[FloatArray], FloatArray]) -> None:
    """Whatever the curve, a patch 0.35 log units below the grey one comes back 0.35 / 0.3010 stops below it."""
    found = measure(frame_of(density), make_curve(density))

    assert value(found["dark"]) == pytest.approx(-0.35 / math.log10(2), abs=1e-3)
    assert value(found["red"]) == pytest.approx(-0.15 / math.log10(2), abs=1e-3)
    assert found["dark"].unit == "stops"


def test_grey_patch_is_the_zero() -> None:
    """The grey patch is zero without error: the others count from it."""
    grey = measure(frame_of(straight(0.6)), make_curve(straight(0.6)))["grey"]

    assert (grey.value, grey.low, grey.high, grey.note) == (0.0, 0.0, 0.0, "zero by definition")


def test_interval_is_that_of_two_readings() -> None:
    """On a curve known without error, the error is that of both readings through the gradient: the base cancels."""
    expected = 1.96 * ERROR * math.sqrt(2) / 0.6 / math.log10(2)

    dark = measure(frame_of(straight(0.6)), make_curve(straight(0.6)))["dark"]

    assert dark.half_width == pytest.approx(expected, rel=0.08)


def test_frame_with_its_own_base_is_set_on_the_curves() -> None:
    """A fogged frame, its base 0.10 above the wedge's, gives the same stops once its own base is taken off."""
    fogged = shift_frame(frame_of(straight(0.6)), 0.10)

    found = measure(fogged, make_curve(straight(0.6), base_plus_fog=0.25))

    assert value(found["dark"]) == pytest.approx(-0.35 / math.log10(2), abs=1e-6)


def test_frame_without_a_base_is_read_as_it_stands() -> None:
    """Without the frame's own base, base plus fog is taken off and put back: absolute densities on absolute ones."""
    density = soft_toe(0.62, 0.20, 0.2)
    frame = frame_of(lambda log_exposure: density(log_exposure) + 0.25, base=None)

    found = measure(frame, make_curve(density, base_plus_fog=0.25))

    assert value(found["dark"]) == pytest.approx(-0.35 / math.log10(2), abs=1e-3)


@settings(max_examples=20, deadline=None)
@given(by=st.floats(-0.2, 1.0))
def test_constant_density_changes_no_patch(by: float) -> None:
    """A constant added to every density of a frame and its base changes no patch."""
    frame, curve = frame_of(soft_toe()), make_curve(soft_toe())

    before, after = measure(frame, curve), measure(shift_frame(frame, by), curve)

    for patch in ("dark", "red"):
        assert after[patch].value == pytest.approx(before[patch].value, abs=1e-6)
        assert after[patch].half_width == pytest.approx(before[patch].half_width, rel=1e-3)


def test_brackets_own_curve_serves_and_says_so() -> None:
    """Without a wedge, the grey patch's log exposure is the frame's own, and the finding carries the curve's note."""
    curve = replace(make_curve(straight(0.6), axis="bracket"), note="from the grey patch")
    # The bracket's axis counts the grey patch's exposure from the metered frame, where it is zero.
    frame = frame_of(straight(0.6), {"grey": 0.0, "dark": -0.35, "red": -0.15})
    expected_half_width = 1.96 * ERROR / 0.6 / math.log10(2)

    dark = measure(frame, curve)["dark"]

    assert value(dark) == pytest.approx(-0.35 / math.log10(2), abs=1e-6)
    assert dark.half_width == pytest.approx(expected_half_width, rel=0.08)
    assert dark.note == "from the grey patch"


BEYOND = [
    ({"grey": (0.90,), "red": (0.70,)}, "dark", "not read on frame 1"),
    ({"dark": (0.60,), "red": (0.70,)}, "dark", "the grey patch was not read on frame 1"),
    (
        {"grey": (0.90,), "dark": (0.30,), "red": (0.70,)},
        "dark",
        "its density 0.30 is beyond the curve, which runs from 0.45 to 1.65",
    ),
    (
        {"grey": (1.90,), "dark": (0.60,), "red": (0.70,)},
        "dark",
        "the grey patch's density 1.90 is beyond the curve, which runs from 0.45 to 1.65",
    ),
]


@pytest.mark.parametrize(("readings", "patch", "why"), BEYOND)
def test_missing_patch_says_why(readings: Mapping[str, tuple[float, ...]], patch: str, why: str) -> None:
    """A patch that wasn't read or lies beyond the curve has no value and says so, and drags no other with it."""
    curve = make_curve(straight(0.6), first=-0.5, last=1.5)

    found = measure(make_frame("1", 0.0, readings), curve)

    assert found[patch] == Quantity(value=None, low=None, high=None, unit="stops", why=why)
    assert (found["red"].value is None) == ("grey patch" in why)


def test_patch_near_the_end_of_the_curve_says_so() -> None:
    """Within its error of the curve's end a patch keeps its value, and a note tells that some draws miss the curve."""
    curve = make_curve(straight(0.6), first=-0.5, last=1.5)
    frame = make_frame("1", 0.0, {"grey": (0.90,), "dark": (0.455,), "red": (0.70,)})

    dark = measure(frame, curve)["dark"]

    assert dark.value is not None
    assert dark.note is not None
    assert dark.note.startswith("within error of")


def test_notes_are_added_to_values_only() -> None:
    """A further note joins the one that is there, and a missing value keeps its reason alone."""
    noted = Quantity(value=0.1, low=0.0, high=0.2, unit="stops", note="one")
    bare = replace(noted, note=None)
    none = Quantity(value=None, low=None, high=None, unit="stops", why="not read")

    found = note_patches({"a": noted, "b": bare, "c": none}, "two")

    assert [found["a"].note, found["b"].note, found["c"]] == ["one; two", "two", none]


def test_eye_is_the_ratio_of_luminous_reflectances() -> None:
    """A patch of half the grey's reflectance that the film puts 0.9 stops below it is 0.1 stops lighter than seen."""
    dark = Quantity(value=-0.9, low=-1.0, high=-0.75, unit="stops")

    found = judge({"grey": dark, "dark": dark, "red": dark}, None)

    assert found["dark"].against_eye.difference == pytest.approx(0.1)
    assert found["dark"].against_eye.low == pytest.approx(0.0, abs=1e-12)
    assert found["dark"].against_eye.high == pytest.approx(0.25)
    assert found["dark"].stops_from_grey is dark


def test_eye_needs_both_reflectances() -> None:
    """Without luminous_reflectance of the patch or of the grey one, against_eye is not measured and says so."""
    dark = Quantity(value=-0.9, low=-1.0, high=-0.8, unit="stops")
    blind = tuple(replace(patch, luminous_reflectance=None) if patch.id == "grey" else patch for patch in PATCHES)
    quantities = dict.fromkeys(PLACES, dark)

    found, without_grey = judge(quantities, None), judge(quantities, None, blind)

    assert found["red"].against_eye.verdict == "not measured"
    assert found["red"].against_eye.why == "the series gives no luminous_reflectance for this patch"
    assert without_grey["dark"].against_eye.why == "the series gives no luminous_reflectance for the grey patch"
    assert found["grey"].against_eye.why == "this is the grey patch, from which the others are counted"


def test_reference_is_compared_by_square_and_add() -> None:
    """Against the reference both errors count, and the scatter of repeats where it is known; never the grey patch."""
    dark = Quantity(value=-0.9, low=-1.0, high=-0.8, unit="stops")
    other = Quantity(value=-0.6, low=-0.65, high=-0.5, unit="stops")
    scatter = Scatter(measure="dark", sigma=0.1, degrees_of_freedom=3, stocks=3)
    ours, theirs = dict.fromkeys(PLACES, dark), dict.fromkeys(PLACES, other)

    plain, scattered = judge(ours, theirs), judge(ours, theirs, scatter={"dark": scatter})

    assert plain["dark"].against_reference == compare(dark, other)
    assert plain["dark"].against_reference.verdict == "lower"
    assert scattered["dark"].against_reference == compare(dark, other, scatter)
    assert scattered["dark"].against_reference.verdict == "no measurable difference"
    assert plain["grey"].against_reference.why == "this is the grey patch, from which the others are counted"


def test_no_reference_says_why() -> None:
    """Where there is nothing to set it against, the patch is not measured against the reference."""
    dark = Quantity(value=-0.9, low=-1.0, high=-0.8, unit="stops")

    found = judge(dict.fromkeys(PLACES, dark), None)

    assert found["dark"].against_reference == Comparison(
        verdict="not measured", unit="stops", why="this is the reference"
    )


@settings(max_examples=20, deadline=None)
@given(shift=st.floats(-0.3, 0.3))
def test_swapping_stock_and_reference_flips_the_patch(shift: float) -> None:
    """The reference against the stock is the stock against the reference with its sign turned."""
    curve = make_curve(straight(0.6))
    ours = measure(frame_of(straight(0.6), {**PLACES, "dark": PLACES["dark"] + shift}), curve)
    theirs = measure(frame_of(straight(0.6)), curve, name="marl-400/2026-01-10")

    there, back = judge(ours, theirs)["dark"].against_reference, judge(theirs, ours)["dark"].against_reference

    assert (there.difference or 0.0) == pytest.approx(-(back.difference or 0.0), abs=1e-12)
    assert (there.low, there.high) == pytest.approx((-(back.high or 0.0), -(back.low or 0.0)), abs=1e-12)
    assert {there.verdict, back.verdict} in ({"higher", "lower"}, {"no measurable difference"})


def test_intervals_cover_the_true_stops() -> None:
    """Over 400 tests with wedge, base and patches read with errors of 0.01, 93 to 97 % of intervals hold the truth."""
    generator = np.random.default_rng(20260314)
    density = soft_toe(0.62, 0.15)
    sites = -1.0 + 0.15 * np.arange(21)

    def read(level: float) -> float:
        return level + ERROR * float(generator.standard_normal())

    def measure_again(number: int) -> list[bool]:
        key = f"tern-100/2026-03-14-{number}"
        steps = [
            StepReadings(
                step=str(step),
                log_exposure=float(site),
                u_log_exposure=0.0,
                readings=(read(0.25 + float(density(site))),),
                place=PLACE,
            )
            for step, site in enumerate(sites)
        ]
        curve = fit_curve(steps, (read(0.25),), repeatability=ERROR, key=key, absolute=False, axis="contact-21")
        assert isinstance(curve, FittedCurve)
        exact = frame_of(density)
        frame = make_frame(
            "1", 0.0, {patch: (read(one),) for patch, (one,) in exact.patches.items()}, (read(exact.base[0]),)
        )
        found = measure(frame, curve, name=key)
        return [
            low <= (PLACES[patch] - PLACES["grey"]) / math.log10(2) <= high
            for patch in ("dark", "red")
            if (low := found[patch].low) is not None and (high := found[patch].high) is not None
        ]

    covered = [hit for number in range(400) for hit in measure_again(number)]

    assert len(covered) == 800
    assert 0.93 <= float(np.mean(covered)) <= 0.97
