"""Measuring by steps: what a family of tests gave is kept, and made anew only where what it hangs on changed."""

from collections.abc import Iterator, Sequence

from basefog.measure import Asked, Measure, Member, measure_family
from basefog.site.digest import digest_of_code
from basefog.site.steps import Step, Steps

PEAK_BYTES = 60_000_000
"""What measuring one family needs at most beside the process itself: the draws of a few curves."""


def measure_by(steps: Steps) -> Measure:
    """Return who measures families of tests by these steps, on all cores where many are missing."""
    code = digest_of_code(("records", "measure"), ("numpy", "scipy"))

    def measure(asked: Sequence[Asked]) -> Iterator[tuple[Member, ...]]:
        return steps.run(_step_of(one, code) for one in asked)

    return measure


def _step_of(asked: Asked, code: str) -> Step[tuple[Member, ...]]:
    return Step(
        name=f"measuring {asked.tests[0].key}",
        call=measure_family,
        inputs={
            "tests": asked.tests,
            "reference": asked.reference,
            "terms": asked.terms,
            "shutter_stops": asked.shutter_stops,
        },
        result=tuple[Member, ...],
        code=code,
        peak_bytes=PEAK_BYTES,
    )
