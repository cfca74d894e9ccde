"""The bracket, the print and the development of a whole series, from its readings to its findings."""

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from basefog.judge import find_findings
from basefog.records.content import Batch, BracketReadings, FloatArray, Frame, Paper, Stock, Test
from basefog.records.findings import Findings, TestFindings
from measure.bench_content import (
    PLACE,
    THIRDS,
    make_frame,
    make_frames,
    make_series,
    make_stock,
    make_test,
    make_wedge,
    soft_toe,
)

PLACES = {"grey": 0.60, "dark": 0.30, "red": 0.45}
MARL, TERN = soft_toe(0.62, 0.15), soft_toe(0.55, 0.15, 0.1)
PAPER = Paper(
    id="grade-2",
    log_exposure=np.linspace(-0.5, 3.0, 36),
    density=np.linspace(0.06, 2.10, 36),
    place=PLACE,
)


def bracket(density: object, *, base: float | None = 0.25, places: dict[str, float] = PLACES) -> tuple[Frame, ...]:
    assert callable(density)
    stops = [*THIRDS, 4 / 3, 5 / 3]
    return make_frames(lambda log_exposure: float(density(np.array(log_exposure))), places, stops=stops, base=base)


MARL_TEST = make_test("marl-400/2026-01-10", frames=bracket(MARL), wedge=make_wedge(MARL), exposure_index=400.0)
TERN_TEST = make_test("tern-100/2026-03-14", frames=bracket(TERN), wedge=make_wedge(TERN), exposure_index=400.0)


def marl(test: Test = MARL_TEST) -> Stock:
    return make_stock("marl-400", [test])


def find(test: Test = TERN_TEST, **options: object) -> TestFindings:
    """Return the findings of one test of tern-100 beside the reference."""
    stocks = [marl(), make_stock("tern-100", [test])]
    return find_findings(make_series(stocks, papers=[PAPER], **options), {}).tests[test.key]  # type: ignore[arg-type]


def test_stock_is_matched_to_the_reference() -> None:
    """A stock whose curve lies 0.1 log units to the right, and is softer, needs the light that its curve says."""
    grid = np.linspace(-1, 2, 30001)
    expected = (float(np.interp(MARL(np.array(0.30)), TERN(grid), grid)) - 0.30) / math.log10(2)

    found = find()

    match = found.measures["shadow_match"]
    assert match.value == pytest.approx(expected, abs=0.02)
    chosen = [frame for frame in found.frames if frame.chosen]
    assert [frame.stops for frame in chosen] == pytest.approx([round(expected * 3) / 3])
    assert chosen[0].residual_stops == pytest.approx(chosen[0].stops - (match.value or 0.0))


def test_patches_of_stock_and_reference_agree_through_their_curves() -> None:
    """Both films see the patches alike, so that no patch differs, however different the curves."""
    found = find()

    for patch in ("dark", "red"):
        finding = found.patches[patch]
        assert finding.stops_from_grey.value == pytest.approx((PLACES[patch] - 0.60) / math.log10(2), abs=0.01)
        assert finding.against_reference.verdict == "no measurable difference"
        assert finding.against_reference.could_see is not None
    assert found.patches["red"].against_eye.difference == pytest.approx(
        -0.15 / math.log10(2) - math.log2(0.12 / 0.18), abs=0.01
    )


def test_a_patch_of_one_frame_is_measured() -> None:
    """A patch that was read on one frame alone has its figure, less sure than from all frames."""
    assert TERN_TEST.bracket is not None
    frames = tuple(
        replace(
            frame, patches={name: read for name, read in frame.patches.items() if name != "red" or frame.stops == 0}
        )
        for frame in TERN_TEST.bracket.frames
    )

    of_all = find().patches["red"].stops_from_grey
    of_one = find(replace(TERN_TEST, bracket=replace(TERN_TEST.bracket, frames=frames))).patches["red"].stops_from_grey

    assert of_one.value == pytest.approx(of_all.value, abs=0.01)
    assert of_one.half_width is not None
    assert of_all.half_width is not None
    assert of_one.half_width > 1.5 * of_all.half_width


