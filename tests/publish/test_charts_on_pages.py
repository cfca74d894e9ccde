"""The charts of a test stand on its pages, each with words, files and figures, by the one door of charts."""

import re
from collections.abc import Mapping
from dataclasses import replace
from posixpath import dirname, normpath

import pytest

from basefog.picture import describe_chart, list_charts
from basefog.publish.pages import plan_pages
from basefog.publish.pages.answers import Answers
from basefog.publish.pages.charts import INLINE, table_of
from basefog.publish.pages.names import name_pair_in_words
from basefog.publish.theme import load_theme
from basefog.records.content import Batch, Series
from basefog.records.findings import Findings, Quantity
from basefog.records.prose_calls import find_calls
from basefog.records.vocabulary import CHARTS
from picture.samples import make_batches, make_edge_response, make_spectrum
from publish.invented import make_findings, make_series
from publish.page_checks import MAX_PAGE_BYTES, elements, faults_of_page, parse_strictly, text_of
from publish.page_series import THEME_FOLDER

KEY = "tern-100/2026-04-01-b"
ADDRESSES = ("stocks/tern-100/index.html", f"stocks/{KEY}/index.html", "compare/tern-100/index.html")


def whole() -> tuple[Series, Findings]:
    """Return the invented series, its stock tern-100 with every chart that a test can have, and development batches."""
    series = make_series()
    findings = make_findings(series)
    found = findings.tests[KEY]
    points = {
        "speed_point": Quantity(value=-1.33, low=-1.36, high=-1.30, unit="log H"),
        "mtf50": Quantity(value=30.0, low=28.0, high=32.0, unit="cycles/mm"),
    }
    found = replace(
        found,
        measures={**found.measures, **points},
        spectrum=make_spectrum(),
        edge_response=make_edge_response(),
    )
    tern = series.stock("tern-100")
    test = tern.tests[0]
    batches = make_batches(8)
    declared = tuple(
        Batch(
            id=name,
            date=test.date,
            developer=None,
            temperature_c=None,
            control_strip={},
            notes=None,
            place=test.place,
        )
        for name in sorted({batch.batch for batch in batches})
    )
    test = replace(test, developed=replace(test.developed, batch=declared[0].id))
    tern = replace(tern, tests=(test,))
    stocks = tuple(tern if stock.slug == tern.slug else stock for stock in series.stocks)
    series = replace(series, stocks=stocks, batches=declared)
    return series, replace(findings, tests={**findings.tests, KEY: found}, batches=batches)


@pytest.fixture(scope="module")
def files() -> Mapping[str, bytes]:
    series, findings = whole()
    made: dict[str, bytes] = {}
    for job in plan_pages(series, findings, theme=load_theme(THEME_FOLDER)):
        if {"method/index.html", *ADDRESSES} & set(job.outputs):
            made |= job.make(**job.inputs)
    return made


def test_the_test_has_every_chart() -> None:
    """What follows is about all charts of a test; only the control strips are a series' own."""
    _, findings = whole()

    assert {*list_charts(findings.tests[KEY]), "control-strip"} == set(CHARTS)


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_chart_stands_on_every_page_of_its_test(files: Mapping[str, bytes], address: str) -> None:
    """Each is a figure whose id is the chart's, with its description, its file and its data."""
    _, findings = whole()
    found = findings.tests[KEY]
    figures = {figure.get("id"): figure for figure in elements(parse_strictly(files[address]), "figure")}

    for chart in list_charts(found):
        figure = figures[chart]
        links = {normpath(f"{dirname(address)}/{link.get('href')}") for link in elements(figure, "a")}
        data = f"data/{KEY}/curve.csv" if chart in {"curve", "tones"} else f"data/{KEY}.json"
        assert links == {f"stocks/{KEY}/index.html#{chart}", f"stocks/{KEY}/{chart}.svg", data}, chart
        assert len(text_of(elements(figure, "figcaption")[0])) > 40, chart
        assert bool(elements(figure, "{http://www.w3.org/2000/svg}svg")) == (chart in INLINE), chart
        assert bool(elements(figure, "img")) == (chart not in INLINE), chart
    assert faults_of_page(address, files[address]) == []
    assert len(files[address]) < MAX_PAGE_BYTES


def test_every_chart_has_a_file_of_its_own(files: Mapping[str, bytes]) -> None:
    """The files stand beside the test's permanent page and bring their own colours for light and dark."""
    _, findings = whole()

    for chart in list_charts(findings.tests[KEY]):
        svg = files[f"stocks/{KEY}/{chart}.svg"]
        assert svg.startswith(b"<?xml"), chart
        assert b"prefers-color-scheme:dark" in svg, chart


def test_charts_stand_where_they_belong(files: Mapping[str, bytes]) -> None:
    """Each chart is in the section that is about it."""
    tree = parse_strictly(files[ADDRESSES[0]])
    places = {
        figure.get("id"): text_of(elements(section, "h2")[0])
        for section in elements(tree, "section")
        for figure in elements(section, "figure")
        if figure.get("class") == "chart"
    }

    assert places == {
        "curve": "Characteristic curve",
        "tones": "Tone separation",
        "patches": "Colours and greys",
        "spectrum": "Grain",
        "edge-response": "Sharpness",
        "tone-reproduction": "On paper",
        "contrast-time": "Contrast against time",
        "frames": "The bracket",
    }


