"""Debian's Chromium for the tests that need a real browser: where it is, how it starts, and when it may be missing."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

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
