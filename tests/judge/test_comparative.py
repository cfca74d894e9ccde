"""Speed from the reference and print exposure: measures that are formed from two figures."""

import math
from dataclasses import replace

import numpy as np
import pytest

from basefog.judge.comparative import (
    NO_REFERENCE,
    as_set,
    measure_print_exposure,
    measure_speed_from_reference,
    why_curves_differ,
    zero_by_definition,
)
from basefog.measure.intervals import missing, quantity_from_parts
from basefog.records.findings import Curve, ErrorParts, MeasuredTest, Quantity
from judge.figures import figure

GRID = np.linspace(-3.0, 0.0, 31)


def curve(*, absolute: bool = True, axis: str = "contact-21") -> Curve:
    return Curve(
        log_exposure=GRID,
        density=GRID,
        low=GRID,
        high=GRID,
        gradient=GRID,
        gradient_low=GRID,
        gradient_high=GRID,
        absolute=absolute,
        axis=axis,
    )


def measured(name: str, of: Curve | None = None) -> MeasuredTest:
    stock, test = name.split("/")
    return MeasuredTest(
        stock=stock,
        test=test,
        measures={},
        patches={},
        curve=curve() if of is None else of,
        curve_why=None,
        steps=(),
        frames=(),
    )


TERN, MARL = measured("tern-100/2026-03-14"), measured("marl-400/2026-01-10")
POINT = figure(-2.4, reading=0.03, by_step={"5": -0.6, "6": -0.4})
REFERENCE_POINT = figure(-2.4 + math.log10(2), reading=0.04, by_step={"7": -1.0})


def test_a_stop_less_light_is_a_stop_faster() -> None:
    """A speed point lower by 0.30103 is one stop faster."""
    found = measure_speed_from_reference(TERN, MARL, POINT, REFERENCE_POINT)

    assert found.value == pytest.approx(1.0)
    assert found.unit == "stops"


def test_both_errors_are_told_in_stops() -> None:
    """The test's own parts and those of what is subtracted, each over 0.3010.

    A step denser by u makes log H less by it and the film faster: the sensitivity changes its sign.
    """
    found = measure_speed_from_reference(TERN, MARL, POINT, REFERENCE_POINT)

    assert found.parts is not None
    assert found.of_reference is not None
    assert found.parts.unshared == pytest.approx((0.03 / math.log10(2)) ** 2)
    assert found.of_reference.unshared == pytest.approx((0.04 / math.log10(2)) ** 2)
    assert found.parts.wedge is not None
    assert found.of_reference.wedge is not None
    assert found.parts.wedge.by_step == pytest.approx({"5": 0.6 / math.log10(2), "6": 0.4 / math.log10(2)})
    assert found.of_reference.wedge.by_step == pytest.approx({"7": 1.0 / math.log10(2)})


def test_the_reference_is_zero_from_itself() -> None:
    """Without error, by definition."""
    found = zero_by_definition("stops")

    assert measure_speed_from_reference(MARL, MARL, REFERENCE_POINT, REFERENCE_POINT).value == 0.0
    assert (found.value, found.low, found.high) == (0.0, 0.0, 0.0)


RELATIVE = curve(absolute=False)


@pytest.mark.parametrize(
    ("reference", "point", "reference_point", "why"),
    [
        (None, POINT, None, NO_REFERENCE),
        (MARL, missing("no base was read"), REFERENCE_POINT, "no base was read"),
        (MARL, POINT, missing("no base was read"), "the reference has no speed point: no base was read"),
        (
            measured("marl-400/2026-01-10", RELATIVE),
            POINT,
            POINT,
            "one log exposure is absolute and the other relative",
        ),
    ],
)
def test_speed_from_the_reference_needs_both_points_on_one_axis(
    reference: MeasuredTest | None, point: Quantity, reference_point: Quantity | None, why: str
) -> None:
    """The reason says what is missing and where."""
    assert measure_speed_from_reference(TERN, reference, point, reference_point) == missing(why, "stops")


@pytest.mark.parametrize(
    ("axes", "why"),
    [
        (("contact-21", "contact-21"), ""),
        (("contact-21", "long-31"), "both log exposures are relative, and not on the same wedge"),
        (("bracket", "bracket"), "the log exposures are relative, each to its own metered exposure"),
    ],
)
def test_relative_curves_have_one_axis_on_one_wedge(axes: tuple[str, str], why: str) -> None:
    """Zero with no wedge in the beam is the same zero on the same wedge only."""
    assert why_curves_differ(*(curve(absolute=False, axis=axis) for axis in axes)) == why


