import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.measure.bracket_readings import pool_bracket_error
from basefog.measure.curve_fit import FittedCurve
from basefog.measure.frames_fit import (
    FramesFit,
    NoFramesFit,
    fit_frames,
    pool_shutter_scatter,
)
from basefog.measure.resampling import DRAWS
from basefog.records.content import FloatArray, Frame, Test
from basefog.records.vocabulary import LOG10_2
from measure.bench_content import make_curve, make_frame, make_test, own_curve, soft_toe

NET = soft_toe(0.62, 0.12, -1.0)
CURVE = make_curve(NET, first=-2.0, last=2.0)
PLACES = {"grey": 0.0, "dark": -0.40, "red": -0.20, "white": 0.45}
STOPS = tuple(third / 3 for third in range(-6, 7))
BASE = 0.25


def bracket(
    offsets: Mapping[int, float] | None = None,
    *,
    places: Mapping[str, float] = PLACES,
    base: float | None = BASE,
    stops: Sequence[float] = STOPS,
    at: float = 0.1,
) -> list[Frame]:
    """Return frames read without error, the grey patch at log exposure `at` at 0 stops, frames off by log exposures."""
    lift = BASE if base is None else base
    return [
        make_frame(
            f"{number:02d}",
            step,
            {
                patch: (lift + float(NET(np.array(at + LOG10_2 * step + (offsets or {}).get(number, 0.0) + place))),)
                for patch, place in places.items()
            },
            base=() if base is None else (base,),
        )
        for number, step in enumerate(stops)
    ]


def change(frames: list[Frame], number: int, patch: str, by: float) -> list[Frame]:
    """Return the frames with one reading changed."""
    frame = frames[number]
    readings = tuple(reading + by for reading in frame.patches[patch])
    return [
        replace(frame, patches={**frame.patches, patch: readings}) if at == number else other
        for at, other in enumerate(frames)
    ]


def fit(frames: Sequence[Frame], curve: FittedCurve = CURVE, *, repeatability: float = 0.01) -> FramesFit:
    found = fit_frames(make_test(frames=frames), curve, grey_patch="grey", repeatability=repeatability, quantum=0.0)
    assert isinstance(found, FramesFit)
    return found


def place_of(found: FramesFit, patch: str) -> FloatArray:
    place = found.place_of(patch)
    assert place is not None
    return place


def test_exact_readings_give_exact_places_and_exposures() -> None:
    """Without error every patch's place and every frame's exposure come back, shutter errors included."""
    offsets = {2: 0.05, 5: -0.08, 9: 0.03}

    found = fit(bracket(offsets))

    for patch, place in PLACES.items():
        # The curve's grid is straight between points 0.01 apart.
        assert place_of(found, patch)[0] == pytest.approx(place, abs=2e-4)
    expected = [0.1 + LOG10_2 * stops + offsets.get(number, 0.0) for number, stops in enumerate(STOPS)]
    assert found.exposure[0] == pytest.approx(expected, abs=2e-4)
    assert found.exposures_repeat_stops == pytest.approx(
        np.std([offsets.get(number, 0.0) for number in range(13)], ddof=1) / LOG10_2, abs=2e-3
    )
    assert found.factor == 1.0
    assert found.remarks == ()
    assert found.note is None


def test_degrees_count_readings_frames_and_patches() -> None:
    """52 readings, 13 frames and 4 patches leave 52 - 13 - 4 + 1; all of them serve here."""
    found = fit(bracket())

    assert all(reading.used for reading in found.readings)
    assert found.degrees == 52 - 13 - 4 + 1


def test_contrast_drops_out() -> None:
    """The same subject on a film of twice the contrast gives the same places."""
    steep = make_curve(lambda x: 2 * NET(x), first=-2.0, last=2.0)
    frames = [
        replace(
            frame,
            patches={patch: (BASE + 2 * (read[0] - BASE),) for patch, read in frame.patches.items()},
        )
        for frame in bracket()
    ]

    assert fit(frames, steep).place[0] == pytest.approx(fit(bracket()).place[0], abs=1e-6)


