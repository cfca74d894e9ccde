"""The summary in a browser: sorted with its ties, narrowed, its columns chosen, all of it in the address."""

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from basefog.judge import compare, rule_of
from basefog.records.content import Series
from basefog.records.findings import Findings, Quantity
from basefog.records.vocabulary import MEASURE_BY_ID
from chromium import IN_CHROMIUM, Listen, expect_address, let_draw, new_context
from publish.many_stocks import many_stocks, write_summary

pytestmark = IN_CHROMIUM

COUNT = 70
Open = Callable[..., Page]


@pytest.fixture(scope="module")
def many() -> tuple[Series, Findings]:
    """Return a series of more stocks than are put in order at once, two of its measures with test-to-test scatter."""
    return many_stocks(COUNT, scatter=True)


@pytest.fixture(scope="module")
def summary(tmp_path_factory: pytest.TempPathFactory, many: tuple[Series, Findings]) -> str:
    """Return the address of their summary on disk."""
    folder = tmp_path_factory.mktemp("many stocks")
    write_summary(folder, *many)
    return f"{folder.as_uri()}/index.html"


@pytest.fixture
def visit(browser: Browser, summary: str, listen: Listen) -> Iterator[Open]:
    """Open the summary in a new window; when the test ends, no window may have complained."""
    complaints: list[list[str]] = []
    with ExitStack() as opened:

        def visit(fragment: str = "", *, width: int = 1280, javascript: bool = True) -> Page:
            context = new_context(browser, viewport={"width": width, "height": 900}, java_script_enabled=javascript)
            page = opened.enter_context(context).new_page()
            complaints.append(listen(page))
            page.goto(summary + fragment)
            if javascript:
                put_in_order(page)
            return page

        yield visit
    assert [words for said in complaints for words in said] == []


def put_in_order(page: Page) -> None:
    """Wait until all rows are where they belong, and those in sight are laid out."""
    # Rows beyond the first fifty follow in turns of their own, which come in order.
    page.evaluate("() => new Promise(done => setTimeout(() => setTimeout(done)))")
    # Rows out of sight are never laid out, and none is known to be in sight before it is drawn.
    let_draw(page)


def order_of(page: Page, count: int = COUNT) -> list[str]:
    """Return the slugs of the rows that are shown, from the top, when all rows are where they belong."""
    put_in_order(page)
    slugs: list[str] = page.eval_on_selector_all("#summary tbody tr:not([hidden])", "rows => rows.map(row => row.id)")
    assert len(slugs) == count
    return slugs


def cells_of(page: Page, measure: str) -> dict[str, str]:
    """Return the text of a measure's cells by slug."""
    put_in_order(page)
    label = MEASURE_BY_ID[measure].name
    found: dict[str, str] = page.eval_on_selector_all(
        "#summary tbody tr",
        """(rows, label) => Object.fromEntries(rows.map(row => [row.id,
            [...row.cells].find(cell => cell.dataset.label?.startsWith(label))?.textContent]))""",
        label,
    )
    return found


def quantities_of(series: Series, findings: Findings, measure: str) -> dict[str, Quantity]:
    return {stock.slug: findings.of(stock.slug, stock.current or "").measures[measure] for stock in series.stocks}


def count_places(findings: Findings, measure: str, column: Sequence[Quantity], *, up: bool) -> list[str]:
    """Return each quantity's places, counted from verdicts between every two, as a reader sees them."""
    rule = rule_of(measure, findings.scatter.get(measure), firm=None)

    def beyond(one: Quantity, other: Quantity) -> bool:
        """Say whether one is higher."""
        return compare(rule, one, other).verdict == "higher"

    texts = []
    for one in column:
        higher = sum(beyond(other, one) for other in column if other is not one)
        lower = sum(beyond(one, other) for other in column if other is not one)
        before, after = (lower, higher) if up else (higher, lower)
        first, last = 1 + before, len(column) - after
        texts.append(f"{first}" if first == last else f"{first} to {last}")
    return texts


def sort_button(page: Page, name: str) -> Locator:
    return page.get_by_role("button", name=name, exact=True)


