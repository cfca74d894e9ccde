"""Pages are for everyone: every kind of page by assistive technology, keyboard, small screen, light and dark.

What axe-core can judge it judges (WCAG 2.2 A and AA, and its best practices); the rest is looked at here.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from chromium import IN_CHROMIUM, Listen, expect_address, new_context, resize, wait_until

STOCK = "stocks/tern-100/index.html"
REDIRECT = "stocks/marl-iso-400/2026-03-14/index.html"
PAGES = {
    "summary": "index.html",
    "stock": STOCK,
    "reference": "stocks/marl-400/index.html",
    "superseded test": "stocks/marl-400/2026-03-14/index.html",
    "withdrawn test": "stocks/gull-25/2026-02-01/index.html",
    "history": "stocks/marl-400/history/index.html",
    "against the reference": "compare/tern-100/index.html",
    "questions": "questions/index.html",
    "question": "questions/grain/index.html",
    "method": "method/index.html",
    "study": "method/study/index.html",
    "data": "data/index.html",
    "own page": "pages/about/index.html",
    "not found": "404.html",
    "redirect": REDIRECT,
}
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
RULES_OF_LOOKS = ("color-contrast", "link-in-text-block", "target-size", "scrollable-region-focusable", "region")

pytestmark = IN_CHROMIUM

Visit = Callable[..., Page]

FOCUSABLE = "a[href], button, input, select, textarea, summary, iframe, [tabindex]:not([tabindex='-1'])"
LIST_STOPS = """selector => {
    window.stops = [...document.querySelectorAll(selector)].filter(element => {
        const within = element.closest("details:not([open])");
        const shown = !within || element.matches("summary") && element.parentElement === within;
        return shown && !element.disabled && element.checkVisibility({visibilityProperty: true});
    });
    return stops.length;
}"""
TELL_STOP = """() => {
    const element = document.activeElement, box = element.getBoundingClientRect(), style = getComputedStyle(element);
    return {
        at: stops.indexOf(element),
        left: element === document.body,
        words: element.tagName + " " + (element.textContent || element.id || element.className).trim().slice(0, 40),
        marked: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
        seen: box.width > 0 && box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
        inside: !!element.closest("main, footer"),
    };
}"""
SCROLL_THROUGH = """async () => {
    let shift = 0;
    const observer = new PerformanceObserver(list => list.getEntries().forEach(entry => { shift += entry.value; }));
    observer.observe({type: "layout-shift", buffered: true});
    const frame = () => new Promise(requestAnimationFrame);
    for (let at = 0; at < document.documentElement.scrollHeight; at += innerHeight) {
        scrollTo({top: at, behavior: "instant"});
        await frame();
        await frame();
    }
    while ([...document.images].some(image => image.checkVisibility() && !image.complete)) await frame();
    await frame();
    await frame();
    observer.takeRecords().forEach(entry => { shift += entry.value; });
    return shift;
}"""


@pytest.fixture(scope="module")
def axe() -> Axe:
    return Axe()


@pytest.fixture
def window(browser: Browser) -> Iterator[Visit]:
    """Open a window in which a redirect is held where it is."""
    with ExitStack() as opened:

        def window(width: int = 1280, **settings: Any) -> Page:
            context = new_context(browser, viewport={"width": width, "height": 800}, **settings)
            page = opened.enter_context(context).new_page()
            page.route("**/redirect.js", lambda route: route.fulfill(body="", content_type="text/javascript"))
            return page

        yield window


def go(page: Page, address: str) -> None:
    """Open a page anew: two addresses that differ in their fragments alone are one page to a browser."""
    page.goto("about:blank")
    page.goto(address, wait_until="load")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(window: Visit, host: str, axe: Axe, scheme: str) -> None:
    """No violation on any kind of page, in light on a desktop and in dark on a phone, which are told by the paper."""
    width, paper = {"light": (1280, "rgb(253, 253, 253)"), "dark": (390, "rgb(13, 13, 13)")}[scheme]
    options: dict[str, Any] = {"resultTypes": ["violations"], "runOnly": {"type": "tag", "values": RULES}}
    if scheme == "dark":
        # What follows neither colours nor width was judged in the first look.
        options["runOnly"] = {"type": "rule", "values": RULES_OF_LOOKS}
    page = window(width, color_scheme=scheme)
    found, papers = {}, set()
    for kind, address in PAGES.items():
        go(page, host + address)
        papers.add(page.evaluate("getComputedStyle(document.body).backgroundColor"))
        judged = axe.run(page, options=options)
        if judged.violations_count:
            found[kind] = judged.generate_report()

    assert found == {}, "\n".join(found.values())
    assert papers == {paper}


def test_nothing_moves_fails_or_comes_from_elsewhere(window: Visit, host: str, listen: Listen) -> None:
    """While a reader scrolls through each page nothing shifts, the browser says nothing, all is asked of one host."""
    shifts, asked = {}, set()
    page = window(390, reduced_motion="no-preference")
    complaints = listen(page)
    page.on("request", lambda request: asked.add(request.url))
    for kind, address in PAGES.items():
        go(page, host + address)
        shifts[kind] = page.evaluate(SCROLL_THROUGH)

    assert {kind: shift for kind, shift in shifts.items() if shift > 0.001} == {}
    assert complaints == []
    assert [address for address in asked if not address.startswith(host)] == []


def test_nothing_sticks_out_at_any_width(window: Visit, site: Path, listen: Listen) -> None:
    """Opened from disk, no page scrolls sideways from a small phone (320, WCAG 2.2, 1.4.10) to a desktop."""
    page = window()
    complaints = listen(page)
    wider = {}
    for kind, address in PAGES.items():
        go(page, f"{site.as_uri()}/{address}")
        for width in (320, 390, 760, 1000, 1280):
            resize(page, width, 800)
            over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            if over > 0:
                wider[f"{kind} at {width}"] = over

    assert wider == {}
    assert complaints == []


def test_the_keyboard_reaches_everything_in_order_and_is_seen(window: Visit, host: str) -> None:
    """Tab stops at each link and control in the order of the page, marked and on the screen; the skip link first."""
    page = window()
    lost: dict[str, Any] = {}
    for kind, address in PAGES.items():
        go(page, host + address)
        expected = page.evaluate(LIST_STOPS, FOCUSABLE)
        stops: list[Any] = []
        # A browser may stop at frames that scroll, too.
        for _ in range(2 * expected):
            page.keyboard.press("Tab")
            stop = page.evaluate(TELL_STOP)
            if stop["left"] or (stops and stop["at"] == 0):
                break
            stops.append(stop)
        order = [stop["at"] for stop in stops if stop["at"] >= 0]
        wrong = [stop["words"] for stop in stops if not (stop["marked"] and stop["seen"])]
        if order != list(range(expected)) or wrong:
            lost[kind] = {"missed": sorted(set(range(expected)) - set(order)), "order": order, "not seen": wrong}
        if kind != "redirect":
            page.evaluate("document.activeElement.blur(), document.querySelector('.skip').focus()")
            page.keyboard.press("Enter")
            # A browser moves the focus with the next frame that it draws.
            wait_until(page, "!document.activeElement.matches('.skip')")
            page.keyboard.press("Tab")
            if stops[0]["words"] != "A Skip to the content" or not page.evaluate(TELL_STOP)["inside"]:
                lost[f"{kind}, skip link"] = stops[0]["words"]

    assert lost == {}


def test_nothing_moves_where_the_reader_asks_for_rest(window: Visit, host: str) -> None:
    """With reduced motion no page scrolls smoothly, nothing fades or runs."""
    page = window(reduced_motion="reduce")
    moving = {}
    for kind, address in PAGES.items():
        go(page, host + address)
        moves = page.evaluate(
            """() => [...document.querySelectorAll('*')].filter(element => {
                const style = getComputedStyle(element);
                return style.scrollBehavior === 'smooth' || parseFloat(style.animationDuration) > 0
                    || parseFloat(style.transitionDuration) > 0;
            }).map(element => element.tagName + '.' + element.className)"""
        )
        if moves:
            moving[kind] = moves

    assert moving == {}
    page = window(reduced_motion="no-preference")
    page.goto(host + PAGES["stock"])
    assert page.evaluate("getComputedStyle(document.documentElement).scrollBehavior") == "smooth"


def test_the_surround_of_pictures_is_the_same_grey_in_light_and_dark(window: Visit, host: str) -> None:
    """Prints are judged on a neutral surround, whatever colour the page has."""
    surround = "getComputedStyle(document.querySelector('#view-whole .prints').closest('.pair')).backgroundColor"
    greys = []
    for scheme in ("light", "dark"):
        page = window(color_scheme=scheme)
        page.goto(host + PAGES["stock"])
        greys.append(page.evaluate(surround))

    assert greys == ["rgb(118, 118, 118)"] * 2


def test_a_former_address_leads_on_and_keeps_the_place(window: Visit, host: str) -> None:
    """A page at a former slug leads to the new one and takes a fragment along, such as a measure's; plain without."""
    for settings, end in (({}, "#gamma"), ({"java_script_enabled": False}, "")):
        page = window(**settings)
        page.unroute_all()
        page.goto(f"{host}{REDIRECT}#gamma")
        expect_address(page, f"stocks/marl-400/2026-03-14/index.html{end}")