def test_net_of_the_frames_own_base() -> None:
    """A frame's base is taken off and the curve's put back: a fog of the bracket's own changes nothing."""
    assert fit(bracket(base=0.31)).place[0] == pytest.approx(fit(bracket()).place[0], abs=1e-9)
    assert fit(bracket(base=None)).place[0] == pytest.approx(fit(bracket()).place[0], abs=1e-9)


def test_draws_have_the_size_of_the_readings_errors() -> None:
    """On a straight line of known curve, b_p of k frames has variance u^2 / g^2 (1/k + 1/k)."""
    straight = make_curve(lambda x: 0.6 * (x + 2.0), first=-2.0, last=2.0)
    frames = [
        make_frame(f"{number:02d}", s, {p: (BASE + 0.6 * (2.1 + LOG10_2 * s + b),) for p, b in PLACES.items()}, base=())
        for number, s in enumerate(STOPS)
    ]

    found = fit(frames, straight)
    spread = np.sqrt(np.mean((found.place[1 : 1 + DRAWS] - found.place[0]) ** 2, axis=0))
    expected = 0.01 / 0.6 * math.sqrt(2 / 13)

    for number, patch in enumerate(found.patches):
        # 600 draws know a spread to 3 %.
        assert spread[number] == pytest.approx(0.0 if patch == "grey" else expected, rel=0.12)
        assert found.place_reading_variance[number] == pytest.approx(spread[number] ** 2, rel=1e-6)


def test_an_error_of_the_curve_is_in_every_frame() -> None:
    """One draw of the curve serves all frames, and only the curve's part remains without reading errors."""
    grid = CURVE.log_exposure
    bent = CURVE.density.copy()
    # In every second draw, and in a row beyond the draws, everything below grey lies 0.1 to the right.
    bent[2::2] = BASE + NET(grid - 0.1 * (grid < 0.05))
    extra = np.vstack([bent, bent[2:3]])
    curve = replace(CURVE, density=np.maximum.accumulate(extra, axis=1), base_plus_fog=np.full(DRAWS + 2, BASE))

    found = fit(bracket(places={"grey": 0.0, "dark": -0.4}, stops=(0.0, 1 / 3, 2 / 3)), curve, repeatability=1e-6)

    assert found.place.shape == (DRAWS + 2, 2)
    moved = place_of(found, "dark") - place_of(found, "dark")[0]
    assert moved[1] == pytest.approx(0.0, abs=1e-4)
    assert moved[2] == pytest.approx(0.1, abs=1e-3)
    assert moved[-1] == pytest.approx(moved[2], abs=1e-4)
    assert found.place_reading_variance.max() < 1e-9


def test_rows_beyond_the_draws_have_no_reading_errors() -> None:
    """Row 0 and rows beyond the draws are the same readings on their own curves."""
    curve = replace(
        CURVE, density=np.vstack([CURVE.density, CURVE.density[:2]]), base_plus_fog=np.full(DRAWS + 3, BASE)
    )

    found = fit(bracket(), curve)

    assert found.place[-2:] == pytest.approx(np.tile(found.place[0], (2, 1)), abs=1e-9)
    assert np.ptp(found.place[1 : 1 + DRAWS, 0]) > 0.01


def straight_frames(base: Sequence[float] = ()) -> tuple[FittedCurve, list[Frame]]:
    """Return a straight line of slope 0.6, known without error, and a bracket on it with or without bases."""
    line = make_curve(lambda x: 0.6 * (x + 2.0), first=-2.0, last=2.0)
    return line, [
        make_frame(f"{at:02d}", s, {p: (BASE + 0.6 * (2.1 + LOG10_2 * s + b),) for p, b in PLACES.items()}, base=base)
        for at, s in enumerate(STOPS)
    ]


@pytest.mark.parametrize(("base", "of_base"), [((), 0.0), ((BASE,), 1.0), ((BASE, BASE), 0.5)])
def test_a_frames_exposure_has_the_error_of_its_base(base: tuple[float, ...], of_base: float) -> None:
    """a_f has variance u^2 / g^2 (1 / P + what the places add), and its base's, undiminished by the patches."""
    line, frames = straight_frames(base)

    found = fit(frames, line)
    spread = np.std(found.exposure[1 : 1 + DRAWS], axis=0)
    # The mean of four patches less the mean of their places, which grey makes zero: 1/4 + 3/(4 x 13).
    expected = pool_bracket_error(frames, 0.01) / 0.6 * math.sqrt(1 / 4 + 3 / (4 * 13) + of_base)

    assert spread.mean() == pytest.approx(expected, rel=0.05)


