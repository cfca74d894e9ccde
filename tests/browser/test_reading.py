"""Values read off a chart in a browser: by pointer, touch and keyboard, against the numbers that it was drawn from."""

import csv
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from basefog.records.content import FloatArray
from chromium import IN_CHROMIUM, Listen, let_draw, new_context, resize, wait_until

STOCK = "stocks/tern-100/index.html"
CURVE = "data/tern-100/2026-04-01-b/curve.csv"
HINT = "Point, touch or use the arrow keys to read values off the chart, as drawn, to 0.01."
NAME = "=cmd|' /C calc'!A0"
"""What the invented stock is called."""

PLACES = (0.1, 0.3, 0.5, 0.75, 0.95)
"""Shares of the curve's width at which it is read."""

# A chart as another script adds it: logarithmic across from 1 to 100, with two lines through known places.
ADDED = """
<figure class="chart" id="late"><svg class="chart" viewBox="0 0 200 100" width="200" height="100" data-x="0 1 200 100"
 data-y="100 0 0 2" data-log="x" data-x-name="cycles/mm" data-y-name="response">
<g class="mark-reference-curve"><path data-line="Marl-400" d="M0 0L100 50"/></g>
<g class="mark-stock-curve"><path data-line="Tern 100" d="M0 0L200 100"/></g></svg>
<output class="reading" aria-live="off"></output></figure>
"""

pytestmark = IN_CHROMIUM


@pytest.fixture
def page(context: BrowserContext, site: Path, listen: Listen) -> Iterator[Page]:
    """Give the stock's page, and fail where reading makes the browser complain."""
    page = context.new_page()
    complaints = listen(page)
    page.goto(f"{site.as_uri()}/{STOCK}", wait_until="load")
    yield page
    assert complaints == []


@pytest.fixture
def phone(browser: Browser, site: Path) -> Iterator[Page]:
    """Give the stock's page on a phone, under a finger."""
    with new_context(browser, viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True) as context:
        page = context.new_page()
        page.goto(f"{site.as_uri()}/{STOCK}", wait_until="load")
        yield page


@pytest.fixture(scope="module")
def curve(site: Path) -> dict[str, FloatArray]:
    """Return the published curve by its columns."""
    with (site / CURVE).open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    return {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}


def chart_of(page: Page, chart: str = "curve") -> Locator:
    return page.locator(f"#{chart} svg")


def shown(page: Page, chart: str = "curve") -> list[list[str]]:
    """Return the rows of what is read off a chart: name, value, ends of its band."""
    cells = page.locator(f"#{chart} .reading span").all_text_contents()
    return [cells[at : at + 3] for at in range(0, len(cells), 3)]


@contextmanager
def reading_anew(page: Page, chart: str = "curve") -> Iterator[None]:
    """Wait at the end of the block until something else is read than before: a browser tells fingers when it can."""
    reading = page.locator(f"#{chart} .reading")
    before = reading.text_content()
    yield
    expect(reading).not_to_have_text(before or "")


def number(text: str) -> float:
    assert "-" not in text, "a minus is no hyphen"
    return float(text.replace("−", "-"))


def assert_true(page: Page, curve: dict[str, FloatArray]) -> float:
    """Hold a reading of the curve against the published numbers, and return where it was taken."""
    (x_name, x_text, _), (y_name, _, _), (name, value, band) = shown(page)
    x = number(x_text)
    low, high = band.split(" to ")

    assert (x_name, y_name, name) == ("relative log exposure (log10)", "density", NAME)
    for column, text in (("density", value), ("low", low), ("high", high)):
        truth = np.interp(x, curve["log_exposure"], curve[column])
        assert abs(number(text) - truth) <= 0.01, column
    # The mark lies where the value was read.
    circle = page.locator("#curve .mark-reading circle").bounding_box()
    box = chart_of(page).bounding_box()
    assert circle is not None
    assert box is not None
    assert box["y"] < circle["y"] < box["y"] + box["height"]
    return x


def spots(page: Page) -> Iterator[tuple[float, float]]:
    """Yield places on the screen over the curve, from left to right."""
    box = page.locator("#curve path[data-line]").bounding_box()
    assert box is not None
    for share in PLACES:
        yield box["x"] + share * box["width"], box["y"] + box["height"] / 2


