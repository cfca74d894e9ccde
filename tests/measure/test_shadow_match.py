import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import t

from basefog.measure.bracket_readings import pool_bracket_error, tabulate_bracket
from basefog.measure.curve_fit import FittedCurve
from basefog.measure.frames_fit import FramesFit, NoFramesFit, fit_frames
from basefog.measure.resampling import DRAWS
from basefog.measure.shadow_curve import find_net_shadows
from basefog.measure.shadow_match import (
    NoShadows,
    ShadowMatch,
    Shadows,
    Target,
    describe_frames,
    find_target,
    find_u_exposure,
    match_shadows,
    read_shadows,
)
from basefog.records.content import Frame, Test
from basefog.records.vocabulary import LOG10_2
from measure.bench_content import NO_BASE, make_curve, make_frame, make_test, own_curve
from measure.test_frames_fit import CURVE, NET, PLACES, STOPS, bracket

MARL = "marl-400/2026-01-10"
OWN = own_curve(NET, STOPS)


def read(
    frames: Sequence[Frame],
    curve: FittedCurve | None = CURVE,
    *,
    name: str = "tern-100/2026-03-14",
    exposure_index: float = 100.0,
    shutter_stops: float = 0.1,
    repeatability: float = 0.01,
    test: Test | None = None,
    patch: str | None = "dark",
) -> Shadows | NoShadows:
    made = test or make_test(name, frames=frames, exposure_index=exposure_index)
    fit: FramesFit | NoFramesFit = NoFramesFit(why="no curve")
    if curve is not None:
        fit = fit_frames(made, curve, grey_patch="grey", repeatability=repeatability, quantum=0.0)
    base = NO_BASE if curve is None else curve.base_plus_fog
    return read_shadows(
        made,
        fit,
        base,
        shadow_patch=patch,
        repeatability=repeatability,
        quantum=0.0,
        shutter_stops=shutter_stops,
    )


def aim(*shadows: Shadows | NoShadows) -> Target:
    found = find_target(shadows or [read(bracket(), name=MARL)])
    assert isinstance(found, Target)
    return found


def match(shadows: Shadows | NoShadows, target: Target | NoShadows) -> ShadowMatch:
    return match_shadows(shadows, target, is_reference=False)


def shifted(by: float) -> dict[str, float]:
    """Return places of the patches on a film that is slower by log exposures, grey included."""
    return {**PLACES, "dark": PLACES["dark"] + by}


@pytest.mark.parametrize("slower", [-0.5, 0.0, 0.8])
def test_match_is_exact_without_error(slower: float) -> None:
    """A film that needs so many stops more for the same shadows is told to need them, whatever the shutter did."""
    offsets = {1: 0.04, 4: -0.04, 7: 0.06, 8: -0.06}

    found = match(read(bracket(offsets, at=0.1 - slower * LOG10_2)), aim())

    assert found.quantity.value == pytest.approx(slower, abs=2e-3)
    assert found.quantity.unit == "stops"
    assert found.quantity.note is None


def test_contrast_of_the_stock_counts() -> None:
    """A softer film reaches the reference's net shadow density further up its own curve."""
    soft = make_curve(lambda x: 0.8 * NET(x), first=-2.0, last=2.0)
    frames = [
        replace(frame, patches={p: (0.25 + 0.8 * (r[0] - 0.25),) for p, r in frame.patches.items()})
        for frame in bracket()
    ]
    grid = np.linspace(-2, 2, 40001)
    expected = (np.interp(float(NET(np.array(-0.3))) / 0.8, NET(grid), grid) + 0.3) / LOG10_2

    assert match(read(frames, soft), aim()).quantity.value == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize(("exposure_index", "expected"), [(100.0, 0.0), (50.0, 1.0), (200.0, -1.0)])
def test_exposure_indexes_count_into_the_match(exposure_index: float, expected: float) -> None:
    """log2(EI_ref / EI) is added: a stock metered at half the index had a stop more light at 0 stops already."""
    found = match(read(bracket(), exposure_index=exposure_index), aim())

    assert found.quantity.value == pytest.approx(expected, abs=2e-3)
    assert found.own is not None
    assert found.own[0] == found.quantity.value


def test_reference_is_zero_by_definition() -> None:
    """The reference's own match is zero without error, and its frame at 0 stops is the chosen one."""
    shadows, target = read(bracket(), name=MARL), aim()

    found = match_shadows(shadows, target, is_reference=True)
    frames = describe_frames(shadows, target, found, ())

    assert (found.quantity.value, found.quantity.half_width) == (0.0, 0.0)
    assert [frame.stops for frame in frames if frame.chosen] == [0.0]