def test_grain_and_sharpness_lead_to_their_definitions(files: Mapping[str, bytes]) -> None:
    """The measures named beside their charts link to the method page."""
    tree = parse_strictly(files[ADDRESSES[0]])
    sections = {section.get("id"): section for section in elements(tree, "section")}

    for section, measure in (("grain", "rms_granularity"), ("sharpness", "mtf50")):
        links = [link.get("href") for link in elements(sections[section], "a")]
        assert f"../../method/index.html#{measure}" in links


def test_a_test_links_to_its_batch(files: Mapping[str, bytes]) -> None:
    """The batch among the facts leads to its row on the method page, which shows the chart of all strips."""
    links = [link.get("href") for link in elements(parse_strictly(files[ADDRESSES[0]]), "a")]
    method = parse_strictly(files["method/index.html"])

    assert "../../method/index.html#batch-2026-01-14-tank" in links
    assert [row.get("id") for row in elements(method, "tr") if row.get("id") == "batch-2026-01-14-tank"]
    assert [figure.get("id") for figure in elements(method, "figure")] == ["control-strip"]
    assert files["method/control-strip.svg"].startswith(b"<?xml")


def test_a_test_without_charts_has_none() -> None:
    """No figure and no file is planned for what was not measured, and the section of the curve says why."""
    series = make_series()
    job = next(
        job
        for job in plan_pages(series, make_findings(series), theme=load_theme(THEME_FOLDER))
        if "stocks/gull-25/2026-02-01/index.html" in job.outputs
    )
    made = job.make(**job.inputs)
    page = parse_strictly(made["stocks/gull-25/2026-02-01/index.html"])

    assert list(made) == ["stocks/gull-25/2026-02-01/index.html"]
    assert [figure for figure in elements(page, "figure") if figure.get("class") == "chart"] == []
    curve = next(section for section in elements(page, "section") if section.get("id") == "curve")
    assert "there are only 2 steps" in text_of(curve)


@pytest.mark.parametrize("chart", sorted(CHARTS))
def test_prose_can_show_every_chart(chart: str) -> None:
    """A call becomes a picture of the chart's file with its words, linked to the figure on the test's page."""
    series, findings = whole()
    call = find_calls(f'{{{{ chart("tern-100", "{chart}") }}}}')[0]

    answer = Answers(series=series, findings=findings, page="questions/x/index.html")(call)

    assert answer.block is not None
    block = str(answer.block())
    if chart == "control-strip":
        assert 'src="../../method/control-strip.svg"' in block
        assert 'href="../../method/index.html#batches"' in block
        assert "Batch 2026-01-14-tank reads" in block
    else:
        assert f'src="../../stocks/{KEY}/{chart}.svg"' in block
        assert f'href="../../stocks/tern-100/index.html#{chart}"' in block


def test_prose_says_why_there_is_no_chart() -> None:
    """A call on what was not measured gives the reason, linked to the test."""
    series = make_series()
    findings = make_findings(series)
    answers = Answers(series=series, findings=findings, page="questions/x/index.html")

    for chart, words in (
        ("curve", "Gull 25 has no curve: there are only 2 steps, a curve needs 6"),
        ("spectrum", "Gull 25 has no grain spectrum: too few steps"),
        ("control-strip", "no control strip was read"),
    ):
        answer = answers(find_calls(f'{{{{ chart("gull-25/2026-02-01", "{chart}") }}}}')[0])
        assert answer.plain == words
        assert not answer.block


def test_two_tests_of_the_reference_read_as_tests() -> None:
    """In a sentence they are the tests of their days; films keep their names."""
    series, findings = whole()
    marl, tern = series.stock("marl-400"), series.stock("tern-100")

    assert name_pair_in_words(series, tern, tern.tests[0]) == (tern.name, "Marl 400")
    assert name_pair_in_words(series, marl, marl.tests[1]) == ("Marl 400", "Marl 400")
    names = name_pair_in_words(series, marl, marl.tests[0])
    assert names == ("the test of 14 March 2026", "the test of 2 May 2026")
    said = describe_chart("tones", findings.tests[KEY], None, name=names[0], reference_name=names[1])
    assert said.startswith("Mean gradient of the test of 14 March 2026: ")


def test_the_figures_of_a_chart_are_its_own() -> None:
    """The bell that is half at 30 cycles/mm reads 0.5^(f/30)^2 in the table; columns keep their decimals."""
    _, findings = whole()
    table = table_of("edge-response", findings.tests[KEY])

    assert table is not None
    assert [row[:2] for row in table.rows[:4]] == [("0", "1.000"), ("5", "0.981"), ("10", "0.926"), ("15", "0.841")]
    for chart in ("tones", "tone-reproduction", "spectrum"):
        told = table_of(chart, findings.tests[KEY])
        assert told is not None
        for column in zip(*told.rows, strict=True):
            assert len({len(re.sub(r"^[^.]*", "", cell)) for cell in column}) == 1
    assert table_of("curve", findings.tests[KEY]) is None