def test_error_of_base_plus_fog_moves_frames_with_a_base_of_their_own() -> None:
    """Densities net of a frame's base are set on the curve's own, whose error is one for all frames."""
    line, with_base = straight_frames((BASE,))
    _, without = straight_frames()
    rows = BASE + np.append(0.0, 0.02 * np.random.default_rng(6).standard_normal(DRAWS))
    curve = replace(line, base_plus_fog=rows)

    moved, still = (fit(frames, curve, repeatability=1e-6).exposure for frames in (with_base, without))

    assert moved - moved[0] == pytest.approx(np.tile((rows - BASE)[:, None] / 0.6, (1, 13)), abs=1e-4)
    assert still - still[0] == pytest.approx(0.0, abs=1e-4)


def test_places_where_the_curve_is_unsure_count_for_less() -> None:
    """u_C is in the weights: where the curve's draws differ by 0.1 the readings hardly count."""
    line, frames = straight_frames()
    unsure = line.density.copy()
    unsure[1::2] += 0.1 * np.clip(0.1 - line.log_exposure, 0.0, 1.0)
    unsure[2::2] -= 0.1 * np.clip(0.1 - line.log_exposure, 0.0, 1.0)
    frames = [change([frame], 0, "dark", 0.02 if frame.stops < 0 else 0.0)[0] for frame in frames]

    known, found = (
        place_of(fit(frames, replace(line, density=density)), "dark")[0] for density in (line.density, unsure)
    )

    assert known == pytest.approx(PLACES["dark"] + 0.02 / 0.6 * 6 / 13, abs=1e-3)
    assert found - PLACES["dark"] < 0.6 * (known - PLACES["dark"])


@pytest.mark.parametrize(("base_known", "serves"), [(True, True), (False, False)])
def test_slopes_are_judged_by_the_average_gradient_where_there_is_one(base_known: bool, serves: bool) -> None:
    """A curve of average gradient 0.3 that ends five times as steep is used where it is 0.3; else not."""
    bent = make_curve(lambda x: 0.3 * (x + 2.0) + 1.2 * np.maximum(x - 0.3, 0.0), first=-2.0, last=2.0)
    if not base_known:
        bent = replace(bent, base_plus_fog=np.full(DRAWS + 1, np.nan))
    frames = [
        make_frame(
            str(at),
            stops,
            {p: (float(bent.density_at(x + LOG10_2 * stops)[0]),) for p, x in (("grey", 0.6), ("dark", -0.8))},
            base=(),
        )
        for at, stops in enumerate((0.0, 1.0, 2.0))
    ]

    found = fit(frames, bent)

    assert {reading.used for reading in found.readings if reading.patch == "dark"} == {serves}


def test_disagreement_widens_the_readings_part() -> None:
    """Readings that scatter three times as said widen the intervals about three times."""
    generator = np.random.default_rng(3)
    frames = bracket()
    for number in range(13):
        for patch in PLACES:
            frames = change(frames, number, patch, 0.03 * generator.standard_normal())

    found, honest = fit(frames), fit(bracket())

    # 36 degrees of freedom know a spread to 12 %.
    assert found.factor == pytest.approx(3.0, rel=0.35)
    dark = found.patches.index("dark")
    assert found.place_reading_variance[dark] == pytest.approx(
        found.factor**2 * honest.place_reading_variance[dark], rel=0.1
    )


def test_few_degrees_do_not_widen_and_are_noted() -> None:
    """Below five degrees of freedom the readings' disagreement is not heard, and a note says so."""
    frames = bracket(places={"grey": 0.0, "dark": -0.4}, stops=(-0.5, 0.0, 0.5, 1.0, 1.5))
    found = fit(change(frames, 2, "dark", 0.02))
    more = fit(change(bracket(places={"grey": 0.0, "dark": -0.4}, stops=STOPS[4:10]), 2, "dark", 0.05))

    assert (found.degrees, found.factor) == (4, 1.0)
    assert found.note == "too few frames and patches were read to tell how well they agree: 4 degrees of freedom"
    assert (more.degrees, more.note) == (5, None)
    assert more.factor > 1.0


