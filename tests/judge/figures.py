"""Made-up figures with the parts of their error, for the tests of judging."""

from collections.abc import Mapping

from basefog.measure.intervals import quantity_from_parts
from basefog.records.findings import ErrorParts, LampPart, Quantity, WedgePart


def figure(  # one argument a part of the error
    value: float,
    *,
    reading: float = 0.01,
    by_step: Mapping[str, float] | None = None,
    u_density: float = 0.01,
    wedge: str = "contact-21",
    lamp: tuple[float, float] | None = None,
    scatter: float | None = None,
    tests: int = 1,
    batches: tuple[str | None, ...] | None = None,
    of_reference: ErrorParts | None = None,
    bound: str | None = None,
) -> Quantity:
    """Return a figure whose unshared standard uncertainty is `reading`."""
    parts = ErrorParts(
        unshared=reading**2,
        wedge=None
        if by_step is None
        else WedgePart(wedge=wedge, by_step=by_step, u_density=dict.fromkeys(by_step, u_density)),
        lamp=None if lamp is None else LampPart(lux_s=lamp[0], u_lux_s=lamp[1], per_log_unit=1.0),
    )
    found = quantity_from_parts(value, "1", parts, bound=bound)
    return Quantity(
        value=found.value,
        low=found.low,
        high=found.high,
        unit="1",
        bound=bound,
        parts=parts,
        of_reference=of_reference,
        scatter=scatter,
        tests=tests,
        batches=(None,) * tests if batches is None else batches,
    )
