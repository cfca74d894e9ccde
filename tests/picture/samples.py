"""Invented findings to draw: analytic toe, straight line and shoulder, with bands as a real fit would have them."""

from dataclasses import replace

import numpy as np

from basefog.records.content import FloatArray
from basefog.records.findings import Comparison, Curve, Quantity, StepFinding, TestFindings


def softplus(x: FloatArray, width: float) -> FloatArray:
    """Return a smooth hinge: 0 far left, x far right."""
    return np.asarray(width * np.logaddexp(0.0, x / width))


def density_at(x: FloatArray, *, base: float, gamma: float, toe: float, shoulder: float, width: float) -> FloatArray:
    """Return an invented characteristic curve: a straight line between a toe and a shoulder."""
    return base + gamma * (softplus(x - toe, width) - softplus(x - shoulder, width * 1.6))


def make_curve(
    *,
    first: float = -3.15,
    last: float = -0.15,
    base: float = 0.28,
    gamma: float = 0.62,
    toe: float = -2.6,
    shoulder: float = 0.2,
    width: float = 0.14,
    error: float = 0.015,
    absolute: bool = True,
    axis: str = "contact-21",
    note: str | None = None,
) -> Curve:
    """Return an invented fitted curve on an even grid."""
    x = np.linspace(first, last, 301)
    density = density_at(x, base=base, gamma=gamma, toe=toe, shoulder=shoulder, width=width)
    half = error * (1.0 + 1.5 * np.abs(np.linspace(-1.0, 1.0, x.size)) ** 6)
    gradient = np.gradient(density, x)
    spread = 4.0 * half
    return Curve(
        log_exposure=x,
        density=density,
        low=density - half,
        high=density + half,
        gradient=gradient,
        gradient_low=gradient - spread,
        gradient_high=gradient + spread,
        absolute=absolute,
        axis=axis,
        note=note,
    )


def quantity(value: float, half: float, unit: str = "1") -> Quantity:
    return Quantity(value=value, low=value - half, high=value + half, unit=unit)


def mean_gradient(curve: Curve, first: float, last: float) -> Quantity:
    x = curve.log_exposure
    if first < x[0] or last > x[-1]:
        return Quantity(value=None, low=None, high=None, unit="1", why="the curve ends before")
    ends = np.interp([first, last], x, curve.density)
    return quantity(float(ends[1] - ends[0]) / (last - first), 0.011)


def make_findings(
    curve: Curve | None = None,
    *,
    stock: str = "tern-100",
    test: str = "2026-03-14",
    base: float | None = None,
    steps: int = 21,
    seed: int = 1,
    curve_why: str | None = None,
) -> TestFindings:
    """Return findings of an invented test, its measures read off the curve."""
    measures: dict[str, Quantity] = {}
    found: list[StepFinding] = []
    if curve is not None:
        x = curve.log_exposure
        base = float(curve.density[0]) if base is None else base
        measures["base_plus_fog"] = quantity(base, 0.008, "D")
        if curve.density[0] <= base + 0.1 <= curve.density[-1]:
            speed = float(np.interp(base + 0.1, curve.density, x))
            measures["speed_point"] = quantity(speed, 0.021, "log H")
            for measure, start, end in (
                ("average_gradient", 0.0, 1.3),
                ("shadow_gradient", 0.0, 0.6),
                ("middle_gradient", 0.6, 1.4),
                ("highlight_gradient", 1.4, 2.0),
            ):
                measures[measure] = mean_gradient(curve, speed + start, speed + end)
        noise = np.random.default_rng(seed).normal(0.0, 0.008, steps)
        for index, place in enumerate(np.linspace(x[0], x[-1], steps)):
            density = float(np.interp(place, x, curve.density) + noise[index])
            found.append(StepFinding(step=str(index + 1), log_exposure=float(place), density=density, readings=3))
    return TestFindings(
        stock=stock,
        test=test,
        current=True,
        reference="marl-400/2026-03-12",
        measures=measures,
        against_reference={"average_gradient": Comparison(verdict="not measured", why="invented")},
        curve=curve,
        curve_why=curve_why,
        steps=tuple(found),
        frames=(),
        patches={},
    )


def make_stock() -> TestFindings:
    """Return an invented stock, a little slower and steeper than the reference."""
    return make_findings(make_curve(base=0.31, gamma=0.68, toe=-2.3, shoulder=0.1, width=0.11))


def make_reference() -> TestFindings:
    """Return an invented reference."""
    return make_findings(make_curve(), stock="marl-400", test="2026-03-12", seed=2)


def with_measures(findings: TestFindings, **measures: Quantity) -> TestFindings:
    """Return findings with some measures replaced."""
    return replace(findings, measures={**findings.measures, **measures})
