import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.special import ndtr

from basefog.judge.factors import (
    NEARLY,
    bonferroni_factor,
    dunnett_factor,
    dunnett_factors,
    range_factor,
    student_factor,
)
from basefog.records.content import FloatArray

shares = st.lists(st.floats(0, 1), min_size=2, max_size=8)
degrees_of_scatter = st.one_of(st.none(), st.floats(1, 2000))
NOT_BY_ACCURACY = 1e-4  # what the factors' own error may turn a law about by, as a part of the factor


def draw_largest(
    lambda_squared: FloatArray, degrees: float, series: int, rng: np.random.Generator, *, noise_known: float = 0.0
) -> FloatArray:
    """Return max |T_i| of so many series in which all stocks are equal.

    `noise_known` is the part of the variance that is known; the rest is estimated at these degrees of freedom.
    """
    common = rng.standard_normal((series, 1))
    own = rng.standard_normal((series, len(lambda_squared)))
    z = np.sqrt(lambda_squared) * common + np.sqrt(1 - lambda_squared) * own
    chi_squared = rng.chisquare(degrees, (series, 1)) / degrees if math.isfinite(degrees) else np.ones((series, 1))
    return np.asarray(np.max(np.abs(z) / np.sqrt(noise_known + (1 - noise_known) * chi_squared), axis=1))


@pytest.mark.parametrize(
    ("count", "factor"), [(1, 1.960), (2, 2.212), (5, 2.511), (12, 2.767), (20, 2.905), (48, 3.126), (60, 3.179)]
)
def test_stocks_of_equal_precision(count: int, factor: float) -> None:
    """Equal precision and infinite degrees of freedom give what an 80-point Gauss-Hermite rule gave, to its digits."""
    assert dunnett_factor([0.5] * count, None) == pytest.approx(factor, abs=0.0006)


@pytest.mark.parametrize(("degrees", "factor"), [(4, 4.55), (6, 3.81), (8, 3.50), (12, 3.22)])
def test_eleven_stocks_with_few_degrees_of_freedom(degrees: float, factor: float) -> None:
    """Eleven stocks of equal precision have the factors that were computed apart from this project's code."""
    assert dunnett_factor([0.5] * 11, degrees) == pytest.approx(factor, abs=0.006)


@pytest.mark.parametrize(("degrees", "factor"), [(1, 12.706), (5, 2.571), (10, 2.228), (30, 2.042), (None, 1.960)])
def test_students_table(degrees: float | None, factor: float) -> None:
    """Student's factors are those of any printed table (common knowledge, no single source)."""
    assert student_factor(degrees) == pytest.approx(factor, abs=0.0005)


@pytest.mark.parametrize("degrees", [1, 5, 12, math.inf])
def test_unequal_stocks_by_drawing(degrees: float) -> None:
    """Of a million series of seven stocks of very unequal precision 95 % stay below d, within four standard errors."""
    lambda_squared = np.array([0.03, 0.2, 0.45, 0.5, 0.7, 0.93, 0.999])
    largest = draw_largest(lambda_squared, degrees, 1_000_000, np.random.default_rng(1955))

    factor = dunnett_factor(list(lambda_squared), None if math.isinf(degrees) else degrees)

    assert np.mean(largest <= factor) == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / 1_000_000))


@pytest.mark.parametrize("degrees", [5, 12, None])
def test_many_different_stocks_by_drawing(degrees: float | None) -> None:
    """400 stocks, none like another, stay below d in 95 % of 20,000 series, within four standard errors."""
    rng = np.random.default_rng(400)
    lambda_squared = np.sort(rng.beta(2, 2, 400))
    largest = draw_largest(lambda_squared, degrees or math.inf, 20_000, rng)

    assert np.mean(largest <= dunnett_factor(list(lambda_squared), degrees)) == pytest.approx(0.95, abs=0.0062)


@pytest.mark.parametrize("degrees", [5, 12])
def test_multivariate_t_agrees(degrees: int) -> None:
    """The multivariate t of scipy gives 95 % inside +-d for six unequal stocks (its lattice rule errs by some 1e-4)."""
    lambda_squared = np.array([0.08, 0.25, 0.4, 0.55, 0.7, 0.85])
    shape = np.sqrt(np.outer(lambda_squared, lambda_squared))
    np.fill_diagonal(shape, 1)
    limits = np.full(6, dunnett_factor(list(lambda_squared), degrees))

    chance = stats.multivariate_t(shape=shape, df=degrees, seed=2).cdf(limits, lower_limit=-limits)

    assert chance == pytest.approx(0.95, abs=5e-4)


