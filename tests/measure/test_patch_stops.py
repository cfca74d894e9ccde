from dataclasses import replace

import numpy as np
import pytest

from basefog.measure.frames_fit import FramesFit, NoFramesFit, fit_frames
from basefog.measure.patch_stops import measure_patch_stops
from basefog.measure.resampling import DRAWS
from basefog.records.vocabulary import LOG10_2
from measure.bench_content import make_test
from measure.test_frames_fit import CURVE, PLACES, bracket

PATCHES = (*PLACES, "moon")


def fit(note: str | None = None) -> FramesFit:
    curve = replace(CURVE, note=note)
    found = fit_frames(make_test(frames=bracket()), curve, grey_patch="grey", repeatability=0.01, quantum=0.0)
    assert isinstance(found, FramesFit)
    return found


def test_places_are_told_in_stops() -> None:
    """stops_from_grey is b_p / 0.3010, its half width 1.96 x the root mean square of its draws about it."""
    found = measure_patch_stops(fit(), PATCHES)["dark"]

    assert found.stops_from_grey.value == pytest.approx(PLACES["dark"] / LOG10_2, abs=1e-3)
    assert found.draws is not None
    assert found.draws[0] == found.stops_from_grey.value
    assert found.variance == pytest.approx(np.mean((found.draws[1 : 1 + DRAWS] - found.draws[0]) ** 2))
    assert found.stops_from_grey.half_width == pytest.approx(1.959964 * found.variance**0.5)
    assert found.stops_from_grey.unit == "stops"
    # This curve is known without error: the readings' part is all.
    assert found.reading_variance == pytest.approx(found.variance, rel=1e-6)


def test_rows_beyond_the_draws_are_no_part_of_the_interval() -> None:
    """A row that moves a wedge's step is handed on and widens nothing."""
    plain = fit()
    moved = replace(plain, place=np.vstack([plain.place, plain.place[:1] + 5.0]))

    found, before = (measure_patch_stops(each, PATCHES)["dark"] for each in (moved, plain))

    assert found.draws is not None
    assert found.draws.size == DRAWS + 2
    assert found.stops_from_grey == before.stops_from_grey
    assert found.variance == before.variance


def test_grey_is_zero_by_definition() -> None:
    """The grey patch counts from itself, without error."""
    found = measure_patch_stops(fit(), PATCHES)["grey"]

    assert (found.stops_from_grey.value, found.stops_from_grey.half_width, found.variance) == (0.0, 0.0, 0.0)
    assert found.stops_from_grey.note == "zero by definition"


def test_missing_patches_say_why() -> None:
    """A patch that was not read, or a test without a fit, has no figure and says why."""
    assert measure_patch_stops(fit(), PATCHES)["moon"].stops_from_grey.why == "not read on any frame"
    none = measure_patch_stops(NoFramesFit(why="no bracket was read"), PATCHES)["grey"]
    assert (none.stops_from_grey.value, none.stops_from_grey.why, none.draws) == (None, "no bracket was read", None)


def test_notes_of_curve_and_fit_are_handed_on() -> None:
    """What the curve was made from, and too few degrees of freedom, stand beside the figure."""
    found = measure_patch_stops(replace(fit("from the grey patch"), note="too few"), PATCHES)["dark"]

    assert found.stops_from_grey.note == "from the grey patch; too few"