def test_without_a_curve_no_axes_are_said_to_differ() -> None:
    """The missing curve is told by the measures themselves."""
    assert why_curves_differ(None, RELATIVE) == why_curves_differ(RELATIVE, None) == ""


def of_base(value: float, half_width: float = 0.0196, note: str | None = None) -> Quantity:
    return quantity_from_parts(value, "D", ErrorParts(unshared=(half_width / 1.96) ** 2), note=note)


REFERENCE_BASE = of_base(0.24)


def printing(base: Quantity, reference: Quantity | None = REFERENCE_BASE, time_s: float | None = 12.0) -> Quantity:
    return measure_print_exposure(base, reference, time_s)


@pytest.mark.parametrize(("above", "factor"), [(0.30, 10**0.30), (0.0, 1.0), (-0.10, 10**-0.10)])
def test_base_plus_fog_is_a_filter(above: float, factor: float) -> None:
    """0.30 above the reference's doubles the exposure within 0.4 %; a clearer film takes less than the reference."""
    found = printing(of_base(0.24 + above))

    assert found.value == pytest.approx(12.0 * factor)
    assert found.unit == "s"
    if above == 0.30:
        assert found.value == pytest.approx(24.0, rel=0.004)


def test_both_bases_count() -> None:
    """A time changes by t ln 10 dB for this base and for the reference's; the time itself is as it was set."""
    found = printing(of_base(0.34), of_base(0.24, 0.0392))
    per_density = 12.0 * 10**0.10 * math.log(10)

    assert found.parts is not None
    assert found.of_reference is not None
    assert found.parts.unshared == pytest.approx((0.01 * per_density) ** 2)
    assert found.of_reference.unshared == pytest.approx((0.02 * per_density) ** 2)


def test_reference_prints_as_it_was_set() -> None:
    """The reference's own time is the set one, without error, and says so."""
    found = as_set(12.0)

    assert (found.value, found.half_width, found.unit) == (12.0, 0.0, "s")
    assert found.note is not None
    assert found.note.startswith("as set")


def test_how_a_base_was_had_is_told() -> None:
    """A base plus fog that departs from the plain definition says so on the exposure that rests on it."""
    lowest = of_base(0.30, note="the lowest step stands for it")

    assert printing(lowest).note == "this test's base plus fog: the lowest step stands for it"
    assert printing(of_base(0.30), lowest).note == "the reference's base plus fog: the lowest step stands for it"
    assert printing(of_base(0.30)).note is None


@pytest.mark.parametrize(
    ("base", "reference", "time_s", "why"),
    [
        (of_base(0.3), None, 12.0, NO_REFERENCE),
        (
            of_base(0.3),
            REFERENCE_BASE,
            None,
            "no print exposure of the reference is known (print.exposure_s or enlarging.exposure_s)",
        ),
        (missing("no base was read"), REFERENCE_BASE, 12.0, "base plus fog is not known: no base was read"),
        (
            of_base(0.3),
            missing("no base was read"),
            12.0,
            "the reference's base plus fog is not known: no base was read",
        ),
    ],
)
def test_missing_exposure_says_why(base: Quantity, reference: Quantity | None, time_s: float | None, why: str) -> None:
    """Without a time or a base there is no exposure, and the reason is told."""
    assert printing(base, reference, time_s) == missing(why, "s")


def test_a_stop_of_lamp_is_the_same_on_both_sides() -> None:
    """The lamp's part keeps its lux and its uncertainty, so that tests under one lamp can be known to share it."""
    point, reference = (replace(figure(value, lamp=(0.8, 0.02))) for value in (-2.4, -2.1))

    found = measure_speed_from_reference(TERN, MARL, point, reference)

    assert found.parts is not None
    assert found.of_reference is not None
    assert found.parts.lamp == found.of_reference.lamp
    assert found.parts.lamp is not None
    assert found.parts.lamp.lux_s == 0.8
    assert found.parts.lamp.per_log_unit == pytest.approx(-1 / math.log10(2))
