"""The characteristic curve as it is drawn."""

import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.picture import describe_curve_chart, draw_curve_chart
from basefog.records.findings import Quantity, TestFindings
from picture.charts import drawing
from picture.samples import make_curve, make_findings, make_reference, make_stock, with_measures

LONG_NAME = "Heron & Daughters Ortho <document> copying film with a name of no end, second issue"

STOCKS = {
    "plain": make_stock(),
    "like the reference": make_findings(make_curve(base=0.285, toe=-2.59)),
    "another wedge": make_findings(make_curve(absolute=False, axis="contact-31")),
    "bracket": make_findings(make_curve(first=-1.2, last=1.2, toe=-0.9, absolute=False, axis="bracket"), steps=13),
    "narrow": make_findings(make_curve(first=-0.4, last=0.4, toe=-0.2, absolute=False, axis="bracket"), steps=3),
    "steep": make_findings(make_curve(base=0.06, gamma=1.9, toe=-1.9, shoulder=-0.5, width=0.08)),
    "wide": make_findings(make_curve(first=-4.2, last=0.6, base=0.2, gamma=0.5, shoulder=-0.2), steps=33),
    "far faster": make_findings(make_curve(first=-5.0, last=-2.0, toe=-4.5)),
    "thick fog": make_findings(make_curve(base=1.4)),
    "flat": make_findings(make_curve(gamma=0.02)),
}


def draw(test: TestFindings, reference: TestFindings | None, name: str = "Tern 100") -> str:
    return draw_curve_chart(test, reference, name=name, reference_name="Marl 400")


@cache
def drawn(kind: str, name: str = "Tern 100") -> str:
    """Draw one of the stocks once for all tests that look at it."""
    return draw(STOCKS[kind], make_reference(), name)


@pytest.mark.parametrize("kind", STOCKS)
@pytest.mark.parametrize("name", ["Tern 100", LONG_NAME], ids=["short", "long"])
def test_words_stay_inside_and_apart(kind: str, name: str) -> None:
    """No text leaves the picture or runs into another, even in a wide face."""
    svg = drawn(kind, name)

    assert drawing.outside(svg) == []
    assert drawing.overlapping(svg) == []


@given(
    base=st.floats(0.03, 1.2),
    gamma=st.floats(0.2, 2.5),
    toe=st.floats(-3.0, -1.0),
    shoulder=st.floats(-0.8, 1.0),
    ends=st.tuples(st.floats(-4.0, -3.0), st.floats(-0.5, 0.6)),
)
@settings(max_examples=20)
def test_words_stay_inside_and_apart_for_any_curve(
    base: float, gamma: float, toe: float, shoulder: float, ends: tuple[float, float]
) -> None:
    """Whatever the curve, words keep apart and inside, and no curve runs through the name of another."""
    curve = make_curve(base=base, gamma=gamma, toe=toe, shoulder=shoulder, first=ends[0], last=ends[1])
    svg = draw(make_findings(curve), make_reference())

    assert drawing.outside(svg) == []
    assert drawing.overlapping(svg) == []
    assert len(svg.encode()) < 16_000


@pytest.mark.parametrize("kind", STOCKS)
def test_a_gradient_of_one_is_a_line_at_45_degrees(kind: str) -> None:
    """One log unit measures as many pixels across as down."""
    scale = drawing.scale_of(drawn(kind))

    across = (scale["right"] - scale["left"]) / (scale["x1"] - scale["x0"])
    down = (scale["bottom"] - scale["top"]) / (scale["y1"] - scale["y0"])
    assert across == pytest.approx(down, rel=1e-4)


@pytest.mark.parametrize("kind", STOCKS)
def test_nothing_is_clipped(kind: str) -> None:
    """Curves, bands and steps lie inside the plot area."""
    svg = drawn(kind)

    scale = drawing.scale_of(svg)
    for mark in ("stock-curve", "stock-band", "stock-step", "reference-curve", "reference-band"):
        for line in drawing.pixels_of(svg, mark):
            assert all(scale["left"] - 0.05 <= x <= scale["right"] + 0.05 for x, _ in line)
            assert all(scale["top"] - 0.05 <= y <= scale["bottom"] + 0.05 for _, y in line)


