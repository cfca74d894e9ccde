import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.measure.curve_fit import FittedCurve
from basefog.measure.tone_reproduction import (
    CONTRASTS,
    NoPaper,
    PaperCurve,
    choose_paper,
    fit_paper,
    measure_print_contrasts,
    reproduce_tones,
)
from basefog.records.content import FloatArray, Paper
from basefog.records.findings import Quantity
from measure.bench_content import PLACE, make_curve, soft_toe

SITES = np.linspace(-0.5, 2.5, 31)


def straight_paper(gradient: float = 1.5, first: float = -0.5, last: float = 2.5) -> Paper:
    """Return a paper that rises in a straight line from 0.06 at log exposure zero."""
    sites = np.linspace(first, last, 31)
    return Paper(id="grade-2", log_exposure=sites, density=0.06 + gradient * (sites - first), place=PLACE)


def fitted(paper: Paper) -> PaperCurve:
    curve = fit_paper(paper, repeatability=0.01)
    assert isinstance(curve, PaperCurve)
    return curve


def straight_film(gradient: float) -> Callable[[FloatArray], FloatArray]:
    """Return net density that is 0.10, the speed point, at log exposure -1.5."""
    return lambda log_exposure: np.asarray(0.10 + gradient * (np.asarray(log_exposure) + 1.5))


@pytest.mark.parametrize(("film", "paper"), [(0.5, 1.5), (0.65, 1.2), (0.4, 2.0)])
def test_slopes_multiply_through_the_quadrants(film: float, paper: float) -> None:
    """With straight film and paper every print contrast is film gradient times paper gradient."""
    found = measure_print_contrasts(make_curve(straight_film(film)), None, fitted(straight_paper(paper, last=4.0)))

    assert [found[name].value for name in CONTRASTS] == pytest.approx([film * paper] * 3, abs=1e-6)
    assert {found[name].unit for name in CONTRASTS} == {"1"}


def test_base_plus_fog_prints_to_ninety_per_cent_of_black() -> None:
    """Film at base plus fog falls where the paper is at 0.9 of its maximum, and the speed point 0.10 below it."""
    paper = straight_paper(1.5)
    maximum = float(paper.density.max())
    # At the speed point the film is 0.10 above base plus fog, so that the print is 0.10 x 1.5 below that black.
    expected = 0.90 * maximum - 0.10 * 1.5

    found = reproduce_tones(make_curve(straight_film(0.5)), fitted(paper))

    assert found is not None
    at_speed_point = np.interp(0.0, found.subject_log_luminance, found.print_density)
    assert at_speed_point == pytest.approx(expected, abs=1e-6)
    assert found.paper == "grade-2"


def test_print_darkens_as_the_subject_does() -> None:
    """Print density falls with subject luminance, on an even axis whose zero is the speed point."""
    found = reproduce_tones(make_curve(soft_toe()), fitted(straight_paper()))

    assert found is not None
    assert (np.diff(found.print_density) <= 0).all()
    assert np.diff(found.subject_log_luminance) == pytest.approx(0.05)
    assert np.abs(found.subject_log_luminance).min() == pytest.approx(0.0, abs=1e-9)
    assert not found.print_density.flags.writeable
    assert (found.low <= found.print_density).all()
    assert (found.print_density <= found.high).all()


def test_curve_ends_where_film_or_paper_does() -> None:
    """Nothing is drawn past the readings: neither tones the film wasn't exposed to nor those the paper wasn't."""
    film = make_curve(straight_film(0.5), first=-2.0, last=0.0)
    short = straight_paper(1.5, first=0.8, last=2.5)

    on_film = reproduce_tones(film, fitted(straight_paper()))
    on_paper = reproduce_tones(make_curve(straight_film(0.5)), fitted(short))

    assert on_film is not None
    assert on_paper is not None
    assert on_film.subject_log_luminance.max() == pytest.approx(1.5)
    black = float(np.interp(0.9 * short.density.max(), short.density, short.log_exposure))
    assert on_paper.subject_log_luminance.max() == pytest.approx(((black - 0.8) - 0.10) / 0.5, abs=0.05)