def test_variance_is_the_sum_of_own_and_reference() -> None:
    """Each part is spread about the one estimate, and the half width is 1.96 roots of their sum."""
    found = match(read(bracket()), aim())

    assert found.own is not None
    assert found.reference is not None
    for draws, variance in ((found.own, found.own_variance), (found.reference, found.reference_variance)):
        assert draws[0] == pytest.approx(found.quantity.value, abs=1e-9)
        assert np.mean((draws[1 : 1 + DRAWS] - draws[0]) ** 2) == pytest.approx(variance)
    assert found.quantity.half_width == pytest.approx(
        1.959964 * math.sqrt(found.own_variance + found.reference_variance)
    )
    # Two alike brackets know it alike.
    assert found.own_variance == pytest.approx(found.reference_variance, rel=0.25)


def test_shutter_error_of_the_mean_exposure_counts() -> None:
    """u(a) = 0.3010 s_shutter / sqrt(k), with Student's factor at k - 1 where the test's own frames tell it."""
    wild = {number: (0.05 if number % 2 else -0.05) for number in range(13)}
    fit = fit_frames(make_test(frames=bracket(wild)), CURVE, grey_patch="grey", repeatability=0.01, quantum=0.0)
    one = fit_frames(make_test(frames=bracket(stops=(0.0,))), CURVE, grey_patch="grey", repeatability=0.01, quantum=0.0)
    assert isinstance(fit, FramesFit)
    assert isinstance(one, FramesFit)
    spread = np.std(list(wild.values()), ddof=1)

    found = find_u_exposure(fit, 0.07)

    assert 1.959964 * found == pytest.approx(t.ppf(0.975, 12) * spread / math.sqrt(13), rel=2e-3)
    assert find_u_exposure(one, 0.07) == pytest.approx(0.07 * LOG10_2)


def test_a_scattering_shutter_widens_the_match() -> None:
    """Frames that repeat to a third of a stop leave the match so much less sure."""
    wild = {number: (0.1 if number % 2 else -0.1) for number in range(13)}

    calm, found = (match(read(bracket(offsets)), aim()) for offsets in ({}, wild))
    u_mean = 0.1 * math.sqrt(13 / 12) / LOG10_2 / math.sqrt(13) * t.ppf(0.975, 12) / 1.96

    assert found.own_variance - calm.own_variance == pytest.approx(u_mean**2, rel=0.25)


def test_mean_of_the_references_tests_is_the_target() -> None:
    """N of a reference with repeats is the mean of their N, and half as uncertain in variance with two."""
    one = read(bracket(), name=MARL)
    two = read(bracket(places=shifted(0.1)), name="marl-400/2026-02-10")
    both, first, second = aim(one, two), aim(one), aim(two)

    assert both.keys == (MARL, "marl-400/2026-02-10")
    assert both.by_curve is not None
    assert first.by_curve is not None
    assert second.by_curve is not None
    assert both.by_curve == pytest.approx((first.by_curve + second.by_curve) / 2)
    shadows = read(bracket())
    halved = match(shadows, both).reference_variance / match(shadows, first).reference_variance
    assert halved == pytest.approx(0.5, rel=0.35)


def test_repeats_on_other_wedges_share_the_draws_alone() -> None:
    """Rows beyond the draws are of one wedge's steps, and are dropped where the tests' wedges differ."""
    longer = replace(
        CURVE, density=np.vstack([CURVE.density, CURVE.density[:2]]), base_plus_fog=np.full(DRAWS + 3, 0.25)
    )
    one, two = read(bracket(), name=MARL), read(bracket(), longer, name="marl-400/2026-02-10")

    mixed, alike = aim(one, two), aim(two)

    assert mixed.by_curve is not None
    assert mixed.by_curve.size == DRAWS + 1
    assert alike.by_curve is not None
    assert alike.by_curve.size == DRAWS + 3


def test_reference_tests_without_shadows_are_passed_over() -> None:
    """One repeat without a bracket leaves the target to the others; none at all gives no target."""
    none = NoShadows(why="no bracket was read")

    assert aim(none, read(bracket(), name=MARL)).keys == (MARL,)
    assert find_target([none]) == NoShadows(why="the reference gives no target: no bracket was read")
    with pytest.raises(ValueError, match="one test at least"):
        find_target([])


