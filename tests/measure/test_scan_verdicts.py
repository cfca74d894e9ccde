"""Verdicts of what scans showed."""

import pytest

from basefog.measure.scan_verdicts import compare_scan_measures
from basefog.records.findings import Quantity


def granularity(value: float, *, at: float) -> dict[str, Quantity]:
    return {
        "rms_granularity": Quantity(value=value, low=value - 0.2, high=value + 0.2, unit="1", at_density=at),
        "mtf50": Quantity(value=value, low=value - 0.2, high=value + 0.2, unit="cycles/mm"),
    }


@pytest.mark.parametrize(
    ("other", "at", "verdict"),
    [
        (10.0, 1.0, "higher"),
        (10.0, 0.85, "not measured"),
        (8.0, 0.85, "higher"),
        (10.9, 1.0, "no measurable difference"),
    ],
)
def test_a_verdict_may_not_hang_on_the_density(other: float, at: float, verdict: str) -> None:
    """Granularities of 11 and 10 differ at one density; read at 1.00 and 0.85 they may be the same film."""
    found = compare_scan_measures(granularity(11.0, at=1.0), granularity(other, at=at), {})

    assert found["rms_granularity"].verdict == verdict
    assert found["mtf50"].verdict == ("no measurable difference" if other == 10.9 else "higher")