@pytest.mark.parametrize("order", ["", "&order=up"])
@pytest.mark.parametrize(
    "measure", ["average_gradient", "speed_from_reference", "rms_granularity", "maximum_density", "speed_point"]
)
def test_places_are_the_verdicts_between_every_two(
    visit: Open, many: tuple[Series, Findings], measure: str, order: str
) -> None:
    """A stock's places are what `compare` says of it and each other one: leaning intervals, bounds, scatter and all."""
    series, findings = many
    quantities = quantities_of(series, findings, measure)
    known = {slug: quantity for slug, quantity in quantities.items() if quantity.value is not None}
    texts = count_places(findings, measure, list(known.values()), up=bool(order))
    page = visit(f"#sort={measure}{order}")
    shown: list[list[str]] = page.eval_on_selector_all(
        "#summary tbody tr", "rows => rows.map(row => [row.id, row.cells[0].textContent])"
    )

    assert dict(shown) == dict.fromkeys(quantities, "") | dict(zip(known, texts, strict=True))
    assert f"out of {len(known)}" in page.locator("#told").inner_text()
    assert any(" to " in text for text in texts)


@pytest.mark.parametrize("order", ["", "up"])
def test_sorting_is_by_value_with_what_is_missing_last(visit: Open, many: tuple[Series, Findings], order: str) -> None:
    """A heading's button sorts from the highest, a second press turns it; no value stands last both ways."""
    quantities = quantities_of(*many, "average_gradient")
    page = visit()
    before = order_of(page)
    for _ in range(2 if order else 1):
        sort_button(page, "Average gradient").click()
    turn = -1 if order else 1
    values = {slug: quantity.value for slug, quantity in quantities.items()}
    wanted = sorted(before, key=lambda slug: (values[slug] is None, -turn * (values[slug] or 0)))

    assert order_of(page) == wanted
    assert values[wanted[-1]] is None
    assert page.evaluate("document.activeElement.textContent") == "Average gradient"
    assert (
        page.eval_on_selector_all("[aria-sort]", "all => all.map(one => [one.innerText, one.ariaSort])")
        == [["Average\ngradient\n?", "ascending" if order else "descending"]]
        or page.locator("[aria-sort]").count() == 1
    )
    assert page.locator("th[aria-sort]").get_attribute("aria-sort") == ("ascending" if order else "descending")
    assert page.locator("th[aria-sort] a").get_attribute("href") == "method/index.html#average_gradient"


def test_equals_stay_in_their_order(visit: Open, many: tuple[Series, Findings]) -> None:
    """Stocks of one name keep the order they had, whichever way the others run."""
    names = {stock.slug: stock.name for stock in many[0].stocks}
    page = visit()
    before = order_of(page)
    sort_button(page, "Stock").click()
    rising = order_of(page)
    sort_button(page, "Stock").click()
    falling = order_of(page)

    assert len(set(names.values())) < len(names)
    assert [names[slug] for slug in falling] == [names[slug] for slug in rising][::-1]
    for name in set(names.values()):
        same = [slug for slug in before if names[slug] == name]
        assert [slug for slug in falling if names[slug] == name] == sorted(same, key=rising.index)


def test_numbers_in_names_count(visit: Open, many: tuple[Series, Findings]) -> None:
    """By name, 50 comes before 100."""
    names = {stock.slug: stock.name for stock in many[0].stocks}
    shown = [names[slug] for slug in order_of(visit("#sort=name"))]

    assert shown == sorted(shown, key=lambda name: (name.split()[0].casefold(), int(name.split()[1])))


def test_ties_are_shown_alike(visit: Open) -> None:
    """Neighbours with the same range are joined by a line, and no others are."""
    page = visit("#sort=gamma")
    order_of(page)
    shown: list[list[str]] = page.eval_on_selector_all(
        "#summary tbody tr", "rows => rows.map(row => [row.cells[0].textContent, row.cells[0].className])"
    )
    texts = ["", *(text for text, _ in shown), ""]
    wanted = []
    for before, text, after in zip(texts, texts[1:], texts[2:], strict=False):
        on, off = text and text == before, text and text == after
        wanted.append("tied on" if on else "tied" if off else "")

    assert [kind for _, kind in shown] == wanted
    assert "tied on" in wanted
    assert (
        page.locator("td.tied").first.evaluate("cell => getComputedStyle(cell).borderLeftColor") != "rgba(0, 0, 0, 0)"
    )