def vary_slope(curve: FittedCurve, slopes: FloatArray) -> FittedCurve:
    """Return a curve whose draws (DRAWS,) are steeper or flatter than the estimate, about base plus fog."""
    base = curve.base_plus_fog[:, None]
    return replace(curve, density=base + np.concatenate([[1.0], slopes])[:, None] * (curve.density - base))


def test_points_that_many_draws_miss_are_left_out() -> None:
    """Near the paper's end, a tone that more than 2.5 % of the draws print past it is not drawn."""
    paper = fitted(straight_paper(1.5, first=0.8, last=2.5))
    film = make_curve(straight_film(0.5))

    sure = reproduce_tones(film, paper)
    unsure = reproduce_tones(vary_slope(film, np.resize([0.9, 1.1], film.base_plus_fog.size - 1)), paper)

    assert sure is not None
    assert unsure is not None
    # Half of the draws are steeper by a tenth, so that they leave the paper a tenth earlier.
    assert unsure.subject_log_luminance.max() == pytest.approx(sure.subject_log_luminance.max() / 1.1, abs=0.05)
    assert unsure.subject_log_luminance.max() < sure.subject_log_luminance.max() - 0.05


@settings(max_examples=20, deadline=None)
@given(fog=st.floats(0.0, 0.6))
def test_base_plus_fog_drops_out(fog: float) -> None:
    """The print is exposed through base plus fog, so that a constant added to the film changes no tone."""
    paper = fitted(straight_paper())
    plain, fogged = (
        measure_print_contrasts(make_curve(straight_film(0.5), base_plus_fog=base), None, paper)
        for base in (0.2, 0.2 + fog)
    )

    for name in CONTRASTS:
        assert fogged[name].value == pytest.approx(plain[name].value, abs=1e-6)


def test_a_hair_of_rounding_keeps_the_ends_of_the_paper() -> None:
    """The first and the last reading count as inside, whatever the last digits of an exposure."""
    paper = fitted(straight_paper())

    found = paper.density_at(np.array([-0.5 - 1e-10, -0.5 - 1e-6, 2.5 + 1e-10, 2.5 + 1e-6]))

    assert np.isfinite(found).tolist() == [True, False, True, False]


def test_an_error_that_film_and_base_share_drops_out() -> None:
    """A densitometer that reads all of a film too dense changes no tone: every draw prints through its own base."""
    film = make_curve(straight_film(0.5), spread=(-0.03, 0.03))
    shared = film.density[:, 0] - film.density[0, 0]

    tones = reproduce_tones(replace(film, base_plus_fog=film.base_plus_fog + shared), fitted(straight_paper()))

    assert tones is not None
    assert tones.high - tones.low == pytest.approx(0.0, abs=1e-6)


def test_the_band_of_tones_counts_what_all_draws_are_off_by() -> None:
    """Draws that are all steeper by a fiftieth print each tone x darker by 0.02 x 0.5 x 1.5 x: the band says so."""
    film = make_curve(straight_film(0.5))

    tones = reproduce_tones(vary_slope(film, np.full(film.base_plus_fog.size - 1, 1.02)), fitted(straight_paper()))

    assert tones is not None
    expected = 1.96 * 0.02 * 0.5 * 1.5 * np.abs(tones.subject_log_luminance)
    assert tones.high - tones.print_density == pytest.approx(expected, rel=1e-4, abs=1e-6)


@pytest.mark.parametrize(("steepness", "within"), [(4.5, 0.001), (9.0, 0.0015), (12.0, 0.005)])
def test_paper_curve_passes_near_its_readings(steepness: float, within: float) -> None:
    """A paper with toe and shoulder, soft or hard, read without error, is followed between readings 0.1 apart.

    Its gradient in the middle is half the steepness: 2.3 to 6.1. What is left is less than the error of a reading.
    """

    def shape(log_exposure: FloatArray) -> FloatArray:
        return np.asarray(0.06 + 2.04 / (1 + np.exp(-steepness * (log_exposure - 1.0))))

    paper = fitted(Paper(id="grade-3", log_exposure=SITES, density=shape(SITES), place=PLACE))
    between = SITES[:-1] + 0.05

    assert paper.density_at(between) == pytest.approx(shape(between), abs=within)
    assert math.isnan(paper.density_at(np.array([2.51]))[0])