def test_a_mouse_reads_the_published_curve(page: Page, curve: dict[str, FloatArray]) -> None:
    """Wherever it points, density and band are those of the published table to a hundredth; gone, they are gone."""
    chart_of(page).scroll_into_view_if_needed()
    places = []
    for spot in spots(page):
        with reading_anew(page):
            page.mouse.move(*spot)
        places.append(assert_true(page, curve))
    page.mouse.move(2, 2)

    reach = curve["log_exposure"][-1] - curve["log_exposure"][0]
    assert places == pytest.approx([curve["log_exposure"][0] + share * reach for share in PLACES], abs=0.03)
    expect(page.locator("#curve .reading")).to_have_text(HINT)
    assert page.locator("#curve .mark-reading > *").count() == 0


def test_a_click_holds_what_is_read(page: Page, curve: dict[str, FloatArray]) -> None:
    """After a click the mouse may leave, for the figures to be copied; Esc lets go."""
    chart_of(page).scroll_into_view_if_needed()
    first, second, *_ = spots(page)
    with reading_anew(page):
        page.mouse.click(*first)
    held = assert_true(page, curve)
    page.mouse.move(*second)
    page.mouse.move(2, 2)
    let_draw(page)

    assert number(shown(page)[0][1]) == held
    page.keyboard.press("Escape")
    expect(page.locator("#curve .reading")).to_have_text(HINT)


def test_the_keyboard_reads_the_published_curve(page: Page, curve: dict[str, FloatArray]) -> None:
    """Arrows lead by 0.05 and, with Shift or as Page keys, by 0.30; Home and End lead to the ends."""
    chart_of(page).focus()
    assert_true(page, curve)
    page.keyboard.press("Home")
    start = assert_true(page, curve)
    page.keyboard.press("End")
    end = assert_true(page, curve)
    page.keyboard.press("ArrowRight")
    beyond = assert_true(page, curve)
    page.keyboard.press("Home")
    page.keyboard.press("PageUp")
    places = [assert_true(page, curve)]
    for key in ("ArrowRight", "ArrowUp", "Shift+ArrowRight", "PageDown", "ArrowLeft", "ArrowDown"):
        page.keyboard.press(key)
        places.append(assert_true(page, curve))

    assert [start, end] == pytest.approx([curve["log_exposure"][0], curve["log_exposure"][-1]], abs=0.01)
    assert beyond == end
    assert np.diff(places) == pytest.approx([0.05, 0.05, 0.30, -0.30, -0.05, -0.05])


def test_keys_of_the_browser_stay_its_own(page: Page) -> None:
    """Held with Alt, an arrow leads back in the browser's history and moves no reading."""
    chart_of(page).focus()
    before = shown(page)
    page.evaluate("addEventListener('keydown', event => { window.prevented = event.defaultPrevented; })")
    page.keyboard.press("Alt+ArrowUp")

    assert shown(page) == before
    assert page.evaluate("window.prevented") is False


def test_a_finger_reads_the_published_curve(phone: Page, curve: dict[str, FloatArray]) -> None:
    """A tap reads, and a finger that moves along the chart reads on."""
    chart_of(phone).scroll_into_view_if_needed()
    for spot in spots(phone):
        with reading_anew(phone):
            phone.touchscreen.tap(*spot)
        assert_true(phone, curve)
    hand = phone.context.new_cdp_session(phone)
    places = []
    for index, (x, y) in enumerate(spots(phone)):
        kind = "touchMove" if index else "touchStart"
        with reading_anew(phone):
            hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
        places.append(assert_true(phone, curve))
    hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})

    assert np.all(np.diff(places) > 0.1)


def test_a_finger_still_scrolls_the_page(phone: Page) -> None:
    """What begins on a chart and goes up or down is the page's."""
    chart_of(phone).scroll_into_view_if_needed()
    before = phone.evaluate("scrollY")
    x, y = list(spots(phone))[2]
    hand = phone.context.new_cdp_session(phone)
    hand.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 11):
        hand.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": y - 15 * step}]})
    hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    wait_until(phone, f"scrollY > {before} + 50")


