"""How far a test scatters when it is done again, and what tells it (measures.md, "Verdicts")."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from basefog.judge.factors import student_factor
from basefog.judge.scatter import (
    assume_scatter,
    derive_scatter,
    pool_repeats,
    rises_of_low,
    scatter_of,
    scatter_of_strips,
)
from basefog.measure.intervals import missing
from basefog.records.content import Batch, Stock
from basefog.records.findings import Curve, Quantity, Scatter
from judge.figures import figure
from measure.bench_content import PLACE, make_stock, make_test

REPEATED = {"alder": [0.60, 0.62], "birch": [0.70, 0.73, 0.76], "cedar": [0.50, 0.54]}
MEAN_SQUARE = (0.02**2 / 2 + 2 * 0.03**2 + 0.04**2 / 2) / 4
"""Of `REPEATED`, about the means of the stocks, over 1 + 2 + 1 degrees of freedom."""


def pool(
    values: Mapping[str, Sequence[Quantity]], names: Sequence[str] = ("gamma", "contrast_index")
) -> dict[str, Scatter]:
    """Return the scatter of stocks tested once and then repeated; each quantity is that of the first name."""
    stocks: list[Stock] = []
    figures: dict[str, dict[str, Quantity]] = {}
    for slug, quantities in values.items():
        tests = [make_test(f"{slug}/2026-03-{day + 1:02}", repeat=day > 0) for day in range(len(quantities))]
        stocks.append(make_stock(slug, tests))
        figures |= {test.key: {names[0]: quantity} for test, quantity in zip(tests, quantities, strict=True)}
    return pool_repeats(stocks, figures, names)


def read(values: Sequence[float | None], reading: float = 0.0, **parts: object) -> list[Quantity]:
    return [
        missing("not read") if value is None else figure(value, reading=reading, **parts)  # type: ignore[arg-type]
        for value in values
    ]


def test_scatter_is_pooled_over_stocks() -> None:
    """Squares about each stock's own mean, over n - 1 of each: 1 + 2 + 1 degrees of freedom."""
    found = pool({slug: read(values) for slug, values in REPEATED.items()})

    assert list(found) == ["gamma"]
    assert found["gamma"].sigma == pytest.approx(math.sqrt(MEAN_SQUARE))
    assert replace(found["gamma"], sigma=0.0) == Scatter(
        measure="gamma", sigma=0.0, degrees_of_freedom=4, source="repeats", stocks=3
    )


def test_variance_of_reading_is_taken_off() -> None:
    """The verdict counts reading error itself, so that the scatter is what repeats show beyond it."""
    found = pool({slug: read(values, reading=0.01) for slug, values in REPEATED.items()})

    assert found["gamma"].sigma == pytest.approx(math.sqrt(MEAN_SQUARE - 0.01**2))


def test_what_repeats_share_is_not_taken_off() -> None:
    """Wedge and lamp are the same in all repeats of a stock and move none against the other."""
    with_wedge = pool({slug: read(values, by_step={"5": 3.0}, lamp=(0.8, 0.1)) for slug, values in REPEATED.items()})

    assert with_wedge["gamma"].sigma == pytest.approx(math.sqrt(MEAN_SQUARE))


def test_scatter_is_never_below_zero() -> None:
    """Repeats that agree better than reading error lets them tell no scatter, and keep their degrees of freedom."""
    found = pool({slug: read(values, reading=0.1) for slug, values in REPEATED.items()})

    assert (found["gamma"].sigma, found["gamma"].degrees_of_freedom) == (0.0, 4)


def test_three_stocks_need_repeats_of_the_measure() -> None:
    """Two stocks are not enough, nor a third whose repeat has no value."""
    two = {slug: read(REPEATED[slug]) for slug in ("alder", "birch")}

    assert pool(two) == {}
    assert pool({**two, "cedar": read([0.50, None])}) == {}
    assert pool({**two, "cedar": read([0.50])}) == {}
    assert pool({**two, "cedar": read([0.50, None, 0.52])})["gamma"].degrees_of_freedom == 4


def test_difference_of_stocks_is_no_scatter() -> None:
    """Stocks may differ as they like: only what a stock does against itself counts."""
    near = pool({slug: read([0.60, 0.62]) for slug in REPEATED})
    far = pool({slug: read([place, place + 0.02]) for slug, place in zip(REPEATED, (0.1, 0.6, 2.0), strict=True)})

    assert far["gamma"].sigma == pytest.approx(near["gamma"].sigma)


def test_grain_scatters_in_shares_of_itself() -> None:
    """A tenth more at 5 and at 50 is one scatter, told as a share of the group's mean; reading error likewise."""
    apart = [{slug: [value, 1.1 * value] for slug, value in zip(REPEATED, (5.0, 20.0, 50.0), strict=True)}][0]
    share = 0.1 / 1.05 / math.sqrt(2)

    plain = pool({slug: read(values) for slug, values in apart.items()}, ["rms_granularity"])["rms_granularity"]
    less = pool(
        {slug: [figure(value, reading=0.02 * sum(values) / 2) for value in values] for slug, values in apart.items()},
        ["rms_granularity"],
    )["rms_granularity"]

    assert plain.relative
    assert plain.sigma == pytest.approx(share)
    assert less.sigma == pytest.approx(math.sqrt(share**2 - 0.02**2))


