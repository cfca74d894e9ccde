"""The summary's view-model and page: what its table says, what its script is given, and what a row costs."""

import json
import re
from dataclasses import replace

import html5lib
import pytest

from basefog.measure.resampling import NORMAL_FACTOR
from basefog.publish.pages.frame import SUMMARY, frame_of, head_of
from basefog.publish.pages.page_of_summary import SummaryPage, page_of_summary
from basefog.publish.pages.plan import make_summary
from basefog.publish.pages.summary_block import standings_of
from basefog.publish.theme import load_theme
from basefog.records.content import Series
from basefog.records.findings import ErrorParts, Findings, Quantity, Scatter, TestFindings
from publish.invented import make_findings, make_series
from publish.many_stocks import many_stocks
from publish.page_series import THEME_FOLDER


@pytest.fixture(scope="module")
def many() -> tuple[Series, Findings]:
    return many_stocks(100, scatter=True)


@pytest.fixture(scope="module")
def view(many: tuple[Series, Findings]) -> SummaryPage:
    return page_of_summary(*many)


def render(series: Series, findings: Findings) -> dict[str, bytes]:
    """Return the summary's files."""
    site = frame_of(series)
    return make_summary(
        theme=load_theme(THEME_FOLDER),
        site=site,
        page=head_of(site, SUMMARY, series.title, "All stocks."),
        view=page_of_summary(series, findings),
        tests={stock.slug: findings.of(stock.slug, stock.current) for stock in series.stocks if stock.current},
        reference=findings.of_reference,
    )


def only(findings: Findings, measure: str, quantities: list[Quantity]) -> list[TestFindings]:
    """Return tests of which each has one measure."""
    found = next(iter(findings.tests.values()))
    return [replace(found, test=str(index), measures={measure: quantity}) for index, quantity in enumerate(quantities)]


def about(value: float, half: float = 0.02, unit: str = "1") -> Quantity:
    parts = ErrorParts(unshared=(half / NORMAL_FACTOR) ** 2)
    return Quantity(value=value, low=value - half, high=value + half, unit=unit, parts=parts)


def test_a_row_is_light(many: tuple[Series, Findings]) -> None:
    """A stock adds less than 2,400 bytes to the page, its data for the script included."""
    few = many_stocks(20)
    costs = len(render(*many)[SUMMARY]) - len(render(*few)[SUMMARY])

    assert costs / 80 < 2400


def test_the_block_is_what_the_table_is_not(view: SummaryPage) -> None:
    """Every measure has its order; the text of those shown stands in the table alone, of the others in the block."""
    columns = {column["id"]: column for column in json.loads(str(view.block))["columns"]}
    shown = [column.id for column in view.columns if not column.extra]

    assert list(columns) == ["name", "curve", *(column.id for column in view.columns)]
    assert [name for name, column in columns.items() if "text" not in column] == ["name", "curve", *shown]
    for name, column in columns.items():
        if "text" in column:
            texts = column["text"].split("|")
            assert len(texts) == len(view.rows), name
            assert [text == "" for text in texts] == [rank == 0 for rank in column["rank"]], name


def test_the_block_can_stand_in_a_script(many: tuple[Series, Findings]) -> None:
    """A maker's name with a bracket neither ends the script element nor is changed by it."""
    page = render(*many)[SUMMARY].decode()
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)
    [block] = [script for script in tree.iter("script") if script.get("type") == "application/json"]
    makers = [option.text for option in tree.iter("option") if option.get("value") is None]

    assert json.loads(block.text or "")["stocks"]["process"]
    assert "<Narrow> Lane" in makers


def test_filters_count_their_choices_from_one(many: tuple[Series, Findings], view: SummaryPage) -> None:
    """A stock names its class of speed and its maker by their place among the choices, nought where it has none."""
    series, _ = many
    stocks = json.loads(str(view.block))["stocks"]
    by_slug = {stock.slug: stock for stock in series.stocks}

    for row, speed, maker, retested in zip(
        view.rows, stocks["speed"], stocks["maker"], stocks["retested"], strict=True
    ):
        stock = by_slug[row.slug]
        bounds = {"slow": (0, 80), "medium": (80, 250), "fast": (250, 800), "very fast": (800, 1e9)}
        low, high = bounds[view.speed_classes[speed - 1].id]
        assert low <= stock.box_speed < high
        assert view.makers[maker - 1] == stock.maker
        assert retested == (len(stock.tests) > 1)