def test_a_misread_cell_is_left_out_and_told() -> None:
    """A reading 0.20 too high changes no place, and the remark names frame, patch and by how much."""
    found = fit(change(bracket(), 4, "red", 0.20))

    assert found.place[0] == pytest.approx(fit(bracket()).place[0], abs=1e-3)
    assert [reading.frame + reading.patch for reading in found.readings if reading.left_out] == ["04red"]
    assert [reading.used for reading in found.readings if reading.left_out] == [False]
    assert found.degrees == 35
    (remark,) = found.remarks
    by = 0.20 / 0.62 / LOG10_2
    assert remark.message == (
        f"frame 04, patch red: 0.20 in density ({by:.2f} stop) above what the other frames and patches say: left out"
    )


def test_with_few_patches_a_misfit_is_only_told() -> None:
    """A frame of three patches keeps them all; the remark says that it stays in."""
    frames = bracket(places={"grey": 0.0, "dark": -0.4, "red": -0.2})
    found = fit(change(frames, 4, "red", -0.20))

    assert found.degrees == 39 - 13 - 3 + 1
    assert [reading.used for reading in found.readings if reading.left_out] == [True]
    assert found.remarks[0].message.startswith("frame 04, patch red: 0.20 in density")
    assert found.remarks[0].message.endswith(
        "below what the other frames and patches say: too few other readings to leave it out"
    )


def test_exchanged_cells_of_a_frame_are_told_as_one() -> None:
    """Two readings that each fit the other's place get one remark that says so."""
    places = {**PLACES, "blue": -0.3, "skin": 0.2}
    frames = bracket(places=places)
    patches = frames[4].patches
    frames[4] = replace(frames[4], patches={**patches, "dark": patches["white"], "white": patches["dark"]})

    found = fit(frames)

    (remark,) = found.remarks
    assert remark.message == (
        "frame 04: the readings of dark and white look exchanged, for each is what the other should be; both left out"
    )
    assert found.place[0] == pytest.approx(fit(bracket(places=places)).place[0], abs=1e-3)


def test_two_errors_in_two_frames_are_no_exchange() -> None:
    """What is wrong in one frame is not set against what is wrong in another."""
    frames = bracket(places={**PLACES, "blue": -0.3, "skin": 0.2})
    frames[4] = replace(frames[4], patches={**frames[4].patches, "dark": frames[4].patches["white"]})
    frames[7] = replace(frames[7], patches={**frames[7].patches, "white": frames[7].patches["dark"]})

    messages = sorted(remark.message for remark in fit(frames).remarks)

    assert [message.split(":")[0] for message in messages] == ["frame 04, patch dark", "frame 07, patch white"]


def test_readings_in_the_toe_and_beyond_the_curve_do_not_serve() -> None:
    """What is predicted where the curve is flat, or off it, is not used and needs no remark."""
    places = {**PLACES, "black": -1.2, "sky": 1.6}
    found = fit(bracket(places=places))
    black = [reading.used for reading in found.readings if reading.patch == "black"]
    sky = [reading.used for reading in found.readings if reading.patch == "sky"]

    # In the toe the slope falls below 0.3 of the average gradient: black serves from some frame on, sky up to one.
    assert black == sorted(black)
    assert sky == sorted(sky, reverse=True)
    assert 0 < sum(black) < 13
    assert 0 < sum(sky) < 13
    assert place_of(found, "black")[0] == pytest.approx(-1.2, abs=1e-3)
    assert place_of(found, "sky")[0] == pytest.approx(1.6, abs=1e-3)
    assert found.remarks == ()
    assert not any(reading.left_out for reading in found.readings)


