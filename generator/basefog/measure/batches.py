"""Development batches: each control strip against the other batches, and what is said of a test developed in one."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from basefog.records.content import Batch
from basefog.records.findings import BatchFinding, Remark
from basefog.records.numbers import fixed, round_to

BATCHES_FOR_LIMITS = 7
"""Batches with the same reading before limits are drawn (measures.md, "Development")."""

EXAMPLE_STEPS = ("base", "low", "mid", "high")
"""The strip's steps in the order of rising density; any others follow by name."""

ROUNDING = 1e-9
"""Slack that keeps a density on a limit inside it, whatever the last binary digit of the difference."""

MEND = "develop the stock again in a batch whose strip stands inside the limits, and let that test replace this one"


@dataclass(frozen=True, kw_only=True, slots=True)
class Yardstick:
    """One limit for daily control: what is looked at, and how far it may stand from its usual level.

    `read` returns the figure of one strip, None where the strip lacks a reading for it.
    """

    name: str
    above: float
    below: float
    read: Callable[[Mapping[str, float]], float | None]


def _density_difference(strip: Mapping[str, float]) -> float | None:
    if "high" not in strip or "low" not in strip:
        return None
    return strip["high"] - strip["low"]


YARDSTICKS = (
    Yardstick(name="base plus fog", above=0.03, below=math.inf, read=lambda strip: strip.get("base")),
    Yardstick(name="mid density", above=0.15, below=0.15, read=lambda strip: strip.get("mid")),
    Yardstick(name="density difference (high less low)", above=0.15, below=0.15, read=_density_difference),
)
"""The limits of US 21 CFR 900.12(e)(1) for film processors, a yardstick here. A figure on the limit is inside it."""


def compare_batches(batches: tuple[Batch, ...]) -> tuple[BatchFinding, ...]:
    """Return every control-strip density against the other batches that read the same step.

    Mean and sigma are those of the others (leave one out; sigma with n - 1); both are None, and nothing is beyond a
    limit, until seven batches have the step. Order: by batch as given, then `base`, `low`, `mid`, `high`, the rest.
    """
    return tuple(_compare_step(batch, step, batches) for batch in batches for step in _ordered(batch.control_strip))


def remark_on_batch(batch_id: str, batches: tuple[Batch, ...]) -> tuple[Remark, ...]:
    """Return what a test developed in that batch must carry: readings beyond 3 sigma or beyond the yardstick.

    Empty for a batch inside the limits, one without readings, one that isn't in the list, and before there are
    seven batches.
    """
    batch = next((one for one in batches if one.id == batch_id), None)
    if batch is None:
        return ()
    beyond = (
        f"batch {batch.id}: the control strip's {finding.strip_step} reads {fixed(finding.density, 2)}, "
        f"beyond 3 sigma of the other batches (mean {fixed(finding.mean, 3)}, sigma {fixed(finding.sigma, 3)})"
        for step in _ordered(batch.control_strip)
        if (finding := _compare_step(batch, step, batches)).beyond_3_sigma
        and finding.mean is not None
        and finding.sigma is not None
    )
    return tuple(Remark(message=message, mend=MEND) for message in (*beyond, *_beyond_yardsticks(batch, batches)))


def _compare_step(batch: Batch, step: str, batches: tuple[Batch, ...]) -> BatchFinding:
    density = batch.control_strip[step]
    others = _of_others(batch, batches, lambda strip: strip.get(step))
    if others is None:
        return BatchFinding(
            batch=batch.id,
            strip_step=step,
            density=density,
            mean=None,
            sigma=None,
            beyond_2_sigma=False,
            beyond_3_sigma=False,
        )
    mean, sigma = float(np.mean(others)), float(np.std(others, ddof=1))
    away = abs(density - mean) - ROUNDING
    return BatchFinding(
        batch=batch.id,
        strip_step=step,
        density=density,
        mean=mean,
        sigma=sigma,
        beyond_2_sigma=away > 2 * sigma,
        beyond_3_sigma=away > 3 * sigma,
    )


def _beyond_yardsticks(batch: Batch, batches: tuple[Batch, ...]) -> tuple[str, ...]:
    """Return a sentence for each yardstick that the batch is beyond."""
    messages: list[str] = []
    for yardstick in YARDSTICKS:
        figure = yardstick.read(batch.control_strip)
        others = _of_others(batch, batches, yardstick.read)
        if figure is None or others is None:
            continue
        mean = float(np.mean(others))
        away = figure - mean
        if away > yardstick.above + ROUNDING or away < -yardstick.below - ROUNDING:
            limit = f"+{yardstick.above:.2f}" if math.isinf(yardstick.below) else f"{yardstick.above:.2f} either way"
            messages.append(
                f"batch {batch.id}: the control strip's {yardstick.name} is {fixed(figure, 2)}, "
                f"{round_to(away, 3):+.3f} from the mean "
                f"of the other batches; the yardstick (21 CFR 900.12) allows {limit}"
            )
    return tuple(messages)


def _of_others(
    batch: Batch, batches: tuple[Batch, ...], read: Callable[[Mapping[str, float]], float | None]
) -> list[float] | None:
    """Return the figure of every other batch, None where fewer than seven batches (this one counted) have it."""
    others = [figure for one in batches if one.id != batch.id and (figure := read(one.control_strip)) is not None]
    return others if len(others) + 1 >= BATCHES_FOR_LIMITS else None


def _ordered(strip: Mapping[str, float]) -> list[str]:
    known = [step for step in EXAMPLE_STEPS if step in strip]
    return known + sorted(set(strip) - set(known))