def test_the_curve_can_be_read_back_from_the_picture() -> None:
    """Through the embedded scale the drawn line gives the curve's densities, to the tenth of a pixel it is drawn to."""
    stock = make_stock()
    svg = draw(stock, make_reference())

    drawn = np.array(drawing.points_of(svg, "stock-curve")[0])
    assert stock.curve is not None
    x = stock.curve.log_exposure
    read = np.interp(x, drawn[:, 0], drawn[:, 1])
    # A tenth of a pixel is 0.0008 here, thinning allows 0.0006, along a slope below one.
    assert np.abs(read - stock.curve.density).max() < 0.0025
    assert drawn[0, 0] == pytest.approx(x[0], abs=0.001)
    assert drawn[-1, 0] == pytest.approx(x[-1], abs=0.001)


def test_every_step_is_marked_where_it_was_read() -> None:
    """The rings stand at the mean densities of the steps."""
    stock = make_stock()
    svg = draw(stock, make_reference())

    marked = np.array([line[0] for line in drawing.points_of(svg, "stock-step")])
    expected = np.array([(step.log_exposure, step.density) for step in stock.steps])
    assert np.abs(marked - expected).max() < 0.001


def test_the_reference_is_never_told_apart_by_colour_alone() -> None:
    """The reference's line is dashed and the stock's is not, its point a diamond and the stock's round."""
    root = drawing.parse(draw(make_stock(), make_reference()))
    groups = {group.get("class"): group for group in root.iter(f"{drawing.SVG}g")}

    assert groups["mark-reference-curve"].get("stroke-dasharray") is not None
    assert groups["mark-stock-curve"].get("stroke-dasharray") is None
    assert groups["mark-stock-point"].get("stroke-linecap") == "round"
    diamond = drawing.pixels_of(draw(make_stock(), make_reference()), "reference-point")[0]
    assert len(diamond) == 4


def test_a_chart_names_no_colour() -> None:
    """Every paint is a custom property, so that a page's light and dark reach it."""
    svg = draw(make_stock(), make_reference())

    paints = set(re.findall(r'(?:fill|stroke)="([^"]*)"', svg))
    assert paints <= {"none", "var(--paper)", "var(--ink)", "var(--muted)", "var(--rule)", "var(--accent)"}
    assert "#" not in svg


def test_without_a_common_scale_the_speed_points_meet() -> None:
    """A reference on another axis is moved along until the speed points meet, and the chart says so."""
    stock, reference = STOCKS["bracket"], make_reference()
    svg = draw(stock, reference)

    speed = stock.measures["speed_point"].value
    assert speed is not None
    [drop_of_reference, *_] = [line for line in drawing.points_of(svg, "reference-level") if line[0][0] == line[1][0]]
    assert drop_of_reference[0][0] == pytest.approx(speed, abs=0.002)
    words = " ".join(words for _, words, _ in drawing.texts_of(svg))
    assert "Marl 400 is moved along until the speed points meet" in words
    reference_speed = reference.measures["speed_point"].value
    assert reference_speed is not None
    assert f"{abs(reference_speed):.2f}" not in words


def test_without_speed_points_to_meet_at_the_reference_is_left_out() -> None:
    """Where nothing ties the two axes together, only the stock is drawn and a sentence says why."""
    unmeasured = Quantity(value=None, low=None, high=None, unit="log H", why="the curve begins above it")
    stock = with_measures(STOCKS["bracket"], speed_point=unmeasured)
    svg = draw(stock, make_reference())

    assert drawing.pixels_of(svg, "reference-curve") == []
    assert "Marl 400 is left out" in " ".join(words for _, words, _ in drawing.texts_of(svg))


