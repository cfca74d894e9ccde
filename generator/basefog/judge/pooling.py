"""A stock's figure: the mean over its current test and that test's repeats."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from basefog.judge.traits import IN_LOGARITHMS, NOT_POOLED, place_on_scale
from basefog.measure.speed import round_to_standard_speed
from basefog.records.findings import ErrorParts, Quantity, WedgePart


def pool_group(group: Sequence[Mapping[str, Quantity]]) -> dict[str, Quantity]:
    """Return the stock's figure of every measure that two tests or more of its group have a value of, by name.

    The plain mean; of speeds the geometric one, an ISO speed then rounded. Unshared variances add up to
    sum / n^2; what all tests of the group share (wedge, lamp, reference) counts once, undiminished. The interval is
    that of the readings: what the tests' scatter adds is put in by `judge`.

    Arguments: `group`, each test's quantities, the current test's first. Any bound among them makes a bound.
    """
    first = group[0]
    return {
        name: _pool(name, had)
        for name in first
        if name not in NOT_POOLED
        and len(had := [one[name] for one in group if name in one and one[name].value is not None]) > 1
    }


def _pool(name: str, had: Sequence[Quantity]) -> Quantity:
    mean = math.fsum(place_on_scale(name, quantity) for quantity in had) / len(had)
    exact = 10**mean if name in IN_LOGARITHMS else mean
    first = had[0]
    return replace(
        first,
        value=round_to_standard_speed(exact) if name == "iso_speed" else exact,
        exact=None if first.exact is None else exact,
        low=None,
        high=None,
        bound=next((quantity.bound for quantity in had if quantity.bound), None),
        note="; ".join(dict.fromkeys(quantity.note for quantity in had if quantity.note)) or None,
        at_density=_mean([quantity.at_density for quantity in had]),
        as_read=_mean([quantity.as_read for quantity in had]),
        relative_to_average=_mean([quantity.relative_to_average for quantity in had]),
        parts=_mean_parts([quantity.parts for quantity in had]),
        of_reference=_same_parts([quantity.of_reference for quantity in had]),
        tests=len(had),
        batches=tuple(batch for quantity in had for batch in quantity.batches),
        scatter=_mean([quantity.scatter for quantity in had]),
    )


def _mean(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return math.fsum(known) / len(known) if known else None


def _mean_parts(parts: Sequence[ErrorParts | None]) -> ErrorParts | None:
    """Return the parts of a mean of tests on one wedge under one lamp."""
    known = [part for part in parts if part is not None]
    if not known or len(known) < len(parts):
        return None
    unshared = math.fsum([part.unshared for part in known]) / len(known) ** 2
    return ErrorParts(unshared=unshared, wedge=_same_wedge(known), lamp=known[0].lamp)


def _same_parts(parts: Sequence[ErrorParts | None]) -> ErrorParts | None:
    """Return the mean of parts that are one and the same error in every test: nothing of it grows less."""
    known = [part for part in parts if part is not None]
    if not known:
        return None
    unshared = math.fsum([part.unshared for part in known]) / len(known)
    return ErrorParts(unshared=unshared, wedge=_same_wedge(known), lamp=known[0].lamp)


def _same_wedge(known: Sequence[ErrorParts]) -> WedgePart | None:
    """Return the mean over the tests of what they owe to one wedge; a step that a test has not counts nothing."""
    wedges = [part.wedge for part in known if part.wedge is not None]
    if not wedges:
        return None
    steps = sorted({step for wedge in wedges for step in wedge.by_step})
    return WedgePart(
        wedge=wedges[0].wedge,
        by_step={step: math.fsum([one.by_step.get(step, 0.0) for one in wedges]) / len(known) for step in steps},
        u_density={step: u_density for one in wedges for step, u_density in one.u_density.items()},
    )
