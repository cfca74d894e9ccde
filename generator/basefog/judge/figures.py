"""Every figure of a series before it is judged: what needs the reference formed, scatter told, repeats pooled."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from basefog.judge.comparative import (
    as_set,
    measure_print_exposure,
    measure_speed_from_reference,
    zero_by_definition,
)
from basefog.judge.groups import current_group
from basefog.judge.pooling import pool_group
from basefog.judge.scatter import (
    Figures,
    assume_scatter,
    derive_scatter,
    pool_repeats,
    rises_of_low,
    scatter_of,
    scatter_of_strips,
)
from basefog.judge.sides import add_variances, reference_side, side_of
from basefog.judge.traits import RELATIVE_SCATTER, TO_REFERENCE
from basefog.judge.verdicts import rule_of
from basefog.measure import find_reference_exposure_s
from basefog.records.content import Series, Test
from basefog.records.findings import MeasuredTest, Quantity, ScannedTest, Scatter
from basefog.records.vocabulary import MEASURES


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SeriesFigures:
    """The figures of one kind, measures or patches: each test's by `stock/test`, and the stocks' means by slug.

    `pooled` holds only what several tests of a stock gave. `uncounted` holds the reference's current test as any other,
    before what is counted from it was made zero by definition: movement is new less old of the reference too.
    """

    tests: Figures
    pooled: Figures
    scatter: Mapping[str, Scatter]
    uncounted: Figures

    def own(self, key: str) -> Mapping[str, Quantity]:
        """Return a test's figures as its readings gave them, of the reference's current test too."""
        return self.uncounted.get(key, self.tests[key])

    def of_stock(self, slug: str, current: str | None, name: str) -> Quantity | None:
        """Return a stock's figure: the mean of its repeats, else its current test's own; None without either."""
        if current is None:
            return None
        return self.pooled.get(slug, {}).get(name) or self.tests[current].get(name)


def gather_measures(
    series: Series, measured: Mapping[str, MeasuredTest], scanned: Mapping[str, ScannedTest]
) -> SeriesFigures:
    """Return every measure of every test in contract order, with its scatter, and the stocks' figures."""
    own = {key: {**test.measures, **scanned[key].measures} for key, test in measured.items()}
    formed = _form_comparative(series, measured, own)
    ordered = {key: {measure.id: found[measure.id] for measure in MEASURES} for key, found in formed.items()}
    names = [measure.id for measure in MEASURES]
    scatter = {
        **assume_scatter(names),
        **scatter_of_strips(series.batches, series.densitometer.repeatability, names),
        **derive_scatter(pool_repeats(series.stocks, ordered, names)),
    }
    scatter = {name: scatter[name] for name in names if name in scatter}
    told = _tell_scatter(series, measured, ordered, scatter)
    return _finish(series, told, scatter)


def gather_patches(series: Series, measured: Mapping[str, MeasuredTest]) -> SeriesFigures:
    """Return every patch's stops from grey of every test, with its scatter, and the stocks' figures."""
    patches = {key: dict(test.patches) for key, test in measured.items()}
    scatter = pool_repeats(series.stocks, patches, [patch.id for patch in series.patches])
    return _finish(series, _tell_scatter(series, measured, patches, scatter), scatter)


def _form_comparative(
    series: Series, measured: Mapping[str, MeasuredTest], own: Figures
) -> dict[str, dict[str, Quantity]]:
    """Return the measures of every test with those that are formed from its figure and the reference's."""
    group = current_group(series.reference_stock)
    reference = series.reference_stock.current_test
    at_reference: dict[str, Quantity] = {}
    exposure_s = None
    if reference is not None:
        at_reference = {
            **own[reference.key],
            **pool_group([own[test.key] for test in _current_first(group, reference)]),
        }
        exposure_s = find_reference_exposure_s(reference, series.enlarging)
    formed: dict[str, dict[str, Quantity]] = {}
    for key, found in own.items():
        test = measured[key]
        formed[key] = {
            **found,
            "speed_from_reference": measure_speed_from_reference(
                test,
                None if reference is None else measured[reference.key],
                found["speed_point"],
                at_reference.get("speed_point"),
            ),
            "print_exposure": measure_print_exposure(
                found["base_plus_fog"],
                at_reference.get("base_plus_fog"),
                exposure_s,
            ),
        }
    return formed


