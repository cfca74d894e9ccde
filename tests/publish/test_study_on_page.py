"""The page of the study of the curve's estimator, and what the method page tells of it."""

import json
from dataclasses import asdict, replace

import pytest

from basefog.publish.addresses import STUDY
from basefog.publish.pages.frame import METHOD, frame_of, head_of, render_page
from basefog.publish.pages.page_of_method import page_of_method
from basefog.publish.pages.study import StudyCell, page_of_study, parse_study, read_study, tell_in_a_sentence
from basefog.publish.theme import load_theme
from basefog.records.findings import Scatter
from basefog.records.vocabulary import MEASURE_BY_ID
from publish.invented import make_findings, make_series
from publish.page_checks import elements, faults_of_page, parse_strictly, text_of
from publish.page_series import THEME_FOLDER

CELL = StudyCell(
    kind="soft toe",
    repeatability=0.01,
    replicates=1,
    measure="gamma",
    tests=2000,
    bias=0.0021,
    scatter=0.0105,
    bias_ratio=0.2,
    coverage=0.951,
    false_verdicts=0.04,
)
CELLS = (
    CELL,
    replace(CELL, replicates=3, coverage=0.949, bias=-0.001, bias_ratio=-0.1),
    replace(CELL, kind="hard toe", coverage=0.902, bias=0.0084, bias_ratio=0.8, false_verdicts=None),
    replace(CELL, measure="speed_point", bias=0.0, bias_ratio=0.0, scatter=0.0095, coverage=0.97),
)


def render_study(cells: tuple[StudyCell, ...]) -> bytes:
    site = frame_of(make_series())
    head = head_of(site, STUDY, "How well the curve tells", "How far off and how sure.")
    return render_page(load_theme(THEME_FOLDER), "study.html", site, head, page_of_study(cells))[STUDY]


def render_method(found: str) -> bytes:
    series = make_series()
    site = frame_of(series)
    head = head_of(site, METHOD, "Method", "How it is done.")
    view = page_of_method(series, make_findings(series), found)
    return render_page(load_theme(THEME_FOLDER), "method.html", site, head, view)[METHOD]


def test_the_worst_cells_are_told_in_words() -> None:
    """Mean coverage, poorest cell and largest bias come from the table: (95.1 + 94.9 + 90.2 + 97.0) / 4 = 94.3."""
    study = page_of_study(CELLS)

    poorest, shifted, told = study.summary
    assert poorest == (
        "Over all, 94.3 % of the 95 % intervals held the true value. Fewest did for gamma on the hard toe film read "
        "once to 0.01: 90.2 %."
    )
    assert shifted == (
        "The largest bias beside its scatter is that of gamma on the hard toe film read once to 0.01: +0.80 of the "
        "scatter of single tests."
    )
    assert told == "Two tests of one and the same film were told to differ in 4.0 % of all comparisons."


def test_a_measure_is_summed_up_over_its_cells() -> None:
    """Gamma: mean coverage of three cells, the poorest kind by its mean, every row with the measure's decimals."""
    study = page_of_study(CELLS)

    gamma, point = study.measures
    assert (gamma.definition.label, gamma.coverage, gamma.poorest, gamma.largest_bias) == (
        "Gamma", "93.4 %", "90.2 %, hard toe", "+0.80, hard toe",
    )  # fmt: skip
    assert [kind.kind for kind in gamma.kinds] == ["soft toe", "hard toe"]
    row = gamma.kinds[0].rows[1]
    assert (row.condition, row.bias, row.scatter, row.coverage) == ("0.01 × 3", "−0.001", "0.011", "94.9 %")
    assert (point.false_verdicts, point.unit) == ("4.0 %", "log H")


def test_the_page_shows_the_study() -> None:
    """Every measure leads to its definition and has an anchor of its own; the page keeps the rules of all pages."""
    data = render_study(CELLS)
    page = parse_strictly(data)
    table = next(part for part in elements(page, "section") if part.get("id") == "measures")
    folds = {fold.get("id"): text_of(fold) for fold in elements(page, "details")}

    assert faults_of_page(STUDY, data) == []
    assert [link.get("href") for link in elements(table, "a")] == ["../index.html#gamma", "../index.html#speed_point"]
    assert list(folds) == ["gamma", "speed_point"]
    assert "hard toe" in folds["gamma"]
    assert "hard toe" not in folds["speed_point"]
    assert "2,000 times in simulation" in text_of(page)
    assert "soft toe and hard toe" in text_of(page)


def test_the_method_page_tells_it_in_a_sentence() -> None:
    """One sentence of what was found and a link to the study's own page; none of its tables."""
    found = tell_in_a_sentence(CELLS)
    data = render_method(found)
    page = parse_strictly(data)
    told = next(part for part in elements(page, "p") if part.get("id") == "study")

    assert found == (
        "Tried in simulation on films whose true values are known, 94.3 % of the 95 % intervals held the true value; "
        "the fewest, 90.2 %, did for gamma on the hard toe film read once to 0.01."
    )
    assert text_of(told).startswith(found)
    assert [link.get("href") for link in elements(told, "a")] == ["study/index.html"]
    assert "soft toe" not in text_of(page)
    assert faults_of_page(METHOD, data) == []


def test_cells_are_read_as_the_study_writes_them() -> None:
    """The study's own keys are taken, those of no use here are left; what is no such table is refused."""
    text = json.dumps({"cells": [{**asdict(cell), "half_width": 0.02, "missed": 0} for cell in CELLS]})

    assert parse_study(text) == CELLS
    with pytest.raises(KeyError):
        parse_study('{"cells": [{"kind": "soft toe"}]}')
    with pytest.raises(ValueError, match="no cells"):
        parse_study('{"cells": []}')


def test_the_kept_study_can_be_told() -> None:
    """Whatever table lies beside the formulas, its measures are known and its page keeps the rules."""
    cells = read_study()
    assert {cell.measure for cell in cells} <= set(MEASURE_BY_ID)
    assert faults_of_page(STUDY, render_study(cells)) == []


def test_the_scatter_of_repeats_is_told_with_its_units() -> None:
    """Measures and patches alike, each with its unit, its degrees of freedom and what told it."""
    series = make_series()
    of_measure = Scatter(measure="useful_range", sigma=0.0271, degrees_of_freedom=4, source="repeats", stocks=3)
    of_patch = Scatter(measure="red", sigma=0.0512, degrees_of_freedom=5, source="repeats", stocks=4)
    findings = replace(make_findings(series), scatter={"useful_range": of_measure}, patch_scatter={"red": of_patch})

    rows = page_of_method(series, findings).scatter

    assert [(row.measure, row.unit, row.sigma, row.degrees_of_freedom, row.told_by) for row in rows] == [
        ("Useful range", "stops", "0.027", "4", "repeats of 3 stocks"),
        ("Patch Red, from grey", "stops", "0.051", "5", "repeats of 4 stocks"),
    ]