def test_scipys_dunnett_agrees() -> None:
    """Groups of 3 to 12 against 5, each d standard errors away, all have p = 0.05 with scipy.stats.dunnett.

    Its p-values are of a randomised lattice rule of 1000 k points; thirty seeds scattered by 1e-4 and less.
    """
    sizes, control_size = [3, 4, 6, 8, 12], 5
    degrees = sum(sizes) + control_size - len(sizes) - 1
    factor = dunnett_factor([size / (size + control_size) for size in sizes], degrees)

    def group(size: int, mean: float) -> FloatArray:
        ramp = np.linspace(-1.0, 1.0, size)
        return np.asarray(mean + ramp * math.sqrt((size - 1) / np.sum(ramp**2)))  # variance 1

    samples = [group(size, factor * math.sqrt(1 / size + 1 / control_size)) for size in sizes]
    found = stats.dunnett(*samples, control=group(control_size, 0.0), random_state=np.random.default_rng(3))

    assert found.statistic == pytest.approx([factor] * 5)
    assert found.pvalue == pytest.approx([0.05] * 5, abs=5e-4)


@pytest.mark.parametrize("count", [2, 3, 12, 61, 1001])
def test_studentised_range_of_scipy(count: int) -> None:
    """scipy.stats.studentized_range has 95 % below the factor times sqrt(2)."""
    for degrees in (1, 5, 12, 1000, None):
        factor = range_factor(count, degrees)

        chance = stats.studentized_range.cdf(factor * math.sqrt(2), count, math.inf if degrees is None else degrees)

        assert chance == pytest.approx(0.95, abs=1e-6)


@pytest.mark.parametrize("noise_known", [0.0, 0.4])
@pytest.mark.parametrize("degrees", [math.inf, 12, 5])
def test_false_firm_verdicts_on_equal_stocks(degrees: float, noise_known: float) -> None:
    """Over 400 series of eleven equal stocks at most 28 have a false firm verdict, with variances 1 to 16 apart.

    28 is 5 % and its sampling. Where part of the variance is known (reading error) the factor at the degrees of the
    whole is a little too wide, and fewer are false; where none is, 20,000 series come to 5 % within 0.6 %.
    """
    lambda_squared = np.array([1 / (1 + ratio) for ratio in np.geomspace(0.25, 4, 11)])
    factor = dunnett_factor(list(lambda_squared), None if math.isinf(degrees) else degrees)
    rng = np.random.default_rng(11)

    largest = draw_largest(lambda_squared, degrees, 20_000, rng, noise_known=noise_known)

    assert np.count_nonzero(largest[:400] > factor) <= 28
    assert np.mean(largest > factor) < 0.056
    if noise_known == 0 or math.isinf(degrees):
        assert np.mean(largest > factor) > 0.044


def test_students_factor_would_be_wrong_in_many_series() -> None:
    """With Student's factor in place of Dunnett's more than a quarter of those series have a false verdict."""
    lambda_squared = np.full(11, 0.5)
    largest = draw_largest(lambda_squared, 12, 400, np.random.default_rng(11))

    assert np.count_nonzero(largest > student_factor(12)) > 100


@given(shares, st.floats(0, 1), degrees_of_scatter)
@settings(max_examples=40)
def test_one_stock_more_asks_for_more(lambda_squared: list[float], another: float, degrees: float | None) -> None:
    """A further stock never lowers d."""
    fewer = dunnett_factor(lambda_squared, degrees)

    assert dunnett_factor([*lambda_squared, another], degrees) >= fewer * (1 - NOT_BY_ACCURACY)


@given(shares, st.floats(1, 200), st.floats(0.5, 100))
@settings(max_examples=40)
def test_more_degrees_ask_for_less(lambda_squared: list[float], degrees: float, more: float) -> None:
    """The factor falls with the degrees of freedom, and infinitely many have the lowest."""
    found = dunnett_factor(lambda_squared, degrees)

    assert found >= dunnett_factor(lambda_squared, degrees + more) * (1 - NOT_BY_ACCURACY)
    assert found > dunnett_factor(lambda_squared, None)


@given(shares, degrees_of_scatter)
@settings(max_examples=40)
def test_between_student_and_sidak(lambda_squared: list[float], degrees: float | None) -> None:
    """The factor lies between Student's and that of independent comparisons (Sidak), which is below Bonferroni's."""
    found = dunnett_factor(lambda_squared, degrees)

    tail = (1 - 0.95 ** (1 / len(lambda_squared))) / 2
    sidak = stats.norm.isf(tail) if degrees is None else stats.t.isf(tail, degrees)

    assert student_factor(degrees) * (1 - NOT_BY_ACCURACY) <= found <= sidak * (1 + NOT_BY_ACCURACY)
    assert sidak < bonferroni_factor(len(lambda_squared), degrees)


@given(st.floats(0, 1), degrees_of_scatter)
def test_one_stock_has_students_factor(lambda_squared: float, degrees: float | None) -> None:
    """With one stock there is nothing to hang together: Student's factor, whatever the reference's part."""
    assert dunnett_factor([lambda_squared], degrees) == student_factor(degrees)
    assert range_factor(2, degrees) == pytest.approx(student_factor(degrees), rel=NOT_BY_ACCURACY)