def test_a_match_beyond_the_frames_is_noted() -> None:
    """Where the curve reaches the target and no frame does, the match is told with a note."""
    found = match(read(bracket(stops=STOPS[:5], at=0.5)), aim())

    assert found.quantity.value == pytest.approx(-0.4 / LOG10_2, abs=5e-3)
    assert found.quantity.note is None
    beyond = match(read(bracket(stops=STOPS[:5])), aim())
    assert beyond.quantity.value == pytest.approx(0.0, abs=5e-3)
    assert beyond.quantity.note == "beyond the bracket's own frames: the curve reaches it, no frame did"


def test_a_target_beyond_the_curve_gives_no_match() -> None:
    """No extrapolation: a net shadow density that the stock's curve does not reach is told as such."""
    flat = make_curve(lambda x: 0.1 * NET(x), first=-2.0, last=2.0)
    frames = [
        replace(frame, patches={p: (0.25 + 0.1 * (r[0] - 0.25),) for p, r in frame.patches.items()})
        for frame in bracket()
    ]

    found = match(read(frames, flat), aim())

    assert found.quantity.value is None
    assert found.quantity.why == "the reference's net shadow density 0.43 is beyond the curve, net 0.00 to 0.19"


def test_frames_tell_their_distance_from_the_match() -> None:
    """residual_stops is the frame's stops less the match, residual_density its net density less the target's."""
    shadows, target = read(bracket(at=0.1 - 0.9 * LOG10_2), exposure_index=50.0), aim()
    found = match(shadows, target)
    frames = describe_frames(shadows, target, found, ())

    # 0.9 stop slower and metered at half the index: the frame at +1 is nearest, 0.1 stop off.
    assert found.quantity.value == pytest.approx(1.9, abs=3e-3)
    (chosen,) = [frame for frame in frames if frame.chosen]
    assert chosen.stops == pytest.approx(1.0)
    assert chosen.residual_stops == pytest.approx(0.1, abs=3e-3)
    at = -0.3
    expected = float(NET(np.array(at + 0.1 * LOG10_2)) - NET(np.array(at)))
    assert chosen.residual_density == pytest.approx(expected, abs=1e-3)
    assert [frame.residual_stops for frame in frames] == pytest.approx([s - 0.9 for s in STOPS], abs=3e-3)


def test_of_two_frames_as_near_the_darker_of_the_nearer_is_chosen() -> None:
    """-1/3 and +1/3 stop are as near to a match at 0: the one with less light is chosen."""
    shadows = read(bracket(stops=(-1 / 3, 1 / 3)), name=MARL)
    found = match_shadows(shadows, aim(), is_reference=True)

    frames = describe_frames(shadows, aim(), found, ())

    assert [frame.stops for frame in frames if frame.chosen] == [-1 / 3]


def test_frames_without_a_match_keep_their_densities() -> None:
    """Where nothing can be matched no frame is chosen and no residual is told."""
    shadows = read(bracket())
    nothing = match(shadows, NoShadows(why="withdrawn"))

    frames = describe_frames(shadows, NoShadows(why="withdrawn"), nothing, ())
    bare = describe_frames(NoShadows(why="not read"), aim(), nothing, bracket())

    assert frames[6].shadow_density == pytest.approx(float(NET(np.array(-0.3))))
    assert len(bare) == 13
    for frame in (*frames, *bare):
        assert (frame.chosen, frame.residual_density, frame.residual_stops) == (False, None, None)
    assert {frame.shadow_density for frame in bare} == {None}
    assert nothing.quantity.why == "withdrawn"


@pytest.mark.parametrize(("of_stock", "of_reference"), [(OWN, CURVE), (CURVE, OWN), (OWN, OWN), (None, None)])
def test_without_a_wedge_the_frames_own_densities_serve(
    of_stock: FittedCurve | None, of_reference: FittedCurve | None
) -> None:
    """If either test lacks a wedge the smooth curve of net shadow density against stops gives the match, noted."""
    shadows = read(bracket(at=-0.1), of_stock)

    found = match(shadows, aim(read(bracket(at=0.0), of_reference, name=MARL)))

    assert found.quantity.value == pytest.approx(0.1 / LOG10_2, abs=0.03)
    assert found.quantity.note == "from the frames' own shadow densities, for want of a wedge exposure of both tests"
    assert found.own is not None
    assert found.reference is not None
    assert found.own[0] == pytest.approx(found.quantity.value)
    assert found.reference[0] == pytest.approx(found.quantity.value)