def test_reference_is_its_own_zero() -> None:
    """The reference's match is zero, its print exposure the set one, and nothing is compared with itself."""
    found = find_findings(make_series([marl()], papers=[PAPER]), {}).tests[MARL_TEST.key]

    assert found.measures["shadow_match"].value == 0.0
    assert found.measures["print_exposure"].value == 12.0
    assert found.measures["matching_time"].why == "this is the reference, whose contrast the others are matched to"
    assert found.patches["red"].against_reference.why == "this is the reference"
    assert found.tone_reproduction is not None
    assert found.measures["print_middle_contrast"].value == pytest.approx(0.62 * (2.10 - 0.06) / 3.5, abs=0.005)


def test_withdrawn_reference_leaves_the_measures_that_need_none() -> None:
    """Without a current reference, patches and print contrasts are told, and whatever counts from it says so."""
    withdrawn = make_stock("marl-400", [replace(MARL_TEST, withdrawn="light leak")])
    series = make_series([replace(withdrawn, current=None), make_stock("tern-100", [TERN_TEST])], papers=[PAPER])

    found = find_findings(series, {}).tests[TERN_TEST.key]

    for name in ("shadow_match", "print_exposure", "matching_time", "speed_from_reference"):
        assert found.measures[name].why == "the reference has no current test"
    assert found.patches["red"].stops_from_grey.value == pytest.approx(-0.15 / math.log10(2), abs=0.01)
    assert found.patches["red"].against_reference.why == "the reference has no current test"
    assert found.patches["red"].against_eye.verdict != "not measured"
    assert not any(frame.chosen for frame in found.frames)
    assert found.measures["print_shadow_contrast"].value is not None


def test_bracket_alone_serves() -> None:
    """Without a wedge exposure the bracket's grey patch gives the curve that turns the patches back, noted."""
    found = find(replace(TERN_TEST, wedge=None))

    dark = found.patches["dark"].stops_from_grey
    assert dark.value == pytest.approx(-0.30 / math.log10(2), abs=0.02)
    assert dark.note is not None
    assert "grey patch" in dark.note
    assert found.measures["shadow_match"].value is not None
    assert found.curve is not None
    assert found.curve.axis == "bracket"


def test_bracket_too_short_for_a_curve_is_still_matched() -> None:
    """Five frames make no curve, and so no patches; their own bases still give the net densities of the match."""
    found = find(replace(TERN_TEST, wedge=None, bracket=_first_frames(TERN_TEST, 5)))

    assert found.curve is None
    assert found.measures["shadow_match"].value is not None
    assert found.patches["dark"].stops_from_grey.why == found.curve_why
    assert found.measures["print_shadow_contrast"].why == found.curve_why
    assert found.measures["print_exposure"].value is not None


def test_bracket_serves_where_the_wedge_gives_no_curve() -> None:
    """Three steps of a wedge make no curve: the bracket's does instead, and the note says what the wedge lacked."""
    wedge = make_wedge(TERN)

    found = find(replace(TERN_TEST, wedge=replace(wedge, steps=wedge.steps[:3])))

    assert found.curve is not None
    assert found.curve.axis == "bracket"
    assert found.curve.note is not None
    assert found.curve.note.endswith("3 different exposures were read, and a curve takes at least 6")
    assert found.measures["base_plus_fog"].value == 0.25


def test_too_short_wedge_without_a_bracket_says_why() -> None:
    """Where neither wedge nor bracket gives a curve, the wedge's own reason is told."""
    wedge = make_wedge(TERN)

    found = find(replace(TERN_TEST, wedge=replace(wedge, steps=wedge.steps[:3]), bracket=None))

    assert found.curve is None
    assert found.curve_why == "3 different exposures were read, and a curve takes at least 6"


