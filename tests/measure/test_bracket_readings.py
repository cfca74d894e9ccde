import math

import numpy as np
import pytest

from basefog.measure.bracket_readings import draw_reading_errors, pool_bracket_error, tabulate_bracket, u_of_mean
from measure.bench_content import make_frame

FRAMES = (
    make_frame("7", 1.0, {"grey": (0.9, 0.92), "red": (0.5,)}, base=()),
    make_frame("3", 0.0, {"grey": (0.7,), "red": ()}, base=(0.20, 0.24)),
)


def test_table_is_in_one_order_whatever_the_frames_were_in() -> None:
    """Frames go by stops then id, patches by id, and cells without a reading are left out."""
    table, other = (tabulate_bracket(f, repeatability=0.01, quantum=0.01) for f in (FRAMES, FRAMES[::-1]))

    assert [frame.frame for frame in table.frames] == ["3", "7"]
    assert table.patches == ("grey", "red")
    assert (table.frame.tolist(), table.patch.tolist()) == ([0, 1, 1], [0, 0, 1])
    assert table.density == pytest.approx([0.70, 0.91, 0.50])
    assert (table.density == other.density).all()
    assert table.base[0] == pytest.approx(0.22)
    assert math.isnan(table.base[1])


def test_errors_of_means_hold_rounding_undivided() -> None:
    """u^2 = r^2 / n + q^2 / 12, r pooled over the bracket."""
    r = pool_bracket_error(FRAMES, 0.01)

    table = tabulate_bracket(FRAMES, repeatability=0.01, quantum=0.02)

    assert r != 0.01
    assert table.u_density == pytest.approx([math.sqrt(r**2 / n + 0.02**2 / 12) for n in (1, 2, 1)])
    assert table.u_base == pytest.approx([math.sqrt(r**2 / 2 + 0.02**2 / 12), 0.0])
    assert u_of_mean(0.01, 1, 0.0) == pytest.approx(0.01)


def test_drawn_errors_are_of_that_size_and_the_tests_own() -> None:
    """Their spread is the uncertainty, and they hang on the test's name alone."""
    table = tabulate_bracket(FRAMES, repeatability=0.01, quantum=0.01)

    patches, bases = draw_reading_errors(table, "a/b")
    again, _ = draw_reading_errors(table, "a/b")
    other, _ = draw_reading_errors(table, "a/c")

    # 600 draws know a spread to 3 %.
    assert np.std(patches, axis=0) == pytest.approx(table.u_density, rel=0.12)
    assert np.std(bases, axis=0) == pytest.approx(table.u_base, rel=0.12)
    assert (patches == again).all()
    assert not (patches == other).any()
