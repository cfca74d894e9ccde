import numpy as np
import pytest

from basefog.measure.bracket_cells import Cells
from basefog.measure.bracket_readings import tabulate_bracket
from basefog.measure.frame_effects import NominalFrames
from basefog.measure.resampling import DRAWS
from basefog.records.content import FloatArray, Frame
from basefog.records.vocabulary import LOG10_2
from measure.bench_content import make_curve, make_frame, own_curve

U_EXPOSURE, U_DENSITY = 0.02 * LOG10_2, 0.002
STOPS = (-1.0, -0.5, 0.0, 0.5, 1.0)
PLACES = {"grey": 0.0, "dark": -0.2, "blue": -0.1, "red": 0.1, "skin": 0.15}
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
    return NominalFrames.of(
        Cells.of(table, curve), np.ones(table.patch.size, dtype=np.bool_), table.patches.index("grey")
    )


def test_covariance_is_that_of_the_draws() -> None:
    """What the fit weighs by is what the draws are: curve, exposures and readings together."""
    frames = model()
    table = frames.cells.table
    told = table.patch != frames.zero
    drawn = frames.cells.on_drawn_curves(told)
    x = drawn[1 : 1 + DRAWS] - drawn[0] + frames.draw_exposures(KEY)[:, table.frame[told]]
    x += frames.cells.moved_by_reading(frames.cells.own_places(), told, KEY)

    # The grey readings are there, and none left out, but of no account among the values themselves.
    expected = frames.find_covariance(frames.used)[np.ix_(told, told)]
    size = np.sqrt(np.diag(expected))

    # 600 draws know a variance to 6 % and a correlation to 0.04: each within four of these.
    assert np.mean(x**2, axis=0) / size**2 == pytest.approx(1.0, abs=0.24)
    assert (x.T @ x / DRAWS) / np.outer(size, size) == pytest.approx(expected / np.outer(size, size), abs=0.2)
    assert np.abs(expected / np.outer(size, size) - np.eye(size.size)).max() > 0.5


def test_covariance_can_be_inverted_well() -> None:
    """Every reading errs by itself too, so that no digit is lost: the condition stays below 10^6."""
    frames = model()
    told = frames.cells.table.patch != frames.zero

    assert np.linalg.cond(frames.find_covariance(frames.used)[np.ix_(told, told)]) < 1e3
    # Nor where grey readings are left out, here all of them.
    assert np.linalg.cond(frames.find_covariance(told)) < 1e6


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
        NominalFrames.of(Cells.of(table, make_curve(straight)), np.ones(table.patch.size, dtype=np.bool_), 0)


def bend(slip: float) -> tuple[NominalFrames, FloatArray, int]:
    """Return a model, its values where the grey reading of frame 2 is too high by `slip`, and that reading's place.

    Straight lines from frame to frame carry it: half a stop away from that frame it is gone.
    """
    frames = model()
    table = frames.cells.table
    at = next(
        number
        for number in range(table.patch.size)
        if table.patch[number] == frames.zero and table.frames[table.frame[number]].frame == "2"
    )
    away = np.abs(frames.cells.predicted) / (0.5 * LOG10_2)
    values = frames.cells.own_places() - frames.nominal[table.frame] - slip / 0.6 * np.maximum(1 - away, 0.0)
    values[table.patch == frames.zero] = 0.0
    return frames, values, at


def test_a_grey_slip_is_known_by_what_it_did_to_the_others() -> None:
    """The curve goes through the grey reading that bent it: the others say that it is too high, and by how much."""
    frames, values, at = bend(0.06)

    found = frames.screen(values, np.arange(values.size))

    assert found.left == (at,)
    assert found.stuck == ()
    assert frames.find_misreading(at, values, found.kept) == pytest.approx(0.06, abs=0.001)
    assert (
        frames.find_misreading(int(np.flatnonzero(~(frames.cells.table.patch == frames.zero))[0]), values, found.kept)
        is None
    )


def test_a_grey_reading_that_is_left_out_moves_no_patch() -> None:
    """It stays in the curve, and its bend is taken as unknown: the places are those without it, nearly."""
    frames, values, at = bend(0.06)
    places = np.array([PLACES[patch] for patch in frames.cells.table.patches])
    without = frames.used.copy()
    without[at] = False

    with_it, left_out = (
        np.abs(frames.solve(among).columns @ values[among] - places).max() for among in (frames.used, without)
    )

    assert with_it > 0.006
    assert left_out < 0.0004


def test_honest_brackets_lose_few_readings() -> None:
    """Of values drawn from their own covariance fewer than one in a thousand goes."""
    frames = model()
    told = frames.cells.table.patch != frames.zero
    root = np.linalg.cholesky(frames.find_covariance(frames.used)[np.ix_(told, told)])
    generator = np.random.default_rng(3)
    left = 0
    for _ in range(200):
        values = np.zeros(told.size)
        values[told] = root @ generator.standard_normal(int(told.sum()))
        left += len(frames.screen(values, np.arange(told.size)).left)

    assert left <= 200 * told.size / 1000


def test_misfit_is_the_degrees_on_average() -> None:
    """r'S^-1 r of values drawn from their covariance is readings less patches in the mean."""
    frames = model()
    told = frames.cells.table.patch != frames.zero
    root = np.linalg.cholesky(frames.find_covariance(frames.used)[np.ix_(told, told)])
    generator = np.random.default_rng(4)
    way = frames.solve(frames.used)
    found = []
    for _ in range(400):
        values = np.zeros(told.size)
        values[told] = root @ generator.standard_normal(int(told.sum()))
        found.append(frames.sum_misfit(way, values, frames.used))

    assert way.degrees == told.sum() - 4
    # Of 400, the mean of chi squared is known to sqrt(2 degrees / 400): four of these.
    assert np.mean(found) == pytest.approx(way.degrees, abs=4 * np.sqrt(2 * way.degrees / 400))