def test_speeds_scatter_in_logarithms() -> None:
    """ISO speeds a factor apart scatter alike wherever they are, by the unrounded figures."""
    speeds = {
        slug: [replace(figure(100.0, reading=0.0), exact=exact) for exact in (speed, speed * 1.2)]
        for slug, speed in zip(REPEATED, (25.0, 100.0, 400.0), strict=True)
    }
    # The parts are in log10 of the speed, of which a share of the speed is 1 / ln 10.
    share = math.log(1.2) / math.sqrt(2)

    assert pool(speeds, ["iso_speed"])["iso_speed"].sigma == pytest.approx(share)


def test_speed_and_printing_scatter_as_what_they_are_made_of() -> None:
    """Stops from the reference scatter as the speed point over 0.3010, print exposures as ln 10 times base plus fog."""
    pooled = {
        name: Scatter(measure=name, sigma=0.02, degrees_of_freedom=5, source="repeats", stocks=3)
        for name in ("speed_point", "base_plus_fog", "speed_from_reference", "print_exposure")
    }

    found = derive_scatter(pooled)

    assert found["speed_from_reference"].sigma == pytest.approx(0.02 / math.log10(2))
    assert found["print_exposure"].sigma == pytest.approx(0.02 * math.log(10))
    assert found["print_exposure"].relative
    assert not found["speed_from_reference"].relative
    assert found["speed_from_reference"].degrees_of_freedom == 5
    assert set(derive_scatter({"gamma": pooled["speed_point"], "print_exposure": pooled["print_exposure"]})) == {
        "gamma"
    }


LOWS = (0.40, 0.42, 0.44, 0.38, 0.41, 0.43, 0.39)
HIGHS = (1.60, 1.58, 1.64, 1.55, 1.61, 1.63, 1.57)
BASES = (0.24, 0.25, 0.24, 0.23, 0.24, 0.26, 0.24)


def batches_of(count: int = 7) -> list[Batch]:
    return [
        Batch(
            id=f"tank-{number}",
            date=date(2026, 3, number + 1),
            developer=None,
            temperature_c=None,
            control_strip={"base": BASES[number], "low": LOWS[number], "high": HIGHS[number]},
            notes=None,
            place=PLACE,
        )
        for number in range(count)
    ]


def spread(values: Sequence[float]) -> float:
    return float(np.std(values, ddof=1))


NAMES = ("base_plus_fog", "gamma", "average_gradient", "contrast_index", "speed_point", "shadow_match", "useful_range")


def test_strips_tell_the_scatter_of_gradients() -> None:
    """The deviation of (high - low) over its mean, as a share, less twice the variance of reading; nu = batches - 1."""
    rises = [high - low for high, low in zip(HIGHS, LOWS, strict=True)]
    expected = math.sqrt(spread(rises) ** 2 - 2 * 0.003**2) / float(np.mean(rises))

    found = scatter_of_strips(batches_of(), 0.003, NAMES)

    for name in ("gamma", "average_gradient", "contrast_index"):
        assert found[name].sigma == pytest.approx(expected)
        assert (found[name].relative, found[name].source, found[name].degrees_of_freedom) == (True, "batches", 6)


def test_strips_tell_the_scatter_of_speeds_as_a_density() -> None:
    """The deviation of (low - base), less twice the variance of reading, which each film's gradient makes exposure."""
    rises = [low - base for low, base in zip(LOWS, BASES, strict=True)]

    found = scatter_of_strips(batches_of(), 0.003, NAMES)["speed_point"]

    assert rises_of_low(batches_of()) == pytest.approx(rises)
    assert found.sigma == pytest.approx(math.sqrt(spread(rises) ** 2 - 2 * 0.003**2))
    assert found.by_gradient
    assert not found.relative


def test_strips_tell_the_scatter_of_base_plus_fog() -> None:
    """The deviation of base, less the variance of one reading."""
    found = scatter_of_strips(batches_of(), 0.003, NAMES)["base_plus_fog"]

    assert found.sigma == pytest.approx(math.sqrt(spread(BASES) ** 2 - 0.003**2))


def test_strips_tell_nothing_else() -> None:
    """No strip tells how shutters repeat, and so nothing of the shadow match; nor of a range."""
    assert set(scatter_of_strips(batches_of(), 0.003, NAMES)) == set(NAMES) - {"shadow_match", "useful_range"}


