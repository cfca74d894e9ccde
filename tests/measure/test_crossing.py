import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from basefog.measure.crossing import find_crossings, fit_rising_rows


@given(
    slope=st.floats(0.01, 3.0),
    lift=st.floats(-1.0, 1.0),
    share=st.floats(0.0, 1.0),
    gaps=st.lists(st.floats(0.05, 1.0), min_size=1, max_size=8),
)
def test_straight_lines_cross_where_they_should(slope: float, lift: float, share: float, gaps: list[float]) -> None:
    """A rising straight line, whatever its sites, meets its aim exactly where the line has it."""
    sites = np.concatenate([[0.0], np.cumsum(gaps)])
    expected = share * sites[-1]

    grid, curves = fit_rising_rows(
        sites, (lift + slope * sites)[None, :], np.full(sites.size, 1e-4), typical_derivative=1.0
    )

    assert find_crossings(grid, curves, np.array([lift + slope * expected]))[0] == pytest.approx(expected, abs=1e-5)


@given(values=st.lists(st.floats(0.0, 3.0), min_size=2, max_size=9))
def test_curves_never_fall(values: list[float]) -> None:
    """Whatever dips the points have, the curve through them never falls."""
    sites = np.arange(len(values), dtype=np.float64)

    _, curves = fit_rising_rows(sites, np.array([values]), np.full(sites.size, 1e-4), typical_derivative=1.0)

    assert (np.diff(curves[0]) >= 0).all()


def test_sites_stand_on_the_grid() -> None:
    """Every site is on the grid, so that good readings are passed through there."""
    sites = np.array([0.0, 0.3, 1.0])
    rows = np.array([[0.1, 0.2, 0.6]])

    grid, curves = fit_rising_rows(sites, rows, np.full(3, 1e-12), typical_derivative=1.0)

    assert set(sites) <= set(grid)
    assert np.interp(sites, grid, curves[0]) == pytest.approx(rows[0], abs=1e-6)


def test_good_readings_are_joined_as_by_a_natural_spline() -> None:
    """Without error the curve is the natural cubic spline of an independent solver, between the sites too."""
    sites = np.array([0.0, 0.4, 1.0, 1.5, 2.5])
    rows = np.array([[0.1, 0.3, 0.7, 0.9, 1.1]])
    fine = np.linspace(0.0, 2.5, 501)

    grid, curves = fit_rising_rows(sites, rows, np.full(5, 1e-10), typical_derivative=1.0)

    # The grid is straight between its points, sixteen an interval: where the spline bends by 3, off by 0.0006.
    assert np.interp(fine, grid, curves[0]) == pytest.approx(
        CubicSpline(sites, rows[0], bc_type="natural")(fine), abs=0.002
    )


def test_a_level_stretch_is_met_in_its_middle() -> None:
    """Where a curve keeps its aim for a while, the middle of the stretch is told."""
    grid = np.array([0.0, 1.0, 2.0, 3.0])
    curves = np.array([[0.1, 0.2, 0.2, 0.4], [0.2, 0.2, 0.3, 0.4]])

    assert find_crossings(grid, curves, np.array([0.2, 0.2])) == pytest.approx([1.5, 0.5], abs=1e-6)


def test_sites_that_do_not_rise_are_refused() -> None:
    """Two values at one site are a mistake of the caller, who merges them first."""
    with pytest.raises(ValueError, match="sites must rise"):
        fit_rising_rows(np.array([0.0, 0.0]), np.array([[0.1, 0.2]]), np.full(2, 1e-4), typical_derivative=1.0)


def test_aims_beyond_the_ends_are_not_reached() -> None:
    """Nothing is extrapolated: below the first and above the last value there is no crossing."""
    grid = np.array([0.0, 1.0, 2.0])
    curves = np.array([[0.1, 0.2, 0.4]] * 4)

    found = find_crossings(grid, curves, np.array([0.05, 0.1, 0.4, 0.45]))

    assert found == pytest.approx([np.nan, 0.0, 2.0, np.nan], abs=1e-6, nan_ok=True)


def test_a_level_run_at_an_end_is_met_in_its_middle() -> None:
    """Where a curve begins or ends level, its first and last value are met half way along that run."""
    grid = np.arange(5.0)
    curves = np.array([[0.1, 0.1, 0.3, 0.3, 0.3]] * 4)

    found = find_crossings(grid, curves, np.array([0.1, 0.3, 0.2, 0.31]))

    assert found == pytest.approx([0.5, 3.0, 1.5, np.nan], abs=1e-6, nan_ok=True)
