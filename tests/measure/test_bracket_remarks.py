from collections.abc import Sequence
from dataclasses import replace

import pytest

from basefog.measure.bracket_remarks import PatchPlaces, gather_places, remark_on_exchanged_patches, remark_on_exposures
from basefog.measure.frames_fit import FramesFit
from basefog.records.vocabulary import LOG10_2
from measure.test_frames_fit import PLACES, STOPS, bracket, fit


def other(by: float = 0.05) -> FramesFit:
    return fit(bracket(places={patch: place + (0.0 if patch == "grey" else by) for patch, place in PLACES.items()}))


def places_of(others: Sequence[FramesFit]) -> PatchPlaces:
    """Return where other tests of the series have their patches."""
    return gather_places(replace(one, key=f"other-{number}/2026-01-10") for number, one in enumerate(others))


def test_exchanged_columns_are_seen_by_the_other_tests() -> None:
    """Two patches that each lie where the other tests have the other are told, with the figures."""
    exchanged = fit(bracket(places={**PLACES, "dark": PLACES["white"], "white": PLACES["dark"]}))

    (remark,) = remark_on_exchanged_patches(exchanged, places_of([other(), other(-0.05), other(0.0)]))

    assert remark.message == (
        "the columns dark and white of the bracket look exchanged: dark is +1.49 stops from the grey patch and "
        "white -1.33, and in the other tests they are -1.33 and +1.49"
    )


def test_films_that_differ_are_not_exchanged() -> None:
    """Half a stop of difference in rendering, or a single patch in another's place, is no exchange."""
    assert remark_on_exchanged_patches(other(0.15), places_of([other(0.0)])) == ()
    assert remark_on_exchanged_patches(other(), places_of([])) == ()
    one = fit(bracket(places={**PLACES, "dark": PLACES["white"]}))
    assert remark_on_exchanged_patches(one, places_of([other(0.0)])) == ()
    both = fit(bracket(places={**PLACES, "dark": PLACES["dark"] + LOG10_2, "white": PLACES["white"] + LOG10_2}))
    assert remark_on_exchanged_patches(both, places_of([other(0.0)])) == ()
    # Dark and red lie two thirds of a stop apart: exchanged they are told, but no pair that lies nearer than a half.
    near = {**PLACES, "red": PLACES["dark"] + 0.4 * LOG10_2}
    swapped = fit(bracket(places={**near, "red": near["dark"], "dark": near["red"]}))
    assert remark_on_exchanged_patches(swapped, places_of([fit(bracket(places=near))])) == ()


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
