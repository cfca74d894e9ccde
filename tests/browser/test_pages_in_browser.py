"""Pages in a browser: from disk and below a sub-path, narrow and wide, with and without scripts, by keyboard."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from chromium import IN_CHROMIUM, Listen

pytestmark = IN_CHROMIUM


def order_of(page: Page) -> list[str]:
    names: list[str] = page.eval_on_selector_all("#summary tbody tr:not([hidden])", "rows => rows.map(row => row.id)")
    return names


def test_a_picture_of_grain_is_shown_pixel_for_pixel(browser: Browser, site: Path) -> None:
    """Grain is never scaled: on a phone its frame scrolls and the picture keeps its size."""
    context = browser.new_context(viewport={"width": 390, "height": 800})
    page = context.new_page()
    page.goto(f"{site.as_uri()}/stocks/tern-100/index.html", wait_until="load")
    size = page.eval_on_selector(
        '#view-even img[data-test="tern-100/2026-04-01-b"]',
        "image => [image.naturalWidth, image.clientWidth, image.naturalHeight, image.clientHeight]",
    )
    frame = page.eval_on_selector("#view-even .frame", "frame => [frame.clientWidth, frame.scrollWidth]")
    bar = page.eval_on_selector("#view-even .scale rect", "bar => bar.getBoundingClientRect().width")
    context.close()

    assert size == [600, 600, 400, 400]
    assert frame[0] < 390
    assert frame[1] >= 600
    assert bar == pytest.approx(0.5 * 250, abs=1)


def test_a_scale_bar_keeps_to_its_picture(browser: Browser, site: Path) -> None:
    """Where a picture is scaled, its bar is scaled with it."""
    context = browser.new_context(viewport={"width": 390, "height": 800})
    page = context.new_page()
    page.goto(f"{site.as_uri()}/stocks/tern-100/index.html", wait_until="load")
    shown = page.eval_on_selector("#view-whole img", "image => image.getBoundingClientRect().width")
    bar = page.eval_on_selector("#view-whole .scale rect", "bar => bar.getBoundingClientRect().width")
    declared = page.eval_on_selector("#view-whole .scale rect", "bar => bar.width.baseVal.value")
    context.close()

    assert bar / shown == pytest.approx(declared / 1280, abs=0.005)


def test_the_summary_sorts_and_its_order_is_in_the_address(context: BrowserContext, listen: Listen, site: Path) -> None:
    """A click on a heading orders by it, a second click turns it, and the address carries it to another reader."""
    page = context.new_page()
    complaints = listen(page)
    page.goto(f"{site.as_uri()}/index.html")
    first = order_of(page)
    page.click('th[data-column="rms_granularity"] button')
    sorted_once = order_of(page)
    address = page.url
    page.click('th[data-column="name"] button')
    by_name = order_of(page)
    page.click('th[data-column="name"] button')
    turned = order_of(page)
    page.goto("about:blank")
    page.goto(address)

    assert first == ["marl-400", "tern-100"]
    assert sorted_once == ["tern-100", "marl-400"]  # the reference has no value, and so stands last
    assert address.endswith("#by=rms_granularity")
    assert page.get_attribute('th[data-column="rms_granularity"]', "aria-sort") == "descending"
    assert order_of(page) == sorted_once
    assert by_name == ["tern-100", "marl-400"]  # its name begins with an equals sign
    assert turned == ["marl-400", "tern-100"]
    assert complaints == []


def test_the_summary_finds(context: BrowserContext, site: Path) -> None:
    """Words and box speed narrow the table, the number of rows is said, and the address carries both."""
    page = context.new_page()
    page.goto(f"{site.as_uri()}/index.html")
    page.fill("#find", "quarry marl")
    found = order_of(page)
    said = page.text_content("#count")
    page.select_option("#speed", "100")
    none = order_of(page)

    assert found == ["marl-400"]
    assert said == "1 of 2"
    assert none == []
    assert page.url.endswith("#find=quarry+marl&speed=100")


def test_a_measure_that_is_not_shown_can_be_asked_for(context: BrowserContext, site: Path) -> None:
    """Ordering by any measure adds its column."""
    page = context.new_page()
    page.goto(f"{site.as_uri()}/index.html")
    hidden = page.is_visible('td[data-column="gamma"]')
    page.select_option("#by", "gamma")

    assert not hidden
    assert page.is_visible('td[data-column="gamma"]')


def test_without_scripts_the_summary_is_whole(browser: Browser, site: Path) -> None:
    """Nothing asks for a script that does not run: no dead controls, every row and number there."""
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{site.as_uri()}/index.html")
    controls, rows = page.is_visible("#controls"), page.locator("#summary tbody tr").count()
    page.goto(f"{site.as_uri()}/stocks/tern-100/index.html")
    charts = page.locator("svg.chart").count()
    context.close()

    assert not controls
    assert rows == 2
    assert charts == 7