def test_six_strips_are_too_few() -> None:
    """From seven batches on, that have the readings which a measure takes."""
    without_base = [replace(batch, control_strip={"low": 0.4, "high": 1.6}) for batch in batches_of()[6:]]

    assert scatter_of_strips(batches_of(6), 0.003, NAMES) == {}
    assert "speed_point" not in scatter_of_strips([*batches_of(6), *without_base], 0.003, NAMES)
    assert "gamma" in scatter_of_strips([*batches_of(6), *without_base], 0.003, NAMES)


def test_strips_as_alike_as_readings_tell_no_scatter() -> None:
    """Never below zero."""
    assert scatter_of_strips(batches_of(), 0.1, ["gamma"])["gamma"].sigma == 0.0


def test_grain_and_sharpness_are_assumed_to_scatter_by_3_percent() -> None:
    """What no strip tells: three per cent of the test's own value (project), which has no degrees of freedom."""
    found = assume_scatter(["gamma", "rms_granularity", "grain_correlation", "print_graininess", "mtf50"])

    assert set(found) == {"rms_granularity", "grain_correlation", "print_graininess", "mtf50"}
    for scatter in found.values():
        assert (scatter.sigma, scatter.degrees_of_freedom, scatter.source) == (0.03, None, "assumed")
    assert tell(found["mtf50"], figure(40.0)) == pytest.approx(1.2)


GRID = np.linspace(-3.0, 0.0, 301)


def curve(gradient: float) -> Curve:
    """Return a curve of one gradient that leaves base plus fog 0.25 at -2.5."""
    density = 0.25 + gradient * np.maximum(GRID + 2.5, 0.0)
    slope = np.where(GRID < -2.5, 0.0, gradient)
    return Curve(
        log_exposure=GRID,
        density=density,
        low=density,
        high=density,
        gradient=slope,
        gradient_low=slope,
        gradient_high=slope,
        absolute=True,
        axis="contact-21",
    )


def tell(
    scatter: Scatter | None,
    quantity: Quantity,
    *,
    of: Curve | None = None,
    base: float | None = 0.25,
    low_rise: float | None = 0.17,
) -> float | None:
    return scatter_of(scatter, quantity, curve=of, base=base, low_rise=low_rise)


BY_GRADIENT = Scatter(measure="speed_point", sigma=0.012, degrees_of_freedom=6, source="batches", by_gradient=True)


@pytest.mark.parametrize("gradient", [0.4, 0.8])
def test_a_density_becomes_exposure_through_the_gradient(gradient: float) -> None:
    """A softer film's speed moves further for the same density; in stops by 0.3010."""
    stops = replace(BY_GRADIENT, measure="speed_from_reference")

    assert tell(BY_GRADIENT, figure(-2.0), of=curve(gradient)) == pytest.approx(0.012 / gradient)
    assert tell(stops, figure(-2.0), of=curve(gradient)) == pytest.approx(0.012 / gradient / math.log10(2))


def test_no_gradient_no_scatter() -> None:
    """Without curve, base, strips' rise, or where the curve doesn't reach it, nothing tells a speed's scatter."""
    point = figure(-2.0)

    assert tell(BY_GRADIENT, point) is None
    assert tell(BY_GRADIENT, point, of=curve(0.6), base=None) is None
    assert tell(BY_GRADIENT, point, of=curve(0.6), low_rise=None) is None
    assert tell(BY_GRADIENT, point, of=curve(0.6), low_rise=3.0) is None


def test_a_share_is_of_the_tests_own_value() -> None:
    """Three per cent of 12 and of 40; of a speed, whatever it is, three per cent over ln 10."""
    share = Scatter(measure="mtf50", sigma=0.03, degrees_of_freedom=4, source="repeats", relative=True)

    assert [tell(share, figure(value)) for value in (12.0, 40.0)] == pytest.approx([0.36, 1.2])
    assert tell(replace(share, measure="iso_speed"), figure(400.0)) == pytest.approx(0.03 / math.log(10))


def test_nothing_is_told_of_nothing() -> None:
    """Without a scatter or without a value."""
    plain = Scatter(measure="gamma", sigma=0.02, degrees_of_freedom=4, source="repeats")

    assert tell(None, figure(0.6)) is None
    assert tell(plain, missing("flat")) is None
    assert tell(plain, figure(0.6)) == 0.02


def test_pooled_scatter_with_students_factor_covers() -> None:
    """Two new tests of one film differ by less than t sqrt(2 s^2) in 95 % of series, whatever s happened to be."""
    generator = np.random.default_rng(20260314)

    def holds(_: int) -> bool:
        values = 0.6 + 0.02 * generator.standard_normal((3, 2))
        scatter = pool({slug: read(list(map(float, row))) for slug, row in zip(REPEATED, values, strict=True)})["gamma"]
        apart = 0.02 * float(np.diff(generator.standard_normal(2))[0])
        return abs(apart) <= student_factor(scatter.degrees_of_freedom) * scatter.sigma * math.sqrt(2)

    covered = float(np.mean([holds(number) for number in range(2000)]))

    assert 0.93 <= covered <= 0.97
