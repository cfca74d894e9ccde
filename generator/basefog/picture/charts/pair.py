"""A test and the reference in one chart: on which axis they can stand together, and what to say where they can't."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NotRequired, TypedDict

import numpy as np

from basefog.picture.charts.labels import wrap
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.picture.charts.svg import Mark, render_svg
from basefog.records.findings import Curve, TestFindings
from basefog.records.numbers import settle


class ChartNames(TypedDict):
    """What a chart calls what it shows: the test, the reference, and the patches by their ids, where it names any."""

    name: str
    reference_name: str
    patch_names: NotRequired[Mapping[str, str] | None]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Companion:
    """The reference as it stands in a chart: its curve moved along by `shift`, or None; `notes` say what was done."""

    name: str = ""
    test: TestFindings | None = None
    curve: Curve | None = None
    shift: float = 0.0
    notes: tuple[str, ...] = ()


def companion_of(test: TestFindings, reference: TestFindings | None, *, name: str) -> Companion:
    """Return how the reference joins a test's characteristic curve; the reference itself has no companion."""
    if reference is None or reference.key == test.key or test.curve is None:
        return Companion(notes=_curve_notes(test))
    if reference.curve is None:
        return Companion(notes=(*_curve_notes(test), f"{first_word(name)} is left out: it has no curve."))
    if share_axis(test.curve, reference.curve):
        return Companion(name=name, test=reference, curve=reference.curve, notes=_curve_notes(test))
    here, there = speed_point_of(test), speed_point_of(reference)
    if here is None or there is None:
        note = "is left out: the two have no exposure scale in common and no two speed points to meet at."
        return Companion(notes=(*_curve_notes(test), f"{first_word(name)} {note}"))
    note = f"{first_word(name)} is moved along until the speed points meet: the two have no exposure scale in common."
    return Companion(
        name=name,
        test=reference,
        curve=reference.curve,
        shift=here[0] - there[0],
        notes=(*_curve_notes(test), note),
    )


def share_axis(one: Curve, other: Curve) -> bool:
    """Say whether two curves may stand on one exposure axis: both absolute, or both relative to the same thing."""
    return one.absolute and other.absolute if one.absolute or other.absolute else one.axis == other.axis


def speed_point_of(test: TestFindings) -> tuple[float, float] | None:
    """Return log exposure and density of a test's speed point, None where it has none on its curve."""
    speed = test.measures.get("speed_point")
    if speed is None or speed.value is None or test.curve is None:
        return None
    x = test.curve.log_exposure
    if settle(max(float(x[0]) - speed.value, speed.value - float(x[-1])), 3) > 0:
        return None
    return speed.value, float(np.interp(speed.value, x, test.curve.density))


def reason_without_curve(test: TestFindings, name: str) -> str:
    """Return the sentence that stands where a curve can't be drawn."""
    return f"{first_word(name)} has no curve: {test.curve_why or 'it was not measured'}."


def first_word(name: str) -> str:
    """Return what a test is called at the start of a sentence: a film's own name stays as its maker writes it.

    >>> first_word("the test of 17 January 2026"), first_word("tern 100")
    ('The test of 17 January 2026', 'tern 100')
    """
    return "T" + name[1:] if name.startswith("the ") else name


def empty_chart(chart: str, test: TestFindings, *, title: str, why: str) -> str:
    """Return a chart of a test that holds a sentence instead: why there is nothing to draw."""
    return empty_picture(chart, test.key, title=title, why=why)


def empty_picture(chart: str, test: str, *, title: str, why: str) -> str:
    """Return a chart that holds a sentence instead: why there is nothing to draw."""
    lines = wrap(why, TEXT_PX, WIDTH_PX - 16)
    marks = [Mark(kind="note", text=line, x_px=8, y_px=24 + 18 * index) for index, line in enumerate(lines)]
    return render_svg(
        chart=chart,
        test=test,
        width_px=WIDTH_PX,
        height_px=24 + 18 * len(lines),
        title=title,
        description=why,
        marks=marks,
        data={},
        text_px=TEXT_PX,
    )


def _curve_notes(test: TestFindings) -> tuple[str, ...]:
    if test.curve is None or not test.curve.note:
        return ()
    note = test.curve.note.strip()
    return (note[:1].upper() + note[1:] + ("" if note.endswith((".", "!", "?")) else "."),)
