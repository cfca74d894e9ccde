import pytest

from measure.bracket_study.__main__ import list_cells, tabulate
from measure.bracket_study.brackets import Cell
from measure.bracket_study.outcomes import simulate

SERIES = 8
"""Series of four stocks of the small study; `python -m measure.bracket_study` has 120."""


@pytest.mark.parametrize("wedge", [True, False])
def test_all_frames_together_hold_what_they_say(wedge: bool) -> None:
    """Differences of patches and the shadow match hold the truth about 19 times in 20, and the frame is the right one.

    160 patches of 8 series share 8 references and 40 curves, and count as some 50: a coverage of 0.95 is then known
    to 0.03, and 0.86 is three of that off. The shadow match has 32 and is known to 0.04 at best.
    """
    found = simulate(Cell(shutter_stops=0.05, readings=2, wedge=wedge), SERIES)

    assert found.coverage >= 0.86
    assert found.false_verdicts <= 0.14
    assert found.shadow_coverage >= 0.83
    assert found.off_frames <= 1
    assert found.null_share == 0.0
    # A root mean square of some 50 errors is known to a tenth; the full study gives 0.03 with a wedge, 0.038 without,
    # where readings that err together are weighed by their covariance, and 0.053 where each is by its own error.
    assert found.difference_rms <= (0.04 if wedge else 0.043)
    assert found.shadow_rms <= 0.10


def test_the_poorest_bracket_tells_what_it_can() -> None:
    """Without wedge, of shutters that scatter by 0.10 stop and single readings, a difference errs by 0.06 stop.

    The information in such readings ends at 0.057 (least squares on the true curves of such films); by weights that
    know nothing of common errors it was 0.084 in the full study, 0.079 here.
    """
    found = simulate(Cell(shutter_stops=0.10, readings=1, wedge=False), SERIES)

    assert found.difference_rms <= 0.066
    assert found.coverage >= 0.86
    assert found.false_verdicts <= 0.14
    assert found.left_out_share <= 0.005


def test_study_has_every_cell_and_a_table() -> None:
    """Two shutters, one and two readings, with and without wedge; the table has a column for each."""
    cells = list_cells()

    assert len(cells) == len(set(cells)) == 8
    assert tabulate([simulate(cells[0], 1)] * 2).count("\n") > 10