def test_a_time_that_is_not_subtracted_has_no_places(visit: Open) -> None:
    """Times to match the reference's contrast are each stock's own, and nothing is said of two; the page says why."""
    page = visit("#sort=matching_time")

    assert page.get_by_role("columnheader", name="Place").count() == 0
    assert "No places are given: a stock's own time" in page.locator("#told").inner_text()


def test_filters_narrow_and_are_counted(visit: Open, many: tuple[Series, Findings]) -> None:
    """Words, class of box speed, maker and retests narrow the table together, and the address holds them."""
    stocks = many[0].stocks
    page = visit()
    page.get_by_label("Find").fill("quarry  GULL")
    words = {stock.slug for stock in stocks if "Quarry" in (stock.maker or "") and "Gull" in stock.name}
    assert set(order_of(page, len(words))) == words
    assert page.locator("#count").inner_text() == f"{len(words)} of {COUNT} stocks"

    page.get_by_label("Find").fill("")
    medium = [stock for stock in stocks if 80 <= stock.box_speed < 250]
    maker = next(stock.maker for stock in medium if len(stock.tests) > 1)
    page.get_by_label("Box speed").select_option("medium")
    page.get_by_label("Maker").select_option(maker)
    found = {stock.slug for stock in medium if stock.maker == maker}
    assert set(order_of(page, len(found))) == found

    page.get_by_label("Retests").select_option("yes")
    again = {stock.slug for stock in medium if stock.slug in found and len(stock.tests) > 1}
    assert set(order_of(page, len(again))) == again
    expect(page).to_have_url(re.compile(r"#speed=medium&maker=[^&]+&retested=yes$"))
    assert 0 < len(again) < len(found) < COUNT


def test_the_process_is_found_too(visit: Open, many: tuple[Series, Findings]) -> None:
    """What a stock's own page says of its process can be looked for, though the table does not show it."""
    wanted = {stock.slug for stock in many[0].stocks if stock.process == "chromogenic"}

    assert set(order_of(visit("#words=Chromogenic"), len(wanted))) == wanted


def test_nothing_found_is_said_and_can_be_undone(visit: Open) -> None:
    """An empty table says that it is empty; one button brings all stocks back, and the address is tidy again."""
    page = visit()
    assert not page.get_by_role("button", name="Start over").is_visible()
    page.get_by_label("Find").fill("no such film")
    order_of(page, 0)

    assert page.locator("#told").inner_text() == "No stock fits all of that."
    assert page.locator("#count").inner_text() == f"0 of {COUNT} stocks"
    page.get_by_role("button", name="Start over").click()
    assert len(order_of(page)) == COUNT
    expect_address(page, "index.html")
    assert page.evaluate("document.activeElement.id") == "words"


def test_columns_are_chosen(visit: Open, many: tuple[Series, Findings]) -> None:
    """Any measure can be shown or put away; what it shows is what the stock's page says, and leads there."""
    page = visit()
    assert page.get_by_role("columnheader", name="Gamma").count() == 0
    page.get_by_text("Columns", exact=True).click()
    page.get_by_role("checkbox", name="Gamma").check()
    page.get_by_role("checkbox", name="MTF50").uncheck()
    headings = page.locator("#summary thead th").all_inner_texts()
    quantities = quantities_of(*many, "gamma")
    texts = cells_of(page, "gamma")

    assert any("Gamma" in heading for heading in headings)
    assert not any("MTF50" in heading for heading in headings)
    expect_address(
        page,
        "#columns=speed_from_reference,average_gradient,gamma,shadow_gradient,highlight_gradient,base_plus_fog,"
        "rms_granularity",
    )
    for slug, quantity in quantities.items():
        first = re.match(r"[\d.]+", texts[slug])
        if quantity.value is None:
            assert texts[slug] == "not measured"
        else:
            assert first is not None
            assert float(first[0]) == pytest.approx(quantity.value, abs=0.006)
    link = page.locator("#stock-0003 td[data-label=Gamma] a")
    assert str(link.get_attribute("href")).endswith("/stocks/stock-0003/index.html#gamma")


