"""Daily control limits of film processors: US 21 CFR 900.12(e)(1), a yardstick for darkroom batches here.

Base plus fog within +0.03 of its operating level, mid density and density difference within +-0.15 of theirs; seen in
the agency's own policy guidance. A figure on the limit is inside it. The regulation sets the operating level from five
days; here it is the mean of the other batches.
"""

from datetime import date

import pytest

from basefog.measure.batches import remark_on_batch
from basefog.records.content import Batch
from measure.bench_content import PLACE

OPERATING_LEVEL = {"base": 0.24, "low": 0.42, "mid": 1.20, "high": 2.20}


def messages(**moved: float) -> list[str]:
    """Return what is said of a batch whose strip moved from the level that six others kept."""
    strips = [OPERATING_LEVEL] * 6 + [
        {step: density + moved.get(step, 0.0) for step, density in OPERATING_LEVEL.items()}
    ]
    batches = tuple(
        Batch(
            id=f"tank-{number}",
            date=date(2026, 3, number),
            developer=None,
            temperature_c=None,
            control_strip=strip,
            notes=None,
            place=PLACE,
        )
        for number, strip in enumerate(strips, start=1)
    )
    # Strips that never moved have a sigma of zero, so that 3 sigma speaks too; the yardstick alone is looked at.
    return [remark.message for remark in remark_on_batch("tank-7", batches) if "21 CFR 900.12" in remark.message]


@pytest.mark.parametrize(
    "moved",
    [
        {},
        {"base": 0.03},
        {"base": -0.10},
        {"mid": 0.15},
        {"mid": -0.15},
        {"high": 0.15},
        {"high": -0.15},
        {"low": -0.15},
        {"low": 0.10, "high": 0.25},
    ],
)
def test_figures_on_the_limit_pass(moved: dict[str, float]) -> None:
    """Up to and on the limits nothing is said; base plus fog has no lower limit."""
    assert messages(**moved) == []


@pytest.mark.parametrize(
    ("moved", "figure"),
    [
        ({"base": 0.04}, "base plus fog is 0.28, +0.040"),
        ({"mid": 0.16}, "mid density is 1.36, +0.160"),
        ({"mid": -0.16}, "mid density is 1.04, -0.160"),
        ({"high": 0.16}, "density difference (high less low) is 1.94, +0.160"),
        ({"low": 0.16}, "density difference (high less low) is 1.62, -0.160"),
    ],
)
def test_figures_beyond_the_limit_are_told(moved: dict[str, float], figure: str) -> None:
    """A hundredth beyond a limit is told, with the figure and how far it moved."""
    (message,) = messages(**moved)

    assert figure in message


def test_strip_without_a_step_is_not_judged_by_it() -> None:
    """A difference of two densities takes both of them."""
    batches = tuple(
        Batch(
            id=f"tank-{number}",
            date=date(2026, 3, number),
            developer=None,
            temperature_c=None,
            control_strip={"low": 0.42} if number == 7 else OPERATING_LEVEL,
            notes=None,
            place=PLACE,
        )
        for number in range(1, 9)
    )

    assert remark_on_batch("tank-7", batches) == ()
