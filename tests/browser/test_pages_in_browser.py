"""Pages in a browser: from disk and below a sub-path, narrow and wide, with and without scripts, by keyboard."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from chromium import IN_CHROMIUM, new_context

pytestmark = IN_CHROMIUM


def test_a_picture_of_grain_is_shown_pixel_for_pixel(browser: Browser, site: Path) -> None:
    """Grain is never scaled: on a phone its frame scrolls and the picture keeps its size."""
    with new_context(browser, viewport={"width": 390, "height": 800}) as context:
        page = context.new_page()
        page.goto(f"{site.as_uri()}/stocks/tern-100/index.html", wait_until="load")
        size = page.eval_on_selector(
            '#view-even img[data-test="tern-100/2026-04-01-b"]',
            "image => [image.naturalWidth, image.clientWidth, image.naturalHeight, image.clientHeight]",
        )
        frame = page.eval_on_selector("#view-even .frame", "frame => [frame.clientWidth, frame.scrollWidth]")
        bar = page.eval_on_selector("#view-even .scale rect", "bar => bar.getBoundingClientRect().width")

    assert size == [600, 600, 400, 400]
    assert frame[0] < 390
    assert frame[1] >= 600
    assert bar == pytest.approx(0.5 * 250, abs=1)


def test_a_scale_bar_keeps_to_its_picture(browser: Browser, site: Path) -> None:
    """Where a picture is scaled, its bar is scaled with it."""
    with new_context(browser, viewport={"width": 390, "height": 800}) as context:
        page = context.new_page()
        page.goto(f"{site.as_uri()}/stocks/tern-100/index.html", wait_until="load")
        shown = page.eval_on_selector("#view-whole img", "image => image.getBoundingClientRect().width")
        bar = page.eval_on_selector("#view-whole .scale rect", "bar => bar.getBoundingClientRect().width")
        declared = page.eval_on_selector("#view-whole .scale rect", "bar => bar.width.baseVal.value")

    assert bar / shown == pytest.approx(declared / 1280, abs=0.005)


def test_without_scripts_a_stock_has_its_charts(browser: Browser, site: Path) -> None:
    """Curves are drawn into the page, whatever runs there."""
    with new_context(browser, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(f"{site.as_uri()}/stocks/tern-100/index.html")
        charts = page.locator("svg.chart").count()

    assert charts == 7