def test_an_added_column_looks_like_the_others(visit: Open, many: tuple[Series, Findings]) -> None:
    """A cell made by the script has the same parts as one of the page, so that signs and errors are told alike."""
    page = visit("#columns=average_gradient,gamma")
    shape = """(cells) => cells.map(cell => cell.innerHTML.replace(/href="[^"]*"/, "").replace(/[\\d.−+]+/g, "0"))"""
    shown = page.eval_on_selector_all('td[data-label="Average gradient"]', shape)
    added = page.eval_on_selector_all('td[data-label="Gamma"]', shape)
    tidy = re.compile(r'\s*class="none"|\s+(?=>)')
    kinds = [{tidy.sub("", str(text)).replace('="img"', "=img") for text in column} for column in (shown, added)]

    assert kinds[0] == kinds[1]
    assert len(many[0].stocks) == len(shown) == len(added)


def test_a_measure_that_is_sorted_by_is_shown(visit: Open) -> None:
    """Sorting by a measure that has no column gives it one for as long."""
    page = visit("#sort=gamma", width=390)
    assert page.locator("#stock-0003 td[data-label=Gamma]").is_visible()
    page.get_by_label("Order by").select_option("mtf50")

    assert page.locator("td[data-label=Gamma]").count() == 0
    expect_address(page, "#sort=mtf50")


def test_an_address_restores_what_it_says(visit: Open) -> None:
    """Order, filters and columns come back from an address; what it does not know it passes over."""
    fragment = "#sort=gamma&order=up&words=quarry&speed=fast&columns=gamma,mtf50"
    page, other = visit(fragment), visit(fragment + "&maker=nobody&retested=perhaps&paper=2&columns=none")
    seen = "page => [...document.querySelectorAll('#summary tbody tr:not([hidden])')].map(row => row.textContent)"
    alike = page.evaluate(seen)

    assert alike
    assert other.evaluate(seen) == alike
    assert page.locator("#summary thead th").count() == 5
    plain = visit("#sort=nothing&speed=warp&columns=x,y&order=sideways")
    assert order_of(plain) == order_of(visit())
    assert plain.locator("#summary thead th").count() == 9


def test_back_and_forward_work_and_typing_leaves_one_step(visit: Open) -> None:
    """Each choice is a step of the browser's history; each letter typed is not."""
    page = visit()
    first = order_of(page)
    sort_button(page, "Average gradient").click()
    second = order_of(page)
    steps = page.evaluate("history.length")
    page.get_by_label("Find").press_sequentially("gull")
    typed = page.evaluate("history.length")
    page.get_by_label("Maker").select_option("Uplund Works")
    page.go_back()

    assert second != first
    assert typed == steps
    assert page.get_by_label("Find").input_value() == "gull"
    assert page.get_by_label("Maker").input_value() == ""
    expect_address(page, "#sort=average_gradient&words=gull")
    page.go_back()
    assert order_of(page) == first
    page.go_forward()
    page.get_by_label("Find").fill("")
    assert order_of(page) == second


def test_a_link_to_a_place_leaves_the_order(visit: Open) -> None:
    """The skip link moves to the content and takes nothing back."""
    page = visit("#sort=average_gradient")
    before = order_of(page)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")

    expect_address(page, "#content")
    assert order_of(page) == before


def test_two_stocks_are_picked_and_compared(context: BrowserContext, site: Path, listen: Listen) -> None:
    """Ticking two stocks gives each a link that names both tests; a third takes the place of the first."""
    page = context.new_page()
    complaints = listen(page)
    page.goto(f"{site.as_uri()}/index.html")
    page.get_by_label("compare Marl 400").check()
    assert page.locator("label + a").count() == 0
    page.get_by_label("compare =cmd").check()
    links = page.locator("label + a")

    assert page.locator("#pair").inner_text() == "A link to the comparison stands beside each of the two."
    assert links.all_inner_texts() == ["with =cmd|' /C calc'!A0", "with Marl 400"]
    target = "compare/index.html#a=marl-400&b=tern-100"
    assert [link.get_attribute("href") for link in links.all()] == [target, target]
    page.get_by_label("compare Marl 400").uncheck()
    assert links.count() == 0
    assert complaints == []


def test_a_third_tick_takes_the_place_of_the_first(visit: Open) -> None:
    """Never more than two stocks are ticked, and the links follow."""
    page = visit()
    for slug in ("stock-0001", "stock-0002", "stock-0003"):
        page.locator(f"#{slug} input").check()
    ticked = page.eval_on_selector_all("tbody input:checked", "all => all.map(one => one.closest('tr').id).sort()")
    hrefs = {str(link.get_attribute("href")) for link in page.locator("label + a").all()}

    assert ticked == ["stock-0002", "stock-0003"]
    assert hrefs == {"compare/index.html#a=stock-0002&b=stock-0003"}


