"""The error of a difference: what two figures share cancels, as far as they share it."""

import math
from dataclasses import dataclass

from basefog.records.findings import ErrorParts, Quantity
from basefog.records.vocabulary import ScatterSource


@dataclass(frozen=True, kw_only=True, slots=True)
class Side:
    """One side of a difference: the parts of its error, of how many tests it is the mean, and how one of them scatters.

    `batches`, one a test; `scatter` is None where nothing tells it.
    """

    parts: ErrorParts
    tests: int
    batches: tuple[str | None, ...]
    scatter: float | None

    @property
    def unshared(self) -> float:
        """The variance that the other side has no part in: readings, sampling, scatter."""
        return self.parts.unshared + (self.scatter or 0.0) ** 2 / self.tests


@dataclass(frozen=True, kw_only=True, slots=True)
class Variance:
    """The variance of a difference: what is this side's and the other's alone, and what is left of the shared part."""

    own: float
    other: float
    shared: float

    @property
    def whole(self) -> float:
        """All of it."""
        return self.own + self.other + self.shared


def side_of(quantity: Quantity) -> Side | None:
    """Return a quantity's own side of a difference; None where its error isn't known."""
    if quantity.parts is None:
        return None
    return Side(parts=quantity.parts, tests=quantity.tests, batches=quantity.batches, scatter=quantity.scatter)


def reference_side(quantity: Quantity, reference: Quantity, *, relative: bool) -> Side | None:
    """Return the reference's side of a measure that is itself a difference to the reference.

    Arguments: `reference`, the reference's own figure of that measure, whose tests and scatter count; `relative`, the
    scatter is a share of the test's value.
    """
    if quantity.of_reference is None:
        return None
    return Side(
        parts=quantity.of_reference,
        tests=reference.tests,
        batches=reference.batches,
        scatter=quantity.scatter if relative else reference.scatter,
    )


def add_variances(this: Side, other: Side, source: ScatterSource | None) -> Variance:
    """Return the variance of this less other.

    The wedge's part is summed step by step, w1 + w2 - 2 sum_j s1_j s2_j u_j^2; the lamp's cancels whole where both
    were exposed under the same; nothing shared exceeds either part. Scatter between batches cancels between tests of
    one batch (measures.md, "Verdicts").

    >>> from basefog.records.findings import WedgePart
    >>> step = WedgePart(wedge="w", by_step={"1": 2.0}, u_density={"1": 0.01})
    >>> parts = ErrorParts(unshared=0.0001, wedge=step)
    >>> side = Side(parts=parts, tests=1, batches=(None,), scatter=None)
    >>> round(add_variances(side, side, None).whole, 6)
    0.0002
    """
    own, others = this.unshared, other.unshared
    if source == "batches" and this.scatter is not None and other.scatter is not None:
        own, others = _without_common_batches(this, other)
    return Variance(own=own, other=others, shared=_wedge_variance(this, other) + _lamp_variance(this, other))


def _wedge_variance(this: Side, other: Side) -> float:
    one, two = this.parts.wedge, other.parts.wedge
    first, second = (0.0 if part is None else part.variance for part in (one, two))
    if one is None or two is None or one.wedge != two.wedge:
        return first + second
    covariance = math.fsum(
        [
            slope * two.by_step[step] * one.u_density[step] ** 2
            for step, slope in one.by_step.items()
            if step in two.by_step
        ]
    )
    return max(0.0, first + second - 2 * min(covariance, first, second))


def _lamp_variance(this: Side, other: Side) -> float:
    one, two = this.parts.lamp, other.parts.lamp
    first, second = (0.0 if part is None else part.variance for part in (one, two))
    if one is None or two is None or (one.lux_s, one.u_lux_s) != (two.lux_s, two.u_lux_s):
        return first + second
    covariance = math.copysign(math.sqrt(first * second), one.per_log_unit * two.per_log_unit)
    return max(0.0, first + second - 2 * min(covariance, first, second))


def _without_common_batches(this: Side, other: Side) -> tuple[float, float]:
    """Return both sides' unshared variances without the scatter of what both developed together.

    A mean over tests takes its share of each batch; what of a batch both took is the same error in both.
    """
    shares, others = _batch_shares(this), _batch_shares(other)
    kept = [
        math.fsum(
            (share - common) ** 2 for batch, share in own.items() for common in [min(share, their.get(batch, 0.0))]
        )
        for own, their in ((shares, others), (others, shares))
    ]
    this_scatter, other_scatter = this.scatter or 0.0, other.scatter or 0.0
    return this.parts.unshared + this_scatter**2 * kept[0], other.parts.unshared + other_scatter**2 * kept[1]


def _batch_shares(side: Side) -> dict[str, float]:
    """Return the share of each batch in a mean of tests; a test whose batch isn't known stands for itself."""
    shares: dict[str, float] = {}
    for place, batch in enumerate(side.batches):
        # No id of a batch holds a blank.
        key = f"unknown {id(side)} {place}" if batch is None else batch
        shares[key] = shares.get(key, 0.0) + 1 / len(side.batches)
    return shares