@given(st.integers(2, 1000))
@settings(max_examples=20)
def test_without_a_common_error(count: int) -> None:
    """A reference without error leaves independent comparisons: (2 Phi(d) - 1)^k = 0.95."""
    assert dunnett_factor([0.0] * count, None) == pytest.approx(stats.norm.ppf((1 + 0.95 ** (1 / count)) / 2), rel=1e-6)


@given(st.integers(2, 1000), st.sampled_from([1.0, 7.0, None]))
@settings(max_examples=20)
def test_nothing_but_a_common_error(count: int, degrees: float | None) -> None:
    """Where all of the error is the reference's there is one comparison only: Student's factor."""
    assert dunnett_factor([1.0] * count, degrees) == pytest.approx(student_factor(degrees), rel=1e-3)


@given(st.integers(2, 60), st.floats(0, 1), st.floats(0, 1), degrees_of_scatter)
@settings(max_examples=40)
def test_what_hangs_together_asks_for_less(count: int, one: float, other: float, degrees: float | None) -> None:
    """The larger the reference's part, the smaller d."""
    low, high = sorted((one, other))

    found = dunnett_factor([low] * count, degrees)

    assert found >= dunnett_factor([high] * count, degrees) * (1 - NOT_BY_ACCURACY)


@given(st.integers(3, 200), degrees_of_scatter)
@settings(max_examples=30)
def test_any_two_ask_for_more_than_one_reference(count: int, degrees: float | None) -> None:
    """The comparisons with one of the figures are some of those of any two: the range's factor is the larger."""
    assert range_factor(count, degrees) > dunnett_factor([0.5] * (count - 1), degrees)


@given(st.lists(st.floats(0, 1), min_size=2, max_size=30))
@settings(max_examples=20)
def test_order_does_not_matter(lambda_squared: list[float]) -> None:
    """The same stocks in another order have the same d to the last digit."""
    assert dunnett_factor(lambda_squared[::-1], 9) == dunnett_factor(lambda_squared, 9)


@pytest.mark.parametrize(("lowest", "highest"), [(0.0, 1.0), (0.3, 0.7), (0.99, 0.9999), (0.0, 0.05)])
def test_many_different_stocks_by_plain_summing(lowest: float, highest: float) -> None:
    """Three hundred stocks, none like another, one by one in steps of 0.002 of the common error, come to 95 %."""
    lambda_squared = np.linspace(lowest, highest, 302)[1:-1]
    factor = dunnett_factor(list(lambda_squared), None)

    x = np.linspace(-8, 8, 8001)
    chance = np.exp(-(x**2) / 2) / math.sqrt(2 * math.pi)
    for part in lambda_squared:
        own = math.sqrt(1 - part)
        inside = ndtr((factor - math.sqrt(part) * x) / own) - ndtr((-factor - math.sqrt(part) * x) / own)
        chance = chance * inside

    assert np.sum(chance) * 0.002 == pytest.approx(0.95, abs=3e-6)  # 1e-5 of the factor is as much


def test_grouping_does_not_show() -> None:
    """Thirteen stocks, ten of them alike, and the same with a hair between those: d moves by less than 1e-6."""
    few = [0.1, 0.35, 0.8] + [0.5] * 10
    many = [0.1, 0.35, 0.8] + [0.5 + 1e-9 * place for place in range(10)]

    assert dunnett_factor(many, 6) == pytest.approx(dunnett_factor(few, 6), rel=1e-6)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=40), st.floats(1, 500))
@settings(max_examples=40)
def test_several_degrees_at_once(lambda_squared: list[float], degrees: float) -> None:
    """The factors at twenty-one degrees of freedom are within 1e-4 of those found one by one."""
    several = degrees + np.arange(21.0)

    found = dunnett_factors(np.array(lambda_squared), several)

    for place in (0, 1, 7, 20):
        assert found[place] == pytest.approx(dunnett_factor(lambda_squared, several[place]), rel=NEARLY)


def test_what_is_out_of_range_is_refused() -> None:
    """No stock, a part outside 0 to 1, fewer than one degree of freedom, no second figure: each is named."""
    with pytest.raises(ValueError, match="lambda_squared must hold"):
        dunnett_factor([], 5)
    for wrong in (-0.01, 1.01, math.nan):
        with pytest.raises(ValueError, match="lambda_squared must lie"):
            dunnett_factor([0.5, wrong], 5)
    for degrees in (0.5, math.nan):
        with pytest.raises(ValueError, match="degrees must be at least 1"):
            dunnett_factor([0.5, 0.5], degrees)
        with pytest.raises(ValueError, match="degrees must be at least 1"):
            student_factor(degrees)
    with pytest.raises(ValueError, match="count must be at least 2"):
        range_factor(1, 5)
    with pytest.raises(ValueError, match="comparisons must be at least 1"):
        bonferroni_factor(0, 5)
