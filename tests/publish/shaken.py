"""Findings as another processor may have them: every float moved by a little, by the seed."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from basefog.records.findings import Findings, LampPart

SHAKE = 1e-11
"""As far as the kernels of linear algebra were seen to move a curve: the smoother's system is solved with a condition
of some 3e7, and a float's last bit is 1e-16 of it."""


def shake_findings(findings: Findings, seed: int) -> tuple[Findings, int]:
    """Return findings with every float in them moved by up to `SHAKE` of itself, and how many floats that were."""
    generator = np.random.default_rng(seed)
    count = 0

    def shake(value: Any) -> Any:
        nonlocal count
        if isinstance(value, float):
            count += 1
            return value * (1 + SHAKE * generator.uniform(-1, 1))
        if isinstance(value, np.ndarray):
            count += value.size
            return value * (1 + SHAKE * generator.uniform(-1, 1, value.shape))
        if isinstance(value, tuple):
            return tuple(shake(item) for item in value)
        if isinstance(value, Mapping):
            return {key: shake(item) for key, item in value.items()}
        if is_dataclass(value) and not isinstance(value, type):
            # What the tester typed of a lamp is the same everywhere.
            names = ["per_log_unit"] if isinstance(value, LampPart) else [each.name for each in fields(value)]
            return replace(value, **{name: shake(getattr(value, name)) for name in names})
        return value

    return shake(findings), count