def test_speed_classes_say_their_bounds_and_only_those_there_are(many: tuple[Series, Findings]) -> None:
    """A class without a stock is not offered; each says from which speed on it goes."""
    series, findings = many
    stocks = tuple(replace(stock, box_speed=speed) for stock, speed in zip(series.stocks, [64, 80] * 50, strict=True))
    view = page_of_summary(replace(series, stocks=stocks), findings)

    assert [kind.label for kind in view.speed_classes] == ["slow, below 80", "medium, from 80"]


def test_a_stock_without_maker_has_none_to_filter_by() -> None:
    """A maker that was not written down is no choice."""
    series = make_series()
    view = page_of_summary(series, make_findings(series))

    assert view.makers == ("@home", "Quarry & Sons")
    assert json.loads(str(view.block))["stocks"]["maker"] == [2, 1]


def test_all_measures_can_be_chosen(view: SummaryPage) -> None:
    """The choice of columns offers each measure of the series once."""
    offered = [column.id for group in view.groups for column in group.columns]

    assert sorted(offered) == sorted(column.id for column in view.columns)


def test_a_value_leads_to_its_place_and_so_does_its_absence(view: SummaryPage) -> None:
    """Every cell names the measure's place on the stock's page, where its readings or the reason stand."""
    addresses = {(row.slug, cell.column.id): cell.address for row in view.rows for cell in row.cells}

    assert addresses["stock-0003", "mtf50"] == "stocks/stock-0003/index.html#mtf50"
    assert all(addresses.values())
    assert any(not cell.quantity.value for row in view.rows for cell in row.cells)


def test_ranks_leave_out_what_is_missing(many: tuple[Series, Findings]) -> None:
    """Equal values share a rank; nothing measured is no rank and no place."""
    none = Quantity(value=None, low=None, high=None, unit="1", why="too few steps")
    found = only(many[1], "gamma", [about(0.6), none, about(0.7), about(0.6)])
    standings = standings_of("gamma", found, None)

    assert standings.ranks == (2, 0, 1, 2)
    assert standings.places == ((2, 3), None, (1, 1), (2, 3))
    assert "Places out of 3" in standings.note


def test_scatter_widens_places(many: tuple[Series, Findings]) -> None:
    """0.10 apart with errors of 0.02 are told apart; not where one test again may differ by 0.05."""
    scatter = Scatter(measure="gamma", sigma=0.05, degrees_of_freedom=6, source="repeats", stocks=3)
    values = [about(0.6), about(0.7)]
    scattered = [replace(value, scatter=0.05) for value in values]

    assert standings_of("gamma", only(many[1], "gamma", values), None).places == ((2, 2), (1, 1))
    assert standings_of("gamma", only(many[1], "gamma", scattered), scatter).places == ((1, 2), (1, 2))


def test_log_exposures_on_different_axes_are_not_told_apart(many: tuple[Series, Findings]) -> None:
    """A speed point on a relative axis stands before no one on another, and the page says so."""
    found = only(many[1], "speed_point", [about(-2.0), about(-1.0), about(-3.0)])
    curve = found[0].curve
    assert curve is not None
    on = [replace(curve, absolute=False, axis=axis) for axis in ("contact-21", "contact-21", "contact-11")]
    standings = standings_of("speed_point", [replace(f, curve=c) for f, c in zip(found, on, strict=True)], None)

    assert standings.places == ((2, 3), (1, 2), (1, 3))
    assert "without a scale in common" in standings.note


def test_a_series_without_a_test_that_counts_says_so() -> None:
    """With nothing to show there is no table, no control and no script, but a sentence."""
    series = make_series()
    bare = replace(series, stocks=tuple(replace(stock, current=None) for stock in series.stocks))
    files = render(bare, replace(make_findings(series), reference=None))
    page = files[SUMMARY].decode()

    assert list(files) == [SUMMARY]
    assert "No stock has a test that counts yet." in page
    assert not re.search(r"<table|<form|summary\.js", page)
