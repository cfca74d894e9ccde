"""The grain's Wiener spectrum: how much of its strength lies at each spatial frequency on the film."""

import math
from typing import Final

import numpy as np

from basefog.picture.charts.curve import LABEL_WIDTH_PX, join_words
from basefog.picture.charts.labels import Spot, shorten
from basefog.picture.charts.pair import empty_chart, first_word
from basefog.picture.charts.plot import RIGHT_PX, TOP_PX, Plot, Tick, with_own_settings
from basefog.picture.charts.scale import Scale
from basefog.picture.charts.style import TEXT_PX, WIDTH_PX
from basefog.records.content import FloatArray
from basefog.records.findings import Spectrum, TestFindings
from basefog.records.numbers import round_to_digits, settle

LEFT_PX: Final = 52.0
HEIGHT_PX: Final = 280.0
_ROUND: Final = (1.0, 2.0, 5.0)
_TOLD_CYCLES_PER_MM: Final = (10.0, 20.0, 50.0)
"""Frequencies whose power is told in words."""


@with_own_settings
def draw_spectrum_chart(test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str) -> str:
    """Return the Wiener spectrum of a test and the reference, both axes logarithmic, as SVG for a page."""
    title = f"Grain spectrum of {name}"
    description = describe_spectrum_chart(test, reference, name=name, reference_name=reference_name)
    stock = test.spectrum
    if stock is None:
        return empty_chart("spectrum", test, title=title, why=description)
    named = [(stock, name, "stock")]
    other = _other(test, reference)
    if other is not None:
        named.append((other, reference_name, "reference"))
    plot = Plot(_scale([spectrum for spectrum, _, _ in named]), notes=_notes(named))
    plot.grid(
        "cycles/mm on the film",
        "density variance (µm²)",
        x_ticks=round_ticks(plot.scale.x0, plot.scale.x1),
        y_ticks=round_ticks(plot.scale.y0, plot.scale.y1),
    )
    lines = {whose: _in_logs(spectrum) for spectrum, _, whose in named}
    for _, words, whose in reversed(named):
        plot.curve(*lines[whose], f"{whose}-curve", of=words)
    for _, words, whose in named:
        rival = next((line for other_whose, line in lines.items() if other_whose != whose), None)
        plot.label(shorten(words, TEXT_PX, LABEL_WIDTH_PX), whose, _spots(plot, lines[whose], rival))
    return plot.render(chart="spectrum", test=test.key, title=title, description=description)


def describe_spectrum_chart(
    test: TestFindings, reference: TestFindings | None, *, name: str, reference_name: str
) -> str:
    """Return the grain's power at a few frequencies, in a sentence or two."""
    stock = test.spectrum
    if stock is None:
        return f"{first_word(name)} has no grain spectrum: {_why_not(test)}."
    other = _other(test, reference)
    told = [
        cycles
        for cycles in _TOLD_CYCLES_PER_MM
        if all(_reaches(spectrum, cycles) for spectrum in (stock, other) if spectrum is not None)
    ]
    if not told:
        return f"Wiener spectrum of the grain of {name}."
    said = f"Wiener spectrum of the grain of {name}: {_power_words(stock, told)}."
    if other is not None:
        said += f" {first_word(reference_name)}: {_power_words(other, told)}."
    return said


def round_ticks(low: float, high: float) -> list[Tick]:
    """Return the round figures 1, 2 and 5 of every decade on a logarithmic axis, each at its logarithm.

    >>> [text for _, text in round_ticks(-2.0, 0.31)]
    ['0.01', '0.02', '0.05', '0.1', '0.2', '0.5', '1', '2']
    """
    decades = range(math.floor(low) - 1, math.ceil(high) + 1)
    figures = [figure * 10.0**decade for decade in decades for figure in _ROUND]
    return [
        (math.log10(figure), f"{figure:g}") for figure in figures if low - 1e-9 <= math.log10(figure) <= high + 1e-9
    ]


def _other(test: TestFindings, reference: TestFindings | None) -> Spectrum | None:
    return None if reference is None or reference.key == test.key else reference.spectrum


def _why_not(test: TestFindings) -> str:
    measure = test.measures.get("rms_granularity")
    return measure.why if measure is not None and measure.why else "it was not measured"


def _in_logs(spectrum: Spectrum) -> tuple[FloatArray, FloatArray]:
    """Return a spectrum on logarithmic axes; what has no power has no logarithm and is left out."""
    has = spectrum.power_um2 > 0
    return np.log10(spectrum.cycles_per_mm[has]), np.log10(spectrum.power_um2[has])


def _scale(spectra: list[Spectrum]) -> Scale:
    """Choose ranges out to the next round figure."""
    lines = [_in_logs(spectrum) for spectrum in spectra]
    x0, x1 = (float(edge) for edge in (min(x.min() for x, _ in lines), max(x.max() for x, _ in lines)))
    y0, y1 = (float(edge) for edge in (min(y.min() for _, y in lines), max(y.max() for _, y in lines)))
    figures = [place for place, _ in round_ticks(min(x0, y0) - 1, max(x1, y1) + 1)]
    return Scale(
        x0=x0 - 0.03,
        x1=x1 + 0.03,
        y0=max(place for place in figures if settle(place - y0, 3) <= 0),
        y1=min(place for place in figures if settle(place - y1 - 0.05, 3) >= 0),
        left_px=LEFT_PX,
        right_px=WIDTH_PX - RIGHT_PX,
        top_px=TOP_PX,
        bottom_px=TOP_PX + HEIGHT_PX,
        log_x=True,
        log_y=True,
    )


def _notes(named: list[tuple[Spectrum, str, str]]) -> tuple[str, ...]:
    """Say at what density each was taken, for grain grows with it."""
    return tuple(f"{first_word(name)} {spectrum.note}." for spectrum, name, _ in named if spectrum.note)


def _reaches(spectrum: Spectrum, cycles: float) -> bool:
    first, last = float(spectrum.cycles_per_mm[0]), float(spectrum.cycles_per_mm[-1])
    return settle(first, 3) <= cycles <= settle(last, 3)


def _power_words(spectrum: Spectrum, told: list[float]) -> str:
    powers = np.interp(told, spectrum.cycles_per_mm, spectrum.power_um2)
    said = [f"{round_to_digits(power, 2):g} µm² at {cycles:g}" for cycles, power in zip(told, powers, strict=True)]
    return f"{join_words(said)} cycles/mm"


def _spots(plot: Plot, line: tuple[FloatArray, FloatArray], rival: tuple[FloatArray, FloatArray] | None) -> list[Spot]:
    """Return spots along a falling line, on the side away from the other one first."""
    spots: list[tuple[bool, Spot]] = []
    for gap_px in (10.0, 18.0, 30.0):
        for share in (0.55, 0.65, 0.45, 0.75, 0.35, 0.85, 0.25):
            index = round(share * (len(line[0]) - 1))
            x, y = float(line[0][index]), float(line[1][index])
            above = rival is None or settle(y - float(np.interp(x, *rival)), 3) >= 0
            x_px, y_px = plot.scale.x_px(x), plot.scale.y_px(y)
            spots.append((not above, Spot(x_px=x_px + gap_px, y_px=y_px - gap_px / 2)))
            spots.append((above, Spot(x_px=x_px - gap_px, y_px=y_px + gap_px / 2 + TEXT_PX, anchor="end")))
    return [spot for _, spot in sorted(spots, key=lambda ranked: ranked[0])]
