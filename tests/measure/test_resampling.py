import numpy as np

from basefog.measure.resampling import DRAWS, alternating_signs, draw_values, error_of_draws, seeded_generator


def test_draws_hang_on_the_test_and_the_purpose_alone() -> None:
    """The same key and purpose give the same numbers; another of either gives others."""
    first = seeded_generator("tern-100/2026-03-14", "curve").standard_normal(5)

    assert (first == seeded_generator("tern-100/2026-03-14", "curve").standard_normal(5)).all()
    assert not np.isin(first, seeded_generator("tern-100/2026-03-15", "curve").standard_normal(5)).any()
    assert not np.isin(first, seeded_generator("tern-100/2026-03-14", "base").standard_normal(5)).any()


def test_entry_zero_is_the_estimate_and_the_rest_scatter_as_asked() -> None:
    """The spread of the draws is the standard uncertainty, to what that many draws can tell."""
    drawn = draw_values(np.array([0.5, 2.0]), np.array([0.01, 0.1]), seeded_generator("a/b", "test"))

    assert drawn.shape == (1 + DRAWS, 2)
    assert drawn[0].tolist() == [0.5, 2.0]
    # Four standard errors of a standard deviation, 1 / sqrt(2 DRAWS).
    assert np.allclose(drawn[1:].std(axis=0), [0.01, 0.1], rtol=4 / np.sqrt(2 * DRAWS))


def test_rows_beyond_the_draws_are_no_draws() -> None:
    """Neither the error of the draws nor the turns of a choice know of them."""
    drawn = np.concatenate([[0.5], np.full(DRAWS, 0.6), [9.0, 9.0]])

    assert error_of_draws(drawn) == np.sqrt(np.mean((drawn[1 : 1 + DRAWS] - 0.5) ** 2))
    assert alternating_signs(DRAWS + 3)[[0, DRAWS + 1, DRAWS + 2]].tolist() == [0.0, 0.0, 0.0]
    assert alternating_signs(DRAWS + 3)[1 : 1 + DRAWS].sum() == 0.0
    assert (np.abs(alternating_signs(DRAWS + 3)[1 : 1 + DRAWS]) == 1.0).all()