def test_a_reading_serves_from_0_03_inside_the_curves_readings() -> None:
    """A predicted place 0.04 below the curve's last density serves, one 0.02 below does not."""
    kinked = make_curve(lambda x: 0.2 * (x + 2.0) + 0.6 * np.maximum(x, 0.0), first=-2.0, last=2.0)
    end = float(kinked.density[0, -1])

    def read(net_from_end: float) -> bool:
        level = end - net_from_end
        at = 2.0 - net_from_end / 0.8
        frames = [
            make_frame(
                str(number),
                stops,
                {
                    "grey": (float(kinked.density_at(at - 1.0 + LOG10_2 * stops)[0]),),
                    "top": (level + 0.8 * LOG10_2 * stops,),
                },
                base=(),
            )
            for number, stops in enumerate((-1.0, 0.0))
        ]
        found = fit(frames, kinked)
        return next(reading.used for reading in found.readings if (reading.frame, reading.patch) == ("1", "top"))

    assert read(0.04)
    assert not read(0.02)


@pytest.mark.parametrize(("share", "after", "serves"), [(0.27, 0.12, False), (0.33, 0.12, True), (0.27, 0.06, True)])
def test_a_reading_serves_from_a_slope_of_0_3_of_the_average_gradient(share: float, after: float, serves: bool) -> None:
    """Where the secant over 0.10 either side is 0.33 of the average gradient a reading serves, at 0.27 it does not."""
    # Straight at 0.6 from -1.5 on, so that the average gradient is 0.6; after 0.3 it goes on at a share of that.
    # The lowest of the readings is predicted so far after the bend; nearer than 0.10, the steep part is in its secant.
    bent = make_curve(
        lambda x: 0.6 * np.clip(x + 1.5, 0.0, 1.8) + 0.6 * share * np.maximum(x - 0.3, 0.0), first=-2.0, last=2.0
    )
    frames = [
        make_frame(
            str(number),
            stops,
            {
                patch: (float(bent.density_at(place + LOG10_2 * stops)[0]),)
                for patch, place in (("grey", -0.5), ("top", 0.3 + after))
            },
            base=(),
        )
        for number, stops in enumerate((0.0, 1.0, 2.0))
    ]

    found = fit(frames, bent)

    assert next(reading.used for reading in found.readings if reading.patch == "top") == serves


def test_a_reading_off_the_curve_that_should_be_on_it_is_told() -> None:
    """The other frames put it inside, so that its own density is at fault: left out with a remark."""
    found = fit(change(bracket(), 6, "white", 3.0))

    assert found.remarks[0].message.startswith("frame 06, patch white: its density ")
    assert "is beyond the curve, which runs from 0.25 to 2.11" in found.remarks[0].message
    (reading,) = [reading for reading in found.readings if reading.left_out]
    assert (reading.frame, reading.used) == ("06", False)
    assert found.place[0] == pytest.approx(fit(bracket()).place[0], abs=1e-3)


def test_patches_without_a_place_say_why() -> None:
    """Beyond the curve, unlinked to the grey patch, or not read: each has its own words."""
    frames = bracket(places={**PLACES, "void": -4.0})
    lone = make_frame("99", 0.0, {"lone": (0.8,)})

    found = fit([*frames, lone])

    assert found.why_not == {
        "lone": "it was not read on the same frames as the grey patch, nor on any linked to them",
        "void": "on every frame it lies beyond the curve, or where the curve is too flat to tell",
    }
    assert np.isnan(place_of_nan(found, "lone")).all()
    assert found.place_of("lone") is None
    assert found.place_of("moon") is None
    assert np.isnan(found.exposure[0, [frame.frame for frame in found.frames].index("99")])


def place_of_nan(found: FramesFit, patch: str) -> FloatArray:
    return np.asarray(found.place[:, found.patches.index(patch)])


NO_FIT = [
    (make_test(), "grey", "no bracket was read"),
    (make_test(frames=bracket()), None, "the protocol names no grey patch"),
    (make_test(frames=bracket(places={"dark": 0.0})), "grey", "the grey patch was read on no frame"),
    (
        make_test(frames=bracket(places={"grey": -4.0, "red": 0.0})),
        "grey",
        "no reading of the grey patch lies on the usable part of the curve",
    ),
]


@pytest.mark.parametrize(("test", "grey", "why"), NO_FIT)
def test_no_fit_says_why(test: Test, grey: str | None, why: str) -> None:
    """Without bracket, grey patch or readings of it on the curve there is no fit."""
    found = fit_frames(test, CURVE, grey_patch=grey, repeatability=0.01, quantum=0.0)

    assert isinstance(found, NoFramesFit)
    assert found.why == why