def test_a_reference_without_a_curve_is_left_out_in_words() -> None:
    """The stock is drawn alone, and a sentence says that the other has no curve."""
    svg = draw(make_stock(), make_findings(None, stock="marl-400", curve_why="invented"))

    assert drawing.pixels_of(svg, "reference-curve") == []
    assert "Marl 400 is left out: it has no curve." in [words for _, words, _ in drawing.texts_of(svg)]


def test_what_the_curve_is_drawn_from_stands_beneath_it() -> None:
    """The note of a curve is a sentence below its chart."""
    svg = draw(make_findings(make_curve(note="drawn from the bracket's grey patch")), make_reference())

    assert "Drawn from the bracket's grey patch." in [words for _, words, _ in drawing.texts_of(svg)]


def test_a_speed_point_beyond_the_curve_is_not_marked() -> None:
    """A point that the curve does not reach has no density to stand at."""
    beyond = Quantity(value=4.0, low=3.9, high=4.1, unit="log H")
    svg = draw(with_measures(make_stock(), speed_point=beyond), None)

    assert drawing.pixels_of(svg, "stock-point") == []


def test_the_reference_stands_alone() -> None:
    """The reference's own chart draws it once, as the stock it is about."""
    reference = make_reference()
    svg = draw_curve_chart(reference, reference, name="Marl 400", reference_name="Marl 400")

    assert drawing.pixels_of(svg, "reference-curve") == []
    assert len(drawing.pixels_of(svg, "stock-curve")) == 2  # the curve and its sample


def test_without_a_curve_the_chart_says_why() -> None:
    """A test without a curve gives a sentence instead of a drawing."""
    test = make_findings(None, curve_why="base plus fog was not read")
    svg = draw(test, make_reference(), "Pell 50")

    assert [words for _, words, _ in drawing.texts_of(svg)] == ["Pell 50 has no curve: base plus fog was not read."]


def test_names_are_data() -> None:
    """Markup and formula signs in a name come out as typed."""
    svg = draw(make_stock(), make_reference(), "A $x$ <b>&\n\x1b")

    title = drawing.parse(svg).find(f"{drawing.SVG}title")
    assert title is not None
    assert "A $x$ <b>&" in [words for _, words, _ in drawing.texts_of(svg)]


def test_the_description_carries_the_numbers() -> None:
    """Those who don't see the chart are told range, base plus fog, speed point and gradient of both."""
    said = describe_curve_chart(make_stock(), make_reference(), name="Tern 100", reference_name="Marl 400")

    assert said == (
        "Over log exposure (log10 lux s) −3.15 to −0.15 the density of Tern 100 rises from 0.31 to 1.75. "
        "Base plus fog 0.31, speed point −2.19 and average gradient 0.66, where Marl 400 has 0.28, −2.49 and 0.60."
    )


def test_same_bytes_in_any_process(tmp_path: Path) -> None:
    """Hash seed, time zone, locale and a matplotlib settings file in the folder change nothing."""
    (tmp_path / "matplotlibrc").write_text(
        "figure.dpi: 31\nlines.linewidth: 9\nfont.size: 30\npath.sketch: 5, 100, 1\naxes.xmargin: 0.3\n"
        "lines.marker: s\nfigure.autolayout: True\ntext.usetex: True\n",
        encoding="utf-8",
    )
    script = (
        "import sys\n"
        "from basefog.picture import draw_curve_chart\n"
        "from picture.samples import make_reference, make_stock\n"
        "svg = draw_curve_chart(make_stock(), make_reference(), name='Tern 100', reference_name='Marl 400')\n"
        "sys.stdout.buffer.write(svg.encode())\n"
    )
    path = os.pathsep.join(entry for entry in [str(Path(__file__).parents[2]), *sys.path] if entry)
    environment = {**os.environ, "PYTHONPATH": path, "PYTHONHASHSEED": "7", "TZ": "Pacific/Apia", "LC_ALL": "C"}
    ran = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, env=environment, capture_output=True, check=True)

    assert ran.stdout == draw(make_stock(), make_reference()).encode()
