import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from basefog.measure.bracket import (
    NetShadows,
    NoShadows,
    Target,
    choose_frame,
    describe_frames,
    find_target,
    frame_nearest_metered,
    measure_shadow_match,
    pool_bracket_error,
    read_net_shadows,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.measure.resampling import DRAWS
from basefog.records.content import FloatArray, Frame, Test
from basefog.records.findings import Quantity
from measure.bench_content import NO_BASE, THIRDS, make_frame, make_frames, make_test, shift_frame, soft_toe

MARL = "marl-400/2026-01-10"
ERROR = 0.01


def straight(gradient: float, lift: float = 0.30) -> Callable[[float], float]:
    """Return a net density that rises in a straight line through `lift` at log exposure zero."""
    return lambda log_exposure: lift + gradient * log_exposure


def read(test: Test, base: FloatArray = NO_BASE, *, repeatability: float = ERROR) -> NetShadows:
    shadows = read_net_shadows(test, base, shadow_patch="dark", repeatability=repeatability)
    assert isinstance(shadows, NetShadows)
    return shadows


def aim(frames: Sequence[Frame], *, exposure_index: float = 100.0, name: str = MARL) -> Target:
    reference = make_test(name, frames=frames, exposure_index=exposure_index)
    target = find_target(read(reference), reference)
    assert isinstance(target, Target)
    return target


def match(frames: Sequence[Frame], target: Target, *, exposure_index: float = 100.0) -> Quantity:
    return measure_shadow_match(read(make_test(frames=frames, exposure_index=exposure_index)), target)


MARL_FRAMES = make_frames(straight(0.6), {"dark": 0.0, "grey": 0.5})


def test_shadow_match_of_straight_curves_is_exact() -> None:
    """A stock whose shadows lie 0.15 log units further down a straight line needs 0.15 / 0.3010 stops more."""
    expected = 0.15 / math.log10(2)

    found = match(make_frames(straight(0.6), {"dark": -0.15}), aim(MARL_FRAMES))

    assert found.value == pytest.approx(expected, abs=1e-9)
    assert found.low is not None
    assert found.high is not None
    assert found.low < expected < found.high
    assert found.unit == "stops"
    assert found.why is None


def test_interval_is_that_of_the_two_readings_and_bases() -> None:
    """On straight lines the error is that of the line at the match and of the target, through the gradient."""
    sites = np.log10(2) * np.array(THIRDS)
    u_net = ERROR * math.sqrt(2)
    # The line's own error at the middle of seven points, with almost no freedom to bend, is u / sqrt(7); a free
    # curve would have u itself: the truth lies between.
    lowest, highest = (math.hypot(u_net, u_net / math.sqrt(n)) / (0.6 * math.log10(2)) for n in (sites.size, 1))

    found = match(make_frames(straight(0.6), {"dark": 0.0}), aim(MARL_FRAMES))

    assert found.half_width is not None
    assert 1.96 * lowest * 0.95 < found.half_width < 1.96 * highest * 1.05


@pytest.mark.parametrize(("exposure_index", "expected"), [(100.0, 0.5), (50.0, 1.5), (200.0, -0.5)])
def test_exposure_indexes_count_into_the_match(exposure_index: float, expected: float) -> None:
    """log2(EI_ref / EI) is added: a stock metered at half the index got a stop more light at 0 stops already."""
    frames = make_frames(straight(0.6), {"dark": -0.5 * math.log10(2)})

    found = match(frames, aim(MARL_FRAMES), exposure_index=exposure_index)

    assert found.value == pytest.approx(expected, abs=1e-9)


def test_match_counts_from_the_frame_that_gives_the_target() -> None:
    """Where the reference's nearest frame stands off its metered exposure, the match counts from that frame."""
    off = make_frames(straight(0.6), {"dark": 0.0}, stops=[0.2, 0.8, 1.4])

    found = match(MARL_FRAMES, aim(off))

    assert found.value == pytest.approx(0.0, abs=1e-9)


def test_match_follows_the_curve_between_frames() -> None:
    """Inside a soft toe read at whole stops, the smooth curve finds the match to a hundredth of a stop."""
    density = soft_toe(0.62, 0.20, -0.1)
    frames = make_frames(
        lambda log_exposure: float(density(np.array(log_exposure))), {"dark": -0.2}, stops=[-2.0, -1.0, 0.0, 1.0, 2.0]
    )
    reference = make_frames(lambda log_exposure: float(density(np.array(log_exposure))), {"dark": -0.05})

    found = measure_shadow_match(read(make_test(frames=frames), repeatability=0.001), aim(reference))

    assert found.value == pytest.approx(0.15 / math.log10(2), abs=0.01)


def test_reference_matches_itself() -> None:
    """The reference's own match is zero by definition, and its target frame is the chosen one."""
    target = aim(MARL_FRAMES)
    shadows = read(target.test)

    found = measure_shadow_match(shadows, target)
    frames = describe_frames(MARL_FRAMES, shadows, target, found.value)

    assert (found.value, found.low, found.high) == (0.0, 0.0, 0.0)
    assert [frame.frame for frame in frames if frame.chosen] == ["4"]
    assert frames[3].residual_stops == 0.0
    assert frames[5].residual_stops == pytest.approx(2 / 3)


def test_frames_tell_their_distance_from_the_target() -> None:
    """Residuals are stock less reference in net density, and the frame's stops less the match."""
    target = aim(MARL_FRAMES, exposure_index=200.0)
    frames = make_frames(straight(0.6), {"dark": -0.05})
    shadows = read(make_test(frames=frames))

    found = describe_frames(frames, shadows, target, measure_shadow_match(shadows, target).value)

    assert [frame.frame for frame in found if frame.chosen] == ["4"]
    assert found[3].residual_density == pytest.approx(-0.6 * 0.05)
    assert found[3].residual_stops == pytest.approx(-0.05 / math.log10(2))
    assert found[3].shadow_density == pytest.approx(0.30 - 0.6 * 0.05)
    # A frame's residual in stops is what its residual in density is worth on the straight line.
    assert [frame.residual_stops for frame in found] == pytest.approx(
        [(frame.residual_density or 0.0) / 0.6 / math.log10(2) for frame in found]
    )


def test_frames_without_a_target_keep_their_densities() -> None:
    """Where nothing can be matched, no frame is chosen and the residuals are None; net densities stay."""
    shadows = read(make_test(frames=MARL_FRAMES))

    targetless = describe_frames(MARL_FRAMES, shadows, NoShadows(why="withdrawn"), None)
    bare = describe_frames(MARL_FRAMES, NoShadows(why="not read"), aim(MARL_FRAMES), None)

    assert targetless[3].shadow_density == pytest.approx(0.30)
    assert bare[3].shadow_density is None
    assert not any(frame.chosen for frame in (*targetless, *bare))
    assert {frame.residual_density for frame in (*targetless, *bare)} == {None}
    assert {frame.residual_stops for frame in (*targetless, *bare)} == {None}


def test_nearest_net_density_is_chosen() -> None:
    """The chosen frame's net shadow density is nearest the target's, whichever the stops."""
    frames = make_frames(straight(0.6), {"dark": -0.19})

    chosen = choose_frame(read(make_test(frames=frames)), aim(MARL_FRAMES))

    assert chosen.stops == pytest.approx(2 / 3)


def test_ties_go_to_the_frame_nearest_the_metered_exposure() -> None:
    """Of two densities as near to the target, above and below, the frame nearer 0 stops is chosen."""
    frames = [
        make_frame("a", -1 / 3, {"dark": (0.53,)}),
        make_frame("b", 0.0, {"dark": (0.51,)}),
        make_frame("c", 1.0, {"dark": (0.59,)}),
    ]
    target = aim([make_frame("1", 0.0, {"dark": (0.55,)})])

    chosen = choose_frame(read(make_test(frames=frames[1:])), target)
    nearer = choose_frame(read(make_test(frames=frames)), target)

    assert chosen.frame == "b"
    assert nearer.frame == "a"


def test_of_two_frames_as_near_the_metered_one_the_darker_is_taken() -> None:
    """-1/3 and +1/3 stop are as near: the one with less light is the metered one's stand-in."""
    frames = [make_frame("over", 1 / 3, {}), make_frame("under", -1 / 3, {})]

    assert frame_nearest_metered(frames).frame == "under"


def test_net_density_takes_off_the_frames_own_base_first() -> None:
    """A frame's own base counts where it was read, else the test's base plus fog."""
    base = np.full(1 + DRAWS, 0.20)
    frames = [make_frame("1", 0.0, {"dark": (0.60,)}, base=(0.30,)), make_frame("2", 1.0, {"dark": (0.80,)}, base=())]

    shadows = read(make_test(frames=frames), base)

    assert shadows.net[0] == pytest.approx([0.30, 0.60])
    assert shadows.u_frame == pytest.approx([ERROR * math.sqrt(2), ERROR])
    assert np.std(shadows.net[1:], axis=0) == pytest.approx(shadows.u_frame, rel=0.1)


def test_error_of_the_common_base_is_shared() -> None:
    """An error of the test's base plus fog moves all its frames alike."""
    base = 0.25 + np.concatenate([[0.0], 0.05 * np.random.default_rng(1).standard_normal(DRAWS)])
    frames = make_frames(straight(0.6, 0.55), {"dark": 0.0}, base=None)

    shadows = read(make_test(frames=frames), base)

    assert np.corrcoef(shadows.net[1:, 0], shadows.net[1:, -1])[0, 1] > 0.9


def test_more_readings_of_a_frame_count_for_more() -> None:
    """Four readings of a patch halve its error, and the pooled error hears replicates that disagree."""
    frames = [make_frame("1", 0.0, {"dark": (0.50, 0.50, 0.50, 0.50)}, base=()), make_frame("2", 1.0, {"dark": (0.7,)})]

    shadows = read(make_test(frames=frames), np.full(1 + DRAWS, 0.2))

    assert shadows.u_frame[0] == pytest.approx(pool_bracket_error(frames, ERROR) / 2)
    assert pool_bracket_error([make_frame("1", 0.0, {"dark": (0.40, 0.60)})], ERROR) > 0.03


def test_frames_at_one_exposure_are_one_point() -> None:
    """Two frames at the same stops are averaged, as two readings of one exposure."""
    frames = [
        make_frame("1", -1.0, {"dark": (0.40,)}),
        make_frame("2", 0.0, {"dark": (0.52,)}),
        make_frame("3", 0.0, {"dark": (0.58,)}),
        make_frame("4", 1.0, {"dark": (0.70,)}),
    ]

    found = match(frames, aim([make_frame("1", 0.0, {"dark": (0.55,)})]))

    assert found.value == pytest.approx(0.0, abs=1e-9)


def test_level_stretch_is_matched_at_its_middle() -> None:
    """Two frames of one density that is the target's: the match lies between them, and says how unsure it is."""
    frames = [make_frame(str(number), number, {"dark": (0.25 + d,)}) for number, d in enumerate([0.1, 0.3, 0.3, 0.5])]

    found = match(frames, aim([make_frame("1", 0.0, {"dark": (0.55,)})]))

    assert found.value == pytest.approx(1.5, abs=1e-6)
    assert found.low is not None
    assert found.high is not None


WHY_NOT = [
    (
        [make_frame("1", 0.0, {"dark": (0.55,)}), make_frame("2", 0.0, {"dark": (0.56,)})],
        "the shadow patch was read at one exposure only",
    ),
    (
        [make_frame("1", 0.0, {"dark": (0.55,)}), make_frame("2", 1.0, {"dark": (0.55,)})],
        "the shadow densities do not rise over the bracket",
    ),
    (
        [make_frame("1", 0.0, {"dark": (0.60,)}), make_frame("2", 1.0, {"dark": (0.50,)})],
        "the shadow densities do not rise over the bracket",
    ),
    (
        [make_frame("1", 0.0, {"dark": (0.35,)}), make_frame("2", 1.0, {"dark": (0.45,)})],
        (
            "the bracket's net shadow densities run from 0.10 to 0.20 and do not reach the reference's 0.30: frames "
            "with more light are missing"
        ),
    ),
    (
        [make_frame("1", 0.0, {"dark": (0.65,)}), make_frame("2", 1.0, {"dark": (0.85,)})],
        (
            "the bracket's net shadow densities run from 0.40 to 0.60 and do not reach the reference's 0.30: frames "
            "with less light are missing"
        ),
    ),
]


@pytest.mark.parametrize(("frames", "why"), WHY_NOT)
def test_no_match_says_why(frames: list[Frame], why: str) -> None:
    """A bracket that can't be matched has no value, never an extrapolated one, and says what is missing."""
    found = match(frames, aim([make_frame("1", 0.0, {"dark": (0.55,)})]))

    assert found == Quantity(value=None, low=None, high=None, unit="stops", why=why)


def test_last_frame_itself_is_reached() -> None:
    """A target that equals the outermost reading counts as reached, with error on both sides."""
    frames = make_frames(straight(0.6), {"dark": -math.log10(2)}, stops=THIRDS)

    found = match(frames, aim(MARL_FRAMES))

    assert found.value == pytest.approx(1.0, abs=1e-6)
    assert found.note is not None
    assert found.high is not None
    assert found.high > 1.0


def test_last_reading_above_its_own_curve_is_reached() -> None:
    """A last reading that the smooth curve passes under still counts as reached, at its own exposure."""
    nets = (0.10, 0.20, 0.30, 0.46)
    frames = [make_frame(str(number), number, {"dark": (0.25 + net,)}) for number, net in enumerate(nets)]
    target = aim([make_frame("1", 0.0, {"dark": (0.71,)})])

    found = measure_shadow_match(read(make_test(frames=frames), repeatability=0.2), target)

    assert found.value == pytest.approx(3.0, abs=1e-6)


NOTHING_READ = [
    (make_test(), "dark", "no bracket was read"),
    (make_test(frames=MARL_FRAMES), None, "the protocol names no shadow patch"),
    (make_test(frames=MARL_FRAMES), "skin", "the shadow patch skin was read on no frame"),
    (
        make_test(frames=make_frames(straight(0.6), {"dark": 0.0}, base=None)),
        "dark",
        "neither a frame's own base nor base plus fog is known, so no density is net",
    ),
]


@pytest.mark.parametrize(("test", "patch", "why"), NOTHING_READ)
def test_no_shadows_say_why(test: Test, patch: str | None, why: str) -> None:
    """A test without net shadow densities says what was not read."""
    assert read_net_shadows(test, NO_BASE, shadow_patch=patch, repeatability=ERROR) == NoShadows(why=why)


def test_reference_without_shadows_gives_no_target() -> None:
    """What the reference lacks is told on every stock that would be matched to it."""
    reference = make_test(MARL)

    found = find_target(NoShadows(why="no bracket was read"), reference)

    assert found == NoShadows(why="the reference gives no target: no bracket was read")


def test_reference_frame_without_a_reading_gives_no_target() -> None:
    """The frame nearest the metered exposure is the target or none is: another frame is another exposure."""
    frames = [make_frame("1", 0.0, {"grey": (0.9,)}), make_frame("2", 1.0, {"dark": (0.6,)})]
    reference = make_test(MARL, frames=frames)

    found = find_target(read(reference), reference)

    assert isinstance(found, NoShadows)
    assert found.why.startswith("the reference gives no target: its frame 1,")


def test_target_is_sought_on_the_reference_only() -> None:
    """Shadows of one test and frames of another are a mistake of the caller."""
    with pytest.raises(ValueError, match="shadows must be those of the reference"):
        find_target(read(make_test(frames=MARL_FRAMES)), make_test(MARL))


@settings(max_examples=25, deadline=None)
@given(by=st.floats(-0.2, 1.0))
def test_constant_density_changes_no_match(by: float) -> None:
    """A constant added to every density of the frames, base included, moves neither match nor chosen frame."""
    frames = make_frames(straight(0.6), {"dark": -0.15})
    target = aim(MARL_FRAMES)

    before, after = match(frames, target), match([shift_frame(frame, by) for frame in frames], target)

    assert after.value == pytest.approx(before.value, abs=1e-9)
    assert after.half_width == pytest.approx(before.half_width, rel=1e-6)


@settings(max_examples=25, deadline=None)
@given(apart=st.floats(-0.25, 0.25), index=st.sampled_from([50.0, 100.0, 160.0]))
def test_swapping_stock_and_reference_flips_the_match(apart: float, index: float) -> None:
    """On straight lines of one gradient the reference needs as much less light as the stock needs more."""
    ours = make_frames(straight(0.6), {"dark": apart})

    there = match(ours, aim(MARL_FRAMES, exposure_index=400.0), exposure_index=index)
    back = match(MARL_FRAMES, aim(ours, exposure_index=index, name="tern-100/2026-03-14-b"), exposure_index=400.0)

    assert there.value == pytest.approx(-(back.value or 0.0), abs=1e-9)


def test_same_readings_give_the_same_interval() -> None:
    """Resampling is seeded by the test's name alone: the same content gives the same digits."""
    target = aim(MARL_FRAMES)

    assert match(MARL_FRAMES, target) == match(MARL_FRAMES, target)


def test_intervals_cover_the_true_match() -> None:
    """Over 600 brackets with a soft toe and errors of 0.01 the 95 % interval holds the true match in 93 to 97 %."""
    generator = np.random.default_rng(20260314)
    ours, reference = soft_toe(0.60, 0.15, 0.08), soft_toe(0.65, 0.15)
    place = 0.1
    places = np.linspace(-2.0, 2.0, 40001)
    true = float(np.interp(reference(np.array(place)), ours(places), places) - place) / math.log10(2)

    def measure(number: int) -> bool:
        brackets = [
            tuple(_with_errors(frame, generator) for frame in make_frames(_plain(density), {"dark": place}))
            for density in (ours, reference)
        ]
        target = aim(brackets[1], name=f"{MARL}-{number}")
        test = make_test(f"tern-100/2026-03-14-{number}", frames=brackets[0])
        found = measure_shadow_match(read(test), target)
        return found.low is not None and found.high is not None and found.low <= true <= found.high

    covered = float(np.mean([measure(number) for number in range(600)]))

    assert 0.93 <= covered <= 0.97


def _plain(density: Callable[[FloatArray], FloatArray]) -> Callable[[float], float]:
    return lambda log_exposure: float(density(np.array(log_exposure)))


def _with_errors(frame: Frame, generator: np.random.Generator) -> Frame:
    def read_again(reading: float) -> float:
        return reading + ERROR * float(generator.standard_normal())

    return make_frame(
        frame.frame,
        frame.stops,
        {patch: [read_again(one) for one in readings] for patch, readings in frame.patches.items()},
        [read_again(one) for one in frame.base],
    )