def test_errors_of_the_film_widen_the_interval() -> None:
    """Film densities that are uncertain make the contrast so; those known without error don't."""
    paper = fitted(straight_paper())
    curve = make_curve(soft_toe())
    slopes = 1 + 0.02 * np.random.default_rng(1).standard_normal(curve.base_plus_fog.size - 1)

    sure = measure_print_contrasts(curve, None, paper)["print_middle_contrast"]
    unsure = measure_print_contrasts(vary_slope(curve, slopes), None, paper)["print_middle_contrast"]

    assert sure.half_width == pytest.approx(0.0, abs=1e-9)
    assert unsure.value is not None
    assert unsure.half_width == pytest.approx(1.96 * 0.02 * unsure.value, rel=0.15)


def test_curve_from_the_bracket_is_told() -> None:
    """What the film's curve was made from, where that was no wedge, is noted on the contrasts that rest on it."""
    curve = replace(make_curve(soft_toe(place=-0.5)), note="from the grey patch")

    found = measure_print_contrasts(curve, None, fitted(straight_paper()))

    assert {one.note for one in found.values()} == {"from the grey patch"}


NO_TONES = [
    (make_curve(soft_toe(place=1.5)), "the curve ends 0.20 log units before the end of the tone range"),
    (
        make_curve(lambda log_exposure: 0.0 * log_exposure),
        "the curve ends at 0.00 above base plus fog, and the speed point lies at 0.10",
    ),
]


@pytest.mark.parametrize(("curve", "why"), NO_TONES)
def test_film_that_ends_early_says_why(curve: FittedCurve, why: str) -> None:
    """A tone range that the film's readings don't hold gives no contrast, and the reason."""
    found = measure_print_contrasts(curve, None, fitted(straight_paper()))["print_shadow_contrast"]

    assert found == Quantity(value=None, low=None, high=None, unit="1", why=why)


def test_paper_that_ends_early_says_why() -> None:
    """A tone range past the paper's readings gives no contrast, never an extrapolated one."""
    paper = fitted(straight_paper(1.5, first=1.2, last=2.5))

    found = measure_print_contrasts(make_curve(straight_film(0.6)), None, paper)

    assert found["print_shadow_contrast"].value is not None
    assert found["print_highlight_contrast"] == Quantity(
        value=None, low=None, high=None, unit="1", why="the tone range runs past the readings of paper grade-2"
    )


def test_missing_curve_or_paper_says_why() -> None:
    """Without a film curve or a paper there are no tones, and every contrast says which is missing."""
    paper = fitted(straight_paper())
    none = NoPaper(why="the series names no paper (enlarging.paper)")
    curve = make_curve(soft_toe())
    flat = make_curve(lambda log_exposure: 0.0 * log_exposure)

    assert {one.why for one in measure_print_contrasts(None, "only 3 steps", paper).values()} == {"only 3 steps"}
    assert {one.why for one in measure_print_contrasts(curve, None, none).values()} == {none.why}
    assert reproduce_tones(None, paper) is None
    assert reproduce_tones(curve, none) is None
    assert reproduce_tones(flat, paper) is None


def test_film_that_misses_the_paper_has_no_tones() -> None:
    """Where no tone of the film falls on the paper's readings there is no curve."""
    paper = replace(fitted(straight_paper()), black_log_exposure=9.0)

    assert reproduce_tones(make_curve(soft_toe()), paper) is None


def test_paper_of_the_series_is_chosen() -> None:
    """The series' enlarging names its paper; one not named or not read is told."""
    papers = {"grade-2": straight_paper()}

    chosen = choose_paper(papers, "grade-2", repeatability=0.01)

    assert isinstance(chosen, PaperCurve)
    assert choose_paper(papers, None, repeatability=0.01) == NoPaper(why="the series names no paper (enlarging.paper)")
    assert choose_paper(papers, "grade-4", repeatability=0.01) == NoPaper(
        why="the series has no readings of paper grade-4"
    )


def test_paper_read_only_near_black_can_not_serve() -> None:
    """A paper without a reading below 90 % of its maximum has no place for the film's base plus fog."""
    paper = Paper(id="grade-2", log_exposure=SITES, density=np.linspace(2.0, 2.1, 31), place=PLACE)

    assert fit_paper(paper, repeatability=0.01) == NoPaper(
        why="paper grade-2 has no reading below 90 % of its maximum density"
    )
