import numpy as np
import pytest

from basefog.measure.bracket_cells import Cells
from basefog.measure.bracket_readings import tabulate_bracket
from basefog.measure.frame_effects import NominalFrames
from basefog.measure.resampling import DRAWS
from basefog.records.content import FloatArray, Frame
from basefog.records.vocabulary import LOG10_2
from measure.bench_content import make_curve, make_frame, own_curve

U_EXPOSURE, U_DENSITY = 0.1 * LOG10_2, 0.01
STOPS = (-1.0, -0.5, 0.0, 0.5, 1.0)
PLACES = {"grey": 0.0, "dark": -0.2, "red": 0.1}
KEY = "tern-100/2026-03-14"


def straight(log_exposure: FloatArray) -> FloatArray:
    return 0.6 * (log_exposure + 2.0)


def expose(frame: str, stops: float, *, grey: bool = True) -> Frame:
    patches = {
        patch: (0.25 + float(straight(np.array(LOG10_2 * stops + place))),)
        for patch, place in PLACES.items()
        if grey or patch != "grey"
    }
    return make_frame(frame, stops, patches, base=())


FRAMES = [
    *(expose(str(number), stops) for number, stops in enumerate(STOPS)),
    expose("again", 0.5),
    expose("without", 0.25, grey=False),
]


def model() -> NominalFrames:
    """Return the model of five frames, one exposed again and one whose grey patch was not read."""
    curve = own_curve(straight, STOPS, u_exposure=U_EXPOSURE, u_density=U_DENSITY)
    table = tabulate_bracket(FRAMES, repeatability=U_DENSITY, quantum=0.0)
    return NominalFrames.of(Cells.of(table, curve), table.patches.index("grey"))


def test_covariance_is_that_of_the_draws() -> None:
    """What the fit weighs by is what the draws are: curve, exposures and readings together."""
    frames = model()
    table = frames.cells.table
    all_read = np.ones(table.patch.size, dtype=np.bool_)
    drawn = frames.cells.on_drawn_curves(all_read)
    x = drawn[1 : 1 + DRAWS] - drawn[0] + frames.draw_exposures(KEY)[:, table.frame]
    x = (x + frames.cells.moved_by_reading(frames.cells.own_places(), all_read, KEY))[:, table.patch != frames.zero]

    expected = frames.covariance[np.ix_(table.patch != frames.zero, table.patch != frames.zero)]
    size = np.sqrt(np.diag(expected))

    # 600 draws know a variance to 6 % and a correlation to 0.04: each within four of these.
    assert np.mean(x**2, axis=0) / size**2 == pytest.approx(1.0, abs=0.24)
    assert (x.T @ x / DRAWS) / np.outer(size, size) == pytest.approx(expected / np.outer(size, size), abs=0.2)
    assert np.abs(expected / np.outer(size, size) - np.eye(size.size)).max() > 0.5


def test_covariance_can_be_inverted_well() -> None:
    """Every reading errs by itself too, so that no digit is lost: the condition is far below 10^7."""
    frames = model()
    told = frames.cells.table.patch != frames.zero

    assert np.linalg.cond(frames.covariance[np.ix_(told, told)]) < 1e3


def test_frames_err_by_the_shutter_whether_the_curve_knows_them_or_not() -> None:
    """A frame whose grey patch was not read errs wholly by itself; one of two alike shares half with the curve."""
    frames = model()
    drawn = frames.draw_exposures(KEY)
    order = [frame.frame for frame in frames.cells.table.frames]
    again, first, alone, other = (order.index(name) for name in ("again", "3", "without", "1"))
    size = np.sqrt(np.mean(drawn**2, axis=0))

    assert size[[alone, other]] == pytest.approx(U_EXPOSURE, rel=0.12)
    # The curve takes a mean of two for one frame, which is to the safe side: u^2 (1 + 1/2).
    assert size[[again, first]] == pytest.approx(U_EXPOSURE * np.sqrt(1.5), rel=0.12)
    assert np.corrcoef(drawn[:, again], drawn[:, first])[0, 1] == pytest.approx(1 / 1.5, abs=0.12)
    assert np.corrcoef(drawn[:, alone], drawn[:, other])[0, 1] == pytest.approx(0.0, abs=0.16)


def test_a_curve_that_does_not_tell_its_frames_is_refused() -> None:
    """On the bracket's own axis the fit must know what bent the curve."""
    table = tabulate_bracket(FRAMES, repeatability=0.01, quantum=0.0)

    with pytest.raises(ValueError, match="must say what frames it was smoothed from"):
        NominalFrames.of(Cells.of(table, make_curve(straight)), 0)
