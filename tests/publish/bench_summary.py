"""How long the summary of many stocks takes: to make, to open in Chromium, and to sort.

    PYTHONPATH=tests python -m publish.bench_summary [STOCKS]

It makes the page of 1,000 invented stocks (or STOCKS) from findings that cost nothing, and tells how many bytes a row
takes; then, as the median and the worst of several runs on a wide window and on a phone, the milliseconds from the
start of navigation to the end of the page's script and its first layout, and those from a click to sort to the end of
the layout that follows.
"""

import gzip
import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser, Page

from chromium import new_context, open_browser
from publish.many_stocks import many_stocks, write_summary

RUNS = 9
OPENED = """() => {
    document.body.getBoundingClientRect();
    const [entry] = performance.getEntriesByType("navigation");
    const paint = performance.getEntriesByName("first-contentful-paint")[0];
    return [entry.domContentLoadedEventEnd, performance.now(), paint ? paint.startTime : NaN];
}"""
SORTED = """([id, order]) => {
    const form = document.getElementById("controls");
    const start = performance.now();
    form.elements.sort.value = id;
    form.elements.order.value = order;
    form.elements.sort.dispatchEvent(new Event("input", { bubbles: true }));
    const handled = performance.now();
    document.body.getBoundingClientRect();
    document.getElementById("summary").offsetHeight;
    return [handled - start, performance.now() - start];
}"""
AT_REST = "() => new Promise(done => requestAnimationFrame(() => requestIdleCallback(() => done())))"
SORTS = (("average_gradient", ""), ("average_gradient", "up"), ("rms_granularity", ""), ("gamma", ""), ("name", ""))


def main(count: int = 1000) -> None:
    """Print what a summary of so many stocks costs."""
    with tempfile.TemporaryDirectory() as name, open_browser() as browser:
        folder, start = Path(name), time.perf_counter()
        size = write_summary(folder, *many_stocks(count))
        packed = len(gzip.compress((folder / "index.html").read_bytes()))
        _say(f"{count} stocks, made in {time.perf_counter() - start:.1f} s")
        _say(f"index.html {size / 1000:.0f} kB, {size / count:.0f} bytes a row; {packed / 1000:.0f} kB compressed")
        for width in (1280, 390):
            _try_at(browser, folder, width)


def _try_at(browser: Browser, folder: Path, width: int) -> None:
    opened: list[list[float]] = []
    sorts: dict[str, list[list[float]]] = {}
    for run in range(RUNS):
        context = new_context(browser, viewport={"width": width, "height": 900})
        page = context.new_page()
        page.goto(f"{folder.as_uri()}/index.html", wait_until="domcontentloaded")
        opened.append(page.evaluate(OPENED))
        if run < 3:
            _sort(page, sorts)
        context.close()
    loaded, usable, painted = zip(*opened, strict=True)
    _say(f"{width} px: DOM and script done {_of(loaded)}, first layout done {_of(usable)}, painted {_of(painted)}")
    for name, times in sorts.items():
        handled, laid_out = zip(*times, strict=True)
        _say(f"    sort {name}: handled {_of(handled)}, laid out {_of(laid_out)}")


def _sort(page: Page, sorts: dict[str, list[list[float]]]) -> None:
    page.wait_for_load_state("load")
    page.evaluate(AT_REST)
    for measure, order in SORTS:
        name = f"{measure} {order}".strip()
        sorts.setdefault(name, []).append(page.evaluate(SORTED, [measure, order]))
        page.evaluate(AT_REST)


def _of(times: tuple[float, ...]) -> str:
    return f"{statistics.median(times):.0f} ms (worst {max(times):.0f})"


def _say(words: str) -> None:
    sys.stdout.write(words + "\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