def test_predictions_lie_on_the_patch_lines() -> None:
    """A reading's predicted density is the curve at its frame's exposure and its patch's place; so is a line."""
    found = fit(change(bracket(), 4, "red", 0.20))
    reading = next(reading for reading in found.readings if (reading.frame, reading.patch) == ("04", "red"))
    line = found.line_of("red", np.array([STOPS[4], 40.0]))

    assert reading.predicted_density == pytest.approx(reading.density - 0.20, abs=1e-3)
    assert line is not None
    assert line[0] == pytest.approx(reading.predicted_density, abs=1e-3)
    assert math.isnan(line[1])
    assert found.line_of("moon", np.array([0.0])) is None


def test_the_brackets_own_curve_takes_densities_as_read() -> None:
    """On its own grey curve a bracket is not set on another base, and its shutter can't be told."""
    own = own_curve(NET, STOPS, u_density=0.01)

    found = fit(bracket(base=0.25, at=0.0), own)
    as_read = fit([replace(frame, base=(0.20,)) for frame in bracket(at=0.0)], own)

    assert found.exposures_repeat_stops is None
    assert as_read.place[0] == pytest.approx(found.place[0])
    grey_errors = found.place_reading_variance[found.patches.index("dark")]
    # Only the patch's own readings: the grey patch's are in the curve already.
    with_grey = fit(bracket(base=None, at=0.0)).place_reading_variance[found.patches.index("dark")]
    assert grey_errors < 0.75 * with_grey


def test_a_patch_on_its_brackets_own_curve_is_known_as_a_straight_lines_slope() -> None:
    """Where only the shutter errs, a patch a frame's step away has variance 12 u^2 / (K (K + 1) (K + 2)).

    Each of its K readings is off by the difference of two neighbouring frames' errors: these hang together, and fitted
    by their covariance they say what a straight line through K + 1 frames says of a step. By equal weights all but the
    first and last frame's errors would cancel, and 2 u^2 / K^2 be left: for K = 11, 2.4 times as much.
    The last of the twelve lies at the curve's end.
    """
    u_exposure = 0.01 * LOG10_2  # so little that the draws' curves bend, and do not kink
    ends = {"first": LOG10_2 * STOPS[0], "last": LOG10_2 * STOPS[-1]}
    straight = own_curve(lambda x: 0.6 * (x + 2.0), STOPS, u_exposure=u_exposure, **ends)
    places = {"grey": 0.0, "light": LOG10_2 / 3}
    frames = [
        make_frame(str(at), s, {p: (BASE + 0.6 * (2.0 + LOG10_2 * s + b),) for p, b in places.items()}, base=())
        for at, s in enumerate(STOPS)
    ]

    found = fit(frames, straight, repeatability=1e-5)
    k = sum(reading.used for reading in found.readings if reading.patch == "light")
    spread = np.sqrt(np.mean((place_of(found, "light")[1 : 1 + DRAWS] - LOG10_2 / 3) ** 2))

    assert k == 11
    assert place_of(found, "light")[0] == pytest.approx(LOG10_2 / 3, abs=1e-6)
    # 600 draws know a spread to 3 %.
    assert spread == pytest.approx(u_exposure * math.sqrt(12 / (k * (k + 1) * (k + 2))), rel=0.1)