def test_without_scripts_the_table_is_whole(visit: Open) -> None:
    """No dead controls: all rows and shown measures, headings that lead to definitions, absences to their reasons."""
    page = visit(javascript=False)

    assert not page.locator("#controls").is_visible()
    assert page.locator("#summary tbody tr").count() == COUNT
    assert page.locator("#summary button").count() == 0
    assert page.get_by_role("columnheader", name="Average gradient").get_by_role("link").count() == 1
    absent = page.locator("#summary a.none").first
    expect(absent).to_have_text("not measured")
    assert re.fullmatch(r"stocks/stock-\d{4}/index\.html#\w+", str(absent.get_attribute("href")))
    assert page.locator("#summary tbody tr").first.locator("td[data-label]").count() == 7


@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_moves_when_the_script_comes(visit: Open, width: int) -> None:
    """Every heading, row and control takes the same room before the script has run and after."""
    what = "#summary thead, #summary tbody :is(tr, td), #controls > *, #told, .key"
    where = """what => [...document.querySelectorAll(what)].map(element => {
        const box = element.getBoundingClientRect();
        return [element.id, Math.round(box.y + scrollY), Math.round(box.height)];
    })"""
    live = visit(width=width).evaluate(where, what)
    page = visit(width=width)
    page.route("**/summary.js", lambda route: route.fulfill(body="", content_type="text/javascript"))
    page.reload()
    let_draw(page)

    assert page.locator("tbody input").count() == 0
    assert page.evaluate(where, what) == live


@pytest.mark.parametrize("width", [320, 390, 760, 1000, 1280])
def test_no_state_scrolls_the_page_sideways(visit: Open, width: int) -> None:
    """However many columns are chosen, and sorted, only the table's own frame ever scrolls."""
    every = ",".join(MEASURE_BY_ID)
    for fragment in ("", "#sort=gamma", f"#sort=rms_granularity&columns={every}"):
        page = visit(fragment, width=width)
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")

        assert over <= 0, fragment


def test_a_phone_lists_stocks_and_orders_them(visit: Open) -> None:
    """On a phone a stock is a card of not half a screen, its sorted measure large, and its order is chosen."""
    page = visit(width=390)
    assert page.get_by_label("Order by").is_visible()
    page.get_by_label("Order by").select_option("average_gradient")
    page.get_by_label("Direction").select_option("up")
    put_in_order(page)
    card = page.locator("#summary tbody tr").first
    box = card.bounding_box()
    size = "cell => parseFloat(getComputedStyle(cell).fontSize)"

    expect_address(page, "#sort=average_gradient&order=up")
    assert box is not None
    assert box["height"] < 340
    assert card.locator("td.by").evaluate(size) > card.locator("td[data-label]:not(.by)").first.evaluate(size)
    assert not visit().get_by_label("Order by").is_visible()


@pytest.mark.parametrize("width", [1280, 390])
def test_what_is_pressed_is_large_enough(visit: Open, width: int) -> None:
    """Buttons, fields, values and ticks take at least 24 pixels each way, or stand in a line of text (WCAG 2.5.8)."""
    page = visit("#sort=gamma", width=width)
    page.get_by_text("Columns", exact=True).click()
    let_draw(page)
    small = page.eval_on_selector_all(
        "#stocks :is(button, select, input[type=search], label:has(input), summary, td > a, .unit a)",
        """all => all.filter(one => one.checkVisibility() && one.getClientRects().length).map(one => {
            const box = one.getBoundingClientRect();
            return [one.textContent.slice(0, 30), box.width, box.height];
        }).filter(([, width, height]) => height < 23.9 || width < 23.9)""",
    )

    assert small == []


def test_the_table_stays_a_table_on_a_phone(visit: Open) -> None:
    """Rows, their headings and cells keep their roles where they are laid out as cards; nothing unseen takes focus."""
    page = visit(width=390)

    assert page.get_by_role("table").count() == 1
    assert page.locator("thead button:visible").count() == 0
    assert page.get_by_role("rowheader").count() == COUNT
    assert page.get_by_role("cell").count() == COUNT * 8