def _first_frames(test: Test, count: int) -> BracketReadings:
    assert test.bracket is not None
    return replace(test.bracket, frames=test.bracket.frames[2 : 2 + count])


def test_wedge_alone_has_no_frames() -> None:
    """A test without a bracket has no frames and no patches, and says so where one would stand."""
    found = find(replace(TERN_TEST, bracket=None))

    assert found.frames == ()
    assert found.patches == {}
    assert found.measures["shadow_match"].why == "no bracket was read"
    assert found.measures["print_middle_contrast"].value is not None


def test_protocol_without_a_grey_patch_has_no_patches() -> None:
    """Stops from grey take a grey patch."""
    assert find(grey_patch=None).patches == {}


def test_print_exposure_takes_the_series_time() -> None:
    """The reference's own print exposure stands before the series'; with neither there is none."""
    fogged = replace(TERN_TEST, wedge=make_wedge(TERN, base=0.55))

    assert find(fogged).measures["print_exposure"].value == pytest.approx(24.0, rel=0.004)
    assert find(fogged, exposure_s=None).measures["print_exposure"].why is not None


def test_family_of_times_is_traced() -> None:
    """Tests of other development times give the main one its curve and its matching time."""
    times = {"2026-03-14": (8.0, 0.50), "2026-03-15": (6.0, 0.42), "2026-03-16": (11.0, 0.70)}
    tests = [
        make_test(
            f"tern-100/{test_id}",
            wedge=make_wedge(soft_toe(gradient, 0.05)),
            time_min=time_min,
            development_of=None if test_id == "2026-03-14" else "2026-03-14",
        )
        for test_id, (time_min, gradient) in times.items()
    ]
    stock = replace(make_stock("tern-100", tests), current="2026-03-14")

    found = find_findings(make_series([marl(), stock]), {}).tests

    main = found["tern-100/2026-03-14"]
    assert main.contrast_time is not None
    assert [point.time_min for point in main.contrast_time.points] == [6.0, 8.0, 11.0]
    reference = found[MARL_TEST.key].measures["average_gradient"].value
    assert main.contrast_time.reference_average_gradient == reference
    assert main.measures["matching_time"].value is not None
    assert 8.0 < main.measures["matching_time"].value < 11.0
    drawn = np.interp([6.0, 8.0, 11.0], main.contrast_time.time_min, main.contrast_time.average_gradient)
    tested = [point.average_gradient.value for point in main.contrast_time.points]
    assert drawn == pytest.approx(tested, abs=0.002)
    child = found["tern-100/2026-03-15"]
    assert child.contrast_time is None
    assert child.measures["matching_time"].why is not None
    assert child.measures["matching_time"].why.endswith("2026-03-14")


def test_test_from_a_batch_beyond_its_limits_carries_a_remark() -> None:
    """The remark of a batch reaches every test developed in it, and no other."""
    batches = tuple(
        Batch(
            id=f"tank-{number}",
            date=date(2026, 3, number),
            developer=None,
            temperature_c=None,
            control_strip={"mid": 1.40 if number == 8 else 0.98 + 0.01 * (number % 3)},
            notes=None,
            place=PLACE,
        )
        for number in range(1, 9)
    )
    developed = TERN_TEST.developed

    spoilt = find(replace(TERN_TEST, developed=replace(developed, batch="tank-8")), batches=batches)
    sound = find(replace(TERN_TEST, developed=replace(developed, batch="tank-3")), batches=batches)

    assert ["sigma" in remark.message for remark in spoilt.remarks] == [True, False]
    assert sound.remarks == ()


