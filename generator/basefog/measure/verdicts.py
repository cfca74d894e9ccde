"""Measures of two tests set against each other: verdicts against the reference, and the movement of a retest."""

from collections.abc import Mapping

from basefog.measure.intervals import compare, not_measured
from basefog.measure.speed import why_axes_differ
from basefog.measure.work import Work
from basefog.records.findings import Comparison, Quantity, Scatter
from basefog.records.vocabulary import MEASURES

WHY_NO_ISO_DIFFERENCE = "a rounded speed is not subtracted; the difference in speed is told in stops"


def compare_measures(
    measures: Mapping[str, Quantity],
    others: Mapping[str, Quantity],
    scatter: Mapping[str, Scatter],
    *,
    axes_differ: str = "",
) -> dict[str, Comparison]:
    """Return this less other for every measure that is not itself a comparison, in contract order.

    `axes_differ` says why the two log exposures can't be compared, which the speed point alone depends on. ISO speed
    is never subtracted: it is rounded to a scale of third stops, and `speed_from_reference` tells the difference.
    """
    return {
        name: _compare_one(name, quantity, others[name], scatter.get(name), axes_differ)
        for measure in MEASURES
        if not measure.comparative and (name := measure.id) in measures
        for quantity in [measures[name]]
    }


def _compare_one(
    name: str, quantity: Quantity, other: Quantity, scatter: Scatter | None, axes_differ: str
) -> Comparison:
    if quantity.value is not None and other.value is not None:
        if name == "iso_speed":
            return not_measured(WHY_NO_ISO_DIFFERENCE, quantity.unit)
        if name == "speed_point" and axes_differ:
            return not_measured(axes_differ, quantity.unit)
    return compare(quantity, other, scatter)


def compare_with_reference(
    work: Work,
    reference: Work | None,
    measures: Mapping[str, Quantity],
    of_reference: Mapping[str, Quantity] | None,
    scatter: Mapping[str, Scatter],
) -> dict[str, Comparison]:
    """Return the verdicts of a test against the reference's current test.

    All are not measured where the reference has no current test. The reference's current test has none against
    itself: the mapping is empty.
    """
    if reference is None or of_reference is None:
        why = "the reference has no current test: all its tests are withdrawn"
        return {name: not_measured(why, quantity.unit) for name, quantity in _compared(measures)}
    if work.test.key == reference.test.key:
        return {}
    return compare_measures(measures, of_reference, scatter, axes_differ=why_tests_differ(work, reference))


def why_tests_differ(work: Work, other: Work) -> str:
    """Return why two tests' log exposures can't be compared; empty where they can, or where one has no curve."""
    if work.curve is None or other.curve is None:
        return ""
    return why_axes_differ(work.curve, other.curve)


def _compared(measures: Mapping[str, Quantity]) -> list[tuple[str, Quantity]]:
    return [(measure.id, measures[measure.id]) for measure in MEASURES if not measure.comparative]