def test_without_a_wedge_the_shutter_counts_in_every_frame() -> None:
    """A frame's variance is u^2 + (0.3010 g s_shutter)^2: a shutter of a quarter stop widens the match threefold."""
    calm, wild = (
        match(read(bracket(at=-0.1), OWN, shutter_stops=shutter), aim(read(bracket(), OWN, name=MARL)))
        for shutter in (0.0, 0.25)
    )

    # g is about 0.55 there: u of 0.014 with the base's error, and 0.041 of density from the shutter.
    assert math.sqrt(wild.own_variance / calm.own_variance) == pytest.approx(
        math.hypot(0.0141, 0.041) / 0.0141, rel=0.35
    )


def test_a_test_that_tells_its_own_shutter_is_taken_at_its_word() -> None:
    """Set against a reference without a wedge, a test with one counts its own s_shutter and not the series'."""
    target = aim(read(bracket(), OWN, name=MARL))

    one, other = (match(read(bracket(), CURVE, shutter_stops=shutter), target) for shutter in (0.01, 0.50))

    assert one.own_variance == other.own_variance


def test_net_density_of_a_frame_has_the_error_of_its_base() -> None:
    """u^2 of a net density is the patch's and the frame's own base's; the common base's is in the rows."""
    frames = [
        make_frame("1", 0.0, {"dark": (0.5,)}, base=(0.25, 0.25)),
        make_frame("2", 1.0, {"dark": (0.7, 0.7)}, base=()),
        make_frame("3", 2.0, {"grey": (0.9,)}),
    ]
    table = tabulate_bracket(frames, repeatability=0.01, quantum=0.0)
    error = pool_bracket_error(frames, 0.01)

    net, u_net = find_net_shadows(table, np.array([0.2, 0.3]), "dark")

    assert net[:, :2] == pytest.approx(np.array([[0.25, 0.5], [0.25, 0.4]]))
    assert np.isnan(net[:, 2]).all()
    assert u_net[:2] == pytest.approx([error * math.sqrt(1.5), error / math.sqrt(2)])


def test_without_a_wedge_nothing_is_extrapolated() -> None:
    """Frames that do not reach the target, or a reference without frames about 0 stops, give no match and say why."""
    target = aim(read(bracket(), OWN, name=MARL))

    low = match(read(bracket(stops=STOPS[:5]), OWN), target)
    high = match(read(bracket(stops=STOPS[9:]), OWN), target)
    aside = match(read(bracket(), OWN), aim(read(bracket(stops=STOPS[8:]), OWN, name=MARL)))

    assert low.quantity.why is not None
    assert low.quantity.why.endswith("do not reach the reference's 0.43: frames with more light are missing")
    assert high.quantity.why is not None
    assert high.quantity.why.endswith("frames with less light are missing")
    assert aside.quantity.why == (
        "the reference gives no target: no frame of it is as low, or none as high, as 0 stops"
    )


WHY_NOT = [
    (read([]), "no bracket was read"),
    (read(bracket(), patch=None), "the protocol names no shadow patch"),
    (read(bracket(), patch="skin"), "the shadow patch skin was read on no frame"),
    (
        read(bracket(base=None), None),
        "neither a frame's own base nor base plus fog is known, so no density is net",
    ),
]


@pytest.mark.parametrize(("shadows", "why"), WHY_NOT)
def test_no_shadows_say_why(shadows: Shadows | NoShadows, why: str) -> None:
    """A test without net shadow densities says what was not read, and so does its match."""
    assert shadows == NoShadows(why=why)
    assert match(shadows, aim()).quantity.why == why


def test_one_exposure_or_a_level_bracket_gives_no_match_without_a_wedge() -> None:
    """Frames at one exposure, or shadows that do not rise, have no curve against stops."""
    level = [make_frame(str(number), s, {"dark": (0.6,), "grey": (0.9,)}) for number, s in enumerate((0.0, 1.0))]
    target = aim(read(bracket(), OWN, name=MARL))

    assert match(read(bracket(stops=(0.0, 0.0)), None), target).quantity.why == (
        "the shadow patch was read at one exposure only"
    )
    assert match(read(level, None), target).quantity.why == "the shadow densities do not rise over the bracket"


def test_shadows_without_a_place_on_the_curve_say_why() -> None:
    """With a wedge, a dark patch wholly in the toe has no place, and the match says so."""
    found = match(read(bracket(places={**PLACES, "dark": -3.0})), aim())

    assert found.quantity.why == (
        "the shadow patch dark: on every frame it lies beyond the curve, or where the curve is too flat to tell"
    )