def _tell_scatter(
    series: Series, measured: Mapping[str, MeasuredTest], figures: Figures, scatter: Mapping[str, Scatter]
) -> dict[str, dict[str, Quantity]]:
    """Return every figure with its test's batch and with the scatter of one such test."""
    rises = rises_of_low(series.batches)
    low_rise = math.fsum(rises) / len(rises) if rises else None
    batches = {test.key: test.developed.batch for stock in series.stocks for test in stock.tests}
    return {
        key: {
            name: replace(
                quantity,
                batches=(batches[key],),
                scatter=scatter_of(
                    scatter.get(name),
                    quantity,
                    curve=measured[key].curve,
                    base=measured[key].measures["base_plus_fog"].value,
                    low_rise=low_rise,
                ),
            )
            for name, quantity in found.items()
        }
        for key, found in figures.items()
    }


def _finish(series: Series, told: dict[str, dict[str, Quantity]], scatter: Mapping[str, Scatter]) -> SeriesFigures:
    """Return the figures with the reference's own at zero, the stocks' means, and every interval."""
    pooled = {
        stock.slug: pool_group([told[test.key] for test in _current_first(group, current)])
        for stock in series.stocks
        if len(group := current_group(stock)) > 1 and (current := stock.current_test) is not None
    }
    reference = series.reference_stock.current_test
    uncounted = {} if reference is None else {reference.key: told[reference.key]}
    if reference is not None:
        exposure_s = find_reference_exposure_s(reference, series.enlarging)
        told[reference.key] = _count_from_itself(told[reference.key], exposure_s)
        if reference.stock in pooled:
            pooled[reference.stock] = _count_from_itself(pooled[reference.stock], exposure_s)
    at_reference = {} if reference is None else {**told[reference.key], **pooled.get(reference.stock, {})}
    return SeriesFigures(
        tests={
            key: {
                name: with_reference_error(name, quantity, at_reference.get(name), scatter.get(name))
                for name, quantity in found.items()
            }
            for key, found in told.items()
        },
        pooled={
            slug: {
                name: _with_interval(name, quantity, at_reference.get(name), scatter.get(name))
                for name, quantity in found.items()
            }
            for slug, found in pooled.items()
        },
        scatter=scatter,
        uncounted=uncounted,
    )


def _current_first(group: tuple[Test, ...], current: Test) -> list[Test]:
    return [current, *(test for test in group if test.id != current.id)]


def _count_from_itself(figures: Mapping[str, Quantity], exposure_s: float | None) -> dict[str, Quantity]:
    """Return the reference's figures with zero for what is counted from it, and its print exposure as it was set."""
    counted: dict[str, Quantity] = {}
    for name, quantity in figures.items():
        own = None
        if name in {"speed_from_reference", "shadow_match"} and quantity.value is not None:
            own = zero_by_definition(quantity.unit)
        elif name == "print_exposure" and exposure_s is not None:
            own = as_set(exposure_s)
        counted[name] = (
            quantity
            if own is None
            else replace(own, tests=quantity.tests, batches=quantity.batches, scatter=quantity.scatter)
        )
    return counted


def with_reference_error(
    name: str, quantity: Quantity, reference: Quantity | None, scatter: Scatter | None
) -> Quantity:
    """Return a measure that is itself a difference to the reference with the interval of that difference.

    Any other keeps the interval of its readings.
    """
    if name not in TO_REFERENCE or quantity.of_reference is None:
        return quantity
    return _with_interval(name, quantity, reference, scatter)


def _with_interval(name: str, quantity: Quantity, reference: Quantity | None, scatter: Scatter | None) -> Quantity:
    """Return a figure with value +- c sqrt(V): readings, scatter and what is shared; the reference's error if in it."""
    side = side_of(quantity)
    if quantity.value is None or side is None:
        return quantity
    variance = side.unshared + side.parts.shared
    if name in TO_REFERENCE and reference is not None:
        other = reference_side(quantity, reference, relative=name in RELATIVE_SCATTER)
        if other is not None:
            variance = add_variances(side, other, None if scatter is None else scatter.source).whole
    half = rule_of(name, scatter, firm=None).student * math.sqrt(variance)
    if quantity.exact is not None:
        # Speeds are compared by their logarithms, on which the interval is even.
        return replace(quantity, low=quantity.exact * 10**-half, high=quantity.exact * 10**half)
    return replace(quantity, low=quantity.value - half, high=quantity.value + half)
