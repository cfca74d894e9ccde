"""What two figures share cancels, as far as they share it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.judge.sides import Side, Variance, add_variances, reference_side, side_of
from basefog.records.findings import ErrorParts, Quantity
from basefog.records.vocabulary import ScatterSource
from judge.figures import figure


def variance(this: Quantity, other: Quantity, source: ScatterSource | None = None) -> Variance:
    """Return the variance of the difference of two figures by their own sides."""
    side, other_side = side_of(this), side_of(other)
    assert side is not None
    assert other_side is not None
    return add_variances(side, other_side, source)


def test_readings_add_up() -> None:
    """Reading errors of two tests are independent: their variances add."""
    found = variance(figure(1.0, reading=0.03), figure(1.0, reading=0.04))

    assert found.whole == pytest.approx(0.05**2)
    assert (found.own, found.other, found.shared) == pytest.approx((0.03**2, 0.04**2, 0.0))


def test_films_at_one_place_share_the_whole_wedge() -> None:
    """Two films that hang alike on the same steps of one wedge owe their difference nothing to it."""
    steps = {"5": 0.7, "6": -0.2}

    assert variance(figure(1.0, by_step=steps), figure(0.9, by_step=steps)).shared == 0.0


def test_films_at_other_places_share_nothing() -> None:
    """Two films that hang on different steps of one wedge bear the calibration errors of both."""
    expected = (0.7**2 + 0.5**2) * 0.01**2

    found = variance(figure(1.0, by_step={"5": 0.7}), figure(0.9, by_step={"11": 0.5}))

    assert found.shared == pytest.approx(expected)


def test_steps_are_summed_one_by_one() -> None:
    """Of a step that both hang on the product of their sensitivities cancels, twice; the others stand."""
    one, two = {"4": 0.3, "5": 0.6}, {"5": 0.4, "6": 0.8}
    expected = (0.3**2 + 0.6**2 + 0.4**2 + 0.8**2 - 2 * 0.6 * 0.4) * 0.02**2

    found = variance(figure(1.0, by_step=one, u_density=0.02), figure(1.0, by_step=two, u_density=0.02))

    assert found.shared == pytest.approx(expected)


def test_opposite_sensitivities_add_up() -> None:
    """A step that raises one figure and lowers the other makes their difference worse, not better."""
    found = variance(figure(1.0, by_step={"5": 0.5}), figure(1.0, by_step={"5": -0.5}))

    assert found.shared == pytest.approx(4 * (0.5 * 0.01) ** 2)


def test_nothing_shared_exceeds_either_part() -> None:
    """A figure that hardly hangs on the wedge cancels no more of the other than it has itself."""
    found = variance(figure(1.0, by_step={"5": 1.0}), figure(1.0, by_step={"5": 0.1}))

    assert found.shared == pytest.approx((1.0 + 0.01 - 2 * 0.01) * 0.01**2)


def test_other_wedges_share_nothing() -> None:
    """The same steps of two wedges were calibrated apart."""
    found = variance(figure(1.0, by_step={"5": 0.5}), figure(1.0, by_step={"5": 0.5}, wedge="contact-31"))

    assert found.shared == pytest.approx(2 * (0.5 * 0.01) ** 2)


@pytest.mark.parametrize(("other", "left"), [((0.8, 0.05), 0.0), ((0.8, 0.04), 1.64), ((0.4, 0.05), 5.0)])
def test_one_lamp_cancels_whole(other: tuple[float, float], left: float) -> None:
    """Tests under one lamp (equal lux_s and u_lux_s) share all of its error; under others none."""
    unit = (0.05 / (0.8 * math.log(10))) ** 2

    found = variance(figure(-2.0, lamp=(0.8, 0.05)), figure(-2.1, lamp=other))

    assert found.shared == pytest.approx(left * unit, abs=1e-15)


def test_scatter_falls_with_the_tests_of_each_figure() -> None:
    """Scatter counts s^2 (1/n1 + 1/n2)."""
    this, other = figure(1.0, scatter=0.02, tests=2), figure(1.0, scatter=0.02, tests=4)

    found = variance(this, other, "repeats")

    assert found.whole == pytest.approx(2 * 0.01**2 + 0.02**2 * (1 / 2 + 1 / 4))


def test_scatter_between_batches_is_none_within_one() -> None:
    """Two tests developed in one tank differ by nothing that the strips tell of other tanks; repeats' scatter stays."""
    this, other = (figure(1.0, scatter=0.02, batches=("tank-2",)) for _ in range(2))
    apart = figure(1.0, scatter=0.02, batches=("tank-3",))

    assert variance(this, other, "batches").whole == pytest.approx(2 * 0.01**2)
    assert variance(this, apart, "batches").whole == pytest.approx(2 * 0.01**2 + 2 * 0.02**2)
    assert variance(this, other, "repeats").whole == pytest.approx(2 * 0.01**2 + 2 * 0.02**2)


def test_unknown_batches_are_not_one_batch() -> None:
    """Two tests of which nobody knows the batch were not therefore developed together."""
    this, other = (figure(1.0, scatter=0.02) for _ in range(2))

    assert variance(this, other, "batches").whole == pytest.approx(2 * 0.01**2 + 2 * 0.02**2)


def test_a_batch_of_a_mean_cancels_by_its_share() -> None:
    """A mean over two batches shares half of its scatter with a test developed in one of them."""
    mean, single = figure(1.0, scatter=0.02, tests=2, batches=("a", "b")), figure(1.0, scatter=0.02, batches=("a",))
    # The deviation of a counts a half in the one, whole in the other: a half is left; that of b counts a half.
    expected = 2 * 0.01**2 + 0.02**2 * (0.5**2 + 0.5**2)

    assert variance(mean, single, "batches").whole == pytest.approx(expected)


def test_reference_side_has_the_references_tests() -> None:
    """What a measure counts from the reference bears the reference's own repeats and scatter."""
    parts = ErrorParts(unshared=0.0004)
    quantity = figure(0.5, scatter=0.03, of_reference=parts)
    reference = figure(0.0, scatter=0.01, tests=3)

    plain, relative = (reference_side(quantity, reference, relative=relative) for relative in (False, True))

    assert plain is not None
    assert relative is not None
    assert plain.unshared == pytest.approx(0.0004 + 0.01**2 / 3)
    assert relative.unshared == pytest.approx(0.0004 + 0.03**2 / 3)
    assert reference_side(figure(0.5), reference, relative=False) is None


SIDES = st.builds(
    lambda reading, slopes, scatter, tests: side_of(
        figure(1.0, reading=reading, by_step=dict(zip("abc", slopes, strict=True)), scatter=scatter, tests=tests)
    ),
    st.floats(0.0, 1.0),
    st.lists(st.floats(-5, 5), min_size=3, max_size=3),
    st.floats(0.0, 0.5),
    st.integers(1, 5),
)


@given(SIDES, SIDES)
def test_a_difference_has_one_variance_both_ways(this: Side, other: Side) -> None:
    """This less other has the variance of other less this, never below zero nor above both parts added twice."""
    there, back = add_variances(this, other, "repeats"), add_variances(other, this, "repeats")

    assert there.whole == pytest.approx(back.whole)
    assert 0 <= there.shared <= 2 * (this.parts.shared + other.parts.shared) + 1e-12
