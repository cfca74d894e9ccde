"""Debian's Chromium for the tests that need a real browser: where it is, how it starts, and how it is waited for."""

import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

# The same browser without its windows starts in half the time, where it is installed.
_BUILDS = (Path("/usr/bin/chromium-headless-shell"), Path("/usr/bin/chromium"))
CHROMIUM = next((path for path in _BUILDS if path.exists()), _BUILDS[-1])
_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

# A user without Chromium may go without these tests; the checks before a change lands may not.
NEEDS_CHROMIUM = pytest.mark.skipif(not CHROMIUM.exists() and not os.environ.get("CI"), reason="no Chromium here")

# As long as Playwright waits for all else: a test ends when what it waits for is there, on a busy machine too.
expect.set_options(timeout=30_000)

Listen = Callable[[Page], list[str]]
"""Starts to listen to a page and returns the list that fills with every complaint of the browser."""

IN_CHROMIUM = [pytest.mark.browser, NEEDS_CHROMIUM]


@contextmanager
def open_browser() -> Iterator[Browser]:
    """Give a headless Chromium with an empty profile."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=_ARGUMENTS)
        yield browser
        browser.close()


def new_context(browser: Browser, **settings: Any) -> BrowserContext:
    """Open an empty profile of a reader who asked for less motion: what is scrolled to is there at once.

    A page that still glides is measured in one place and pointed at in another. A test of what moves asks for
    `reduced_motion="no-preference"`; `settings` are those of Playwright.
    """
    return browser.new_context(**{"reduced_motion": "reduce"} | settings)


def wait_until(page: Page, condition: str) -> None:
    """Wait until an expression holds on a page, looked at in every frame that the browser draws."""
    page.wait_for_function(f"() => {condition}")


def let_draw(page: Page) -> None:
    """Wait until the browser has drawn all that is known now; what waited for the next frame has happened then."""
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")


def resize(page: Page, width: int, height: int) -> None:
    """Make a window so large, and wait until the page has been told and laid out anew."""
    page.set_viewport_size({"width": width, "height": height})
    wait_until(page, f"innerWidth === {width}")
    let_draw(page)


def expect_address(page: Page, end: str) -> None:
    """Wait until a page's address ends so."""
    expect(page).to_have_url(re.compile(re.escape(end) + "$"))
