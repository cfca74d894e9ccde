from collections.abc import Sequence

import pytest

from basefog.measure.bracket_remarks import PatchPlaces, gather_places, remark_on_exchanged_patches, remark_on_exposures
from basefog.measure.frames_fit import FramesFit
from basefog.records.findings import Remark
from basefog.records.vocabulary import LOG10_2
from measure.test_frames_fit import PLACES, STOPS, bracket, fit


def other(by: float = 0.05) -> FramesFit:
    return fit(bracket(places={patch: place + (0.0 if patch == "grey" else by) for patch, place in PLACES.items()}))


def places_of(others: Sequence[FramesFit]) -> PatchPlaces:
    """Return where other tests of the series have their patches."""
    return gather_places((f"other-{number}/2026-01-10", one.patch_stops()) for number, one in enumerate(others))


def exchanged_columns(one: FramesFit, places: PatchPlaces) -> tuple[Remark, ...]:
    return remark_on_exchanged_patches(one.key, one.patch_stops(), places)


def test_exchanged_columns_are_seen_by_the_other_tests() -> None:
    """Two patches that each lie where the other tests have the other are told, with the figures."""
    exchanged = fit(bracket(places={**PLACES, "dark": PLACES["white"], "white": PLACES["dark"]}))

    (remark,) = exchanged_columns(exchanged, places_of([other(), other(-0.05), other(0.0)]))

    assert remark.message == (
        "the columns dark and white of the bracket look exchanged: dark is +1.49 stops from the grey patch and "
        "white -1.33, and in the other tests they are -1.33 and +1.49"
    )


def test_films_that_differ_are_not_exchanged() -> None:
    """Half a stop of difference in rendering, or a single patch in another's place, is no exchange."""
    assert exchanged_columns(other(0.15), places_of([other(0.0)])) == ()
    assert exchanged_columns(other(), places_of([])) == ()
    one = fit(bracket(places={**PLACES, "dark": PLACES["white"]}))
    assert exchanged_columns(one, places_of([other(0.0)])) == ()
    both = fit(bracket(places={**PLACES, "dark": PLACES["dark"] + LOG10_2, "white": PLACES["white"] + LOG10_2}))
    assert exchanged_columns(both, places_of([other(0.0)])) == ()
    # Dark and red lie two thirds of a stop apart: exchanged they are told, but no pair that lies nearer than a half.
    near = {**PLACES, "red": PLACES["dark"] + 0.4 * LOG10_2}
    swapped = fit(bracket(places={**near, "red": near["dark"], "dark": near["red"]}))
    assert exchanged_columns(swapped, places_of([fit(bracket(places=near))])) == ()


def test_the_usual_place_leaves_the_test_itself_out() -> None:
    """It is the median over the others: the middle one, or the mean of the middle two; None where there is none."""
    places = gather_places([("a", {"dark": 3.0}), ("b", {"dark": 1.0}), ("c", {"dark": 2.0}), ("d", {"dark": 7.0})])

    assert [places.usual("dark", key) for key in ("a", "b", "c", "d")] == [2.0, 3.0, 3.0, 2.0]
    assert places.usual("dark", "no other") == 2.5
    assert gather_places([("a", {"dark": 3.0})]).usual("dark", "a") is None


@pytest.mark.parametrize("sign", [-1, 1])
def test_a_frame_off_its_stops_is_told(sign: int) -> None:
    """All patches of a frame together say that it had a stop more, or less, light than was typed."""
    (remark,) = remark_on_exposures(fit(bracket({5: sign * LOG10_2})))

    assert remark.message == (
        f"frame 05: by all its patches it had 1.00 stop {'more' if sign > 0 else 'less'} light than its -0.33 stops say"
    )


def test_a_shutters_scatter_is_not_told() -> None:
    """Below a quarter stop, or where all frames scatter as much, nothing is said."""
    assert remark_on_exposures(fit(bracket({5: 0.24 * LOG10_2}))) == ()
    wild = {number: 0.02 * ((number * 5) % 13 - 6) for number in range(13)}
    assert max(abs(by) for by in wild.values()) > 0.25 * LOG10_2
    assert remark_on_exposures(fit(bracket(wild))) == ()
    assert remark_on_exposures(fit(bracket({1: LOG10_2}, stops=STOPS[:3]))) == ()