def test_every_chart_with_a_curve_can_be_read(page: Page) -> None:
    """Each is a slider with a name, bounds and a value in words; one that has no curve is none."""
    charts = page.eval_on_selector_all(
        "figure.chart", "all => all.filter(one => one.querySelector('svg')).map(o => o.id)"
    )
    for chart in charts:
        chart_of(page, chart).focus()
        found = page.eval_on_selector(
            f"#{chart} svg",
            """svg => [
                svg.getAttribute("role"),
                ...["now", "min", "max"].map(end => Number(svg.getAttribute("aria-value" + end))),
                svg.getAttribute("aria-valuetext"),
                document.getElementById(svg.getAttribute("aria-labelledby")).textContent,
            ]""",
        )
        role, now, low, high, told, name = found
        rows = shown(page, chart)
        assert role == "slider", chart
        assert low <= now <= high, chart
        assert low < high, chart
        assert NAME in name, chart
        # The frames have a line a patch; the one that frames are matched by goes by the film's name alone.
        [own] = [row for row in rows if row[0] == NAME]
        assert told.startswith(f"{rows[0][0]} {rows[0][1]}"), chart
        assert f"{NAME} {own[1]}" in told, chart

    assert len(charts) == 7
    assert page.locator("#patches [role=slider]").count() == 0


def test_readings_are_told_once(page: Page) -> None:
    """A slider's value is told as it changes; the same words beside it are not told again."""
    assert page.get_attribute("#curve .reading", "aria-live") == "off"


def test_reading_moves_nothing(page: Page) -> None:
    """The place of the readings is kept from the start, with and without them."""
    layout = "() => [...document.querySelectorAll('figure.chart')].map(one => one.getBoundingClientRect().height)"
    for width in (1280, 390):
        resize(page, width, 800)
        before = page.evaluate(layout)
        heights = []
        for chart in ("curve", "tones", "spectrum"):
            chart_of(page, chart).focus()
            heights.append(page.evaluate(layout))
            page.keyboard.press("Escape")
        assert all(height == pytest.approx(before, abs=0.5) for height in heights), width


def test_a_chart_added_later_is_read_too(page: Page) -> None:
    """Once it is announced: by a logarithmic axis, two lines, of which one ends early."""
    page.evaluate(
        """html => {
            const section = document.querySelector("#curve-title").parentElement;
            section.insertAdjacentHTML("beforeend", html);
            section.dispatchEvent(new CustomEvent("added", {bubbles: true}));
        }""",
        ADDED,
    )
    chart_of(page, "late").focus()
    page.keyboard.press("Home")
    at_start = shown(page, "late")
    page.keyboard.press("End")
    at_end = shown(page, "late")
    page.keyboard.press("Escape")
    expect(page.locator("#late .reading")).to_be_empty()
    box = chart_of(page, "late").bounding_box()
    assert box is not None
    with reading_anew(page, "late"):
        page.mouse.move(box["x"] + box["width"] / 4, box["y"] + 20)

    assert at_start == [
        ["cycles/mm", "1", ""],
        ["response", "", ""],
        ["Tern 100", "2.00", ""],
        ["Marl-400", "2.00", ""],
    ]
    assert at_end == [["cycles/mm", "100", ""], ["response", "", ""], ["Tern 100", "0.00", ""], ["Marl-400", "–", ""]]
    place, _, *values = shown(page, "late")
    assert float(place[1]) == pytest.approx(10**0.5, abs=0.02)
    assert values == [["Tern 100", "1.50", ""], ["Marl-400", "1.50", ""]]


def test_without_scripts_nothing_asks_to_be_read_off(browser: Browser, site: Path) -> None:
    """No dead place for readings; the numbers are in the tables."""
    with new_context(browser, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(f"{site.as_uri()}/{STOCK}")
        seen = [reading.is_visible() for reading in page.locator(".reading").all()]
        sliders, steps = page.locator("[role=slider]").count(), page.locator("#tones ~ details tbody tr").count()

    assert len(seen) == 7
    assert not any(seen)
    assert sliders == 0
    assert steps > 5