def test_constant_fog_on_frames_changes_no_patch() -> None:
    """A constant added to every density of the frames and their bases changes no patch of a test with a wedge."""
    assert TERN_TEST.bracket is not None
    fogged = tuple(
        make_frame(
            frame.frame,
            frame.stops,
            {patch: [reading + 0.20 for reading in readings] for patch, readings in frame.patches.items()},
            [reading + 0.20 for reading in frame.base],
        )
        for frame in TERN_TEST.bracket.frames
    )

    plain, shifted = find(), find(replace(TERN_TEST, bracket=replace(TERN_TEST.bracket, frames=fogged)))

    for patch, finding in plain.patches.items():
        assert shifted.patches[patch].stops_from_grey.value == pytest.approx(finding.stops_from_grey.value, abs=1e-9)
    assert shifted.measures["shadow_match"].value == pytest.approx(plain.measures["shadow_match"].value, abs=1e-9)


def _swapped() -> tuple[Findings, Findings]:
    stocks = [marl(), make_stock("tern-100", [TERN_TEST])]
    return (
        find_findings(make_series(stocks, papers=[PAPER]), {}),
        find_findings(make_series(stocks[::-1], papers=[PAPER]), {}),
    )


def test_swapping_stock_and_reference_flips_every_patch() -> None:
    """With the roles changed, what was higher is lower by the same figure.

    The frames chosen differ with the roles, so that the readings do and only the truth behind them is the same.
    """
    there, back = _swapped()

    for patch in ("dark", "red"):
        one = there.tests[TERN_TEST.key].patches[patch].against_reference
        other = back.tests[MARL_TEST.key].patches[patch].against_reference
        assert one.difference == pytest.approx(-(other.difference or 0.0), abs=0.02)


def test_same_series_gives_the_same_numbers() -> None:
    """Measuring twice gives the same digits to the last."""

    def flat(findings: Findings) -> list[FloatArray | object]:
        return [
            (found.measures, found.against_reference, found.frames, found.patches) for found in findings.tests.values()
        ]

    assert flat(_swapped()[0]) == flat(_swapped()[0])


def test_scatter_of_patches_is_told_and_counts() -> None:
    """Once three stocks have repeats, the patches' scatter is among the findings and widens their verdicts."""

    def stock(slug: str, red: float, *, repeats: bool) -> Stock:
        places = [0.45, red] if repeats else [0.45]
        tests = [
            make_test(
                f"{slug}/2026-03-{day:02}",
                frames=bracket(MARL, places={**PLACES, "red": place}),
                wedge=make_wedge(MARL),
                repeat=day > 1,
            )
            for day, place in enumerate(places, start=1)
        ]
        return replace(make_stock(slug, tests), current="2026-03-01")

    reds = {"alder-100": 0.48, "birch-100": 0.44, "cedar-100": 0.47}
    plain, repeated = (
        find_findings(make_series([stock(slug, red, repeats=repeats) for slug, red in reds.items()]), {})
        for repeats in (False, True)
    )

    # Each pair differs by its shift: the mean of shift^2 / 2, less what reading alone makes of it.
    shifts = float(np.mean([(0.03**2) / 2, (0.01**2) / 2, (0.02**2) / 2])) / math.log10(2) ** 2
    reading = [
        parts.unshared
        for test in repeated.tests.values()
        if (parts := test.patches["red"].stops_from_grey.parts) is not None
    ]
    expected = math.sqrt(shifts - float(np.mean(reading)))
    assert len(reading) == 6
    assert plain.patch_scatter == {}
    assert repeated.patch_scatter["red"].sigma == pytest.approx(expected, rel=0.01)
    assert repeated.patch_scatter["red"].degrees_of_freedom == 3
    before, after = (one.tests["birch-100/2026-03-01"].patches["red"].against_reference for one in (plain, repeated))
    # Student's factor at 3 degrees of freedom is 3.182; the means of two tests have half of each variance.
    assert after.could_see == pytest.approx(
        3.182 * math.sqrt(((before.could_see or 0.0) / 1.96) ** 2 / 2 + expected**2), rel=0.03
    )