def test_on_its_own_curve_each_frame_errs_by_the_shutter() -> None:
    """Where no grey reading bends the curve a frame's error is what all its patches say, drawn back by what it may be.

    Three patches' readings, each u = 0.01 / 0.6 log units off, and a shutter of 0.1 stop: of an error of 0.05 the share
    s^2 / (s^2 + u^2 / 3) is told, less what moves the patches themselves.
    """
    straight = own_curve(lambda x: 0.6 * (x + 2.0), STOPS, u_exposure=0.1 * LOG10_2)
    assert straight.smoothed is not None
    # A curve of the wrong frames: no error of these bends it.
    stiff = replace(straight, smoothed=replace(straight.smoothed, shift=np.zeros(13)))
    places = {"grey": 0.0, "dark": -0.4, "red": -0.2, "skin": 0.2}
    stops = STOPS[4:9]
    frames = [
        make_frame(
            str(at),
            s,
            {p: (BASE + 0.6 * (2.0 + LOG10_2 * s + b + (0.05 if at == 2 else 0.0)),) for p, b in places.items()},
            base=(),
        )
        for at, s in enumerate(stops)
    ]

    found = fit(frames, stiff)
    told = (0.1 * LOG10_2) ** 2 / ((0.1 * LOG10_2) ** 2 + (0.01 / 0.6) ** 2 / 3)

    expected = np.full(5, -0.05 / 5 * told)
    expected[2] += 0.05 * told
    assert found.exposure[0] - LOG10_2 * np.array(stops) == pytest.approx(expected, abs=1e-6)
    assert place_of(found, "red")[0] == pytest.approx(-0.2 + 0.05 / 5, abs=1e-6)


def test_a_slip_on_the_brackets_own_curve_is_left_out_and_told() -> None:
    """One reading 0.20 too high among readings that err together is the one that goes."""
    own = own_curve(NET, STOPS, u_exposure=0.1 * LOG10_2, u_density=0.01)
    found = fit(change(bracket(at=0.0), 4, "red", 0.20), own)

    assert [reading.frame + reading.patch for reading in found.readings if reading.left_out] == ["04red"]
    assert found.place[0] == pytest.approx(fit(bracket(at=0.0), own).place[0], abs=2e-3)
    assert found.remarks[0].message.startswith("frame 04, patch red: 0.20 in density")


def test_on_its_own_curve_a_bracket_of_the_grey_patch_alone_has_no_places() -> None:
    """The grey patch's readings are all in the curve: nothing is left to fit, and nothing fails."""
    found = fit(bracket(places={"grey": 0.0}, at=0.0), own_curve(NET, STOPS, u_exposure=0.03, u_density=0.01))

    assert found.place.tolist() == [[0.0]] * found.place.shape[0]
    assert found.degrees == 0


def test_shutter_scatter_is_pooled_by_degrees_of_freedom() -> None:
    """s^2 is the mean of the tests' own, each by its frames less one; 0.10 stop where none tells it."""
    one, two = fit(bracket({3: 0.05})), fit(bracket({3: 0.10}, stops=STOPS[:7]))
    own = replace(one, exposures_repeat_stops=None)
    first, second = one.exposures_repeat_stops, two.exposures_repeat_stops
    assert first is not None
    assert second is not None

    told = [(12, first), (6, second)]
    assert [one.told_shutter(), two.told_shutter(), own.told_shutter()] == [*told, None]
    assert pool_shutter_scatter(told) == pytest.approx(math.sqrt((12 * first**2 + 6 * second**2) / 18))
    assert pool_shutter_scatter([]) == 0.10
    assert fit(bracket(stops=(0.0,))).exposures_repeat_stops is None


@settings(max_examples=15, deadline=None)
@given(order=st.permutations(range(13)), seed=st.integers(0, 50))
def test_order_changes_no_digit(order: list[int], seed: int) -> None:
    """Frames, patches and readings in any order give the same digits throughout."""
    generator = np.random.default_rng(seed)
    frames = [
        replace(
            frame,
            patches={p: tuple(read[0] + 0.01 * generator.standard_normal(3)) for p, read in frame.patches.items()},
        )
        for frame in bracket()
    ]
    shuffled = [
        replace(frames[at], patches={p: read[::-1] for p, read in reversed(list(frames[at].patches.items()))})
        for at in order
    ]

    one, other = fit(frames), fit(shuffled)

    assert (one.place == other.place).all()
    assert (one.exposure == other.exposure).all()


@settings(max_examples=15, deadline=None)
@given(offsets=st.dictionaries(st.integers(0, 12), st.floats(-0.06, 0.06)))
def test_shutter_errors_change_no_place(offsets: dict[int, float]) -> None:
    """Adding a constant to a frame's log exposure moves its own effect and no patch's."""
    found = fit(bracket(offsets))

    assert found.place[0] == pytest.approx([PLACES[patch] for patch in found.patches], abs=5e-4)
