"""A stock's page in a browser: what can be cited, what stands on paper, and colours that the reader chose."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from chromium import IN_CHROMIUM, new_context

STOCK = "stocks/tern-100/index.html"
HOME = "stocks/tern-100/2026-04-01-b/index.html"
LEAST_TARGET_PX = 24
"""WCAG 2.2, success criterion 2.5.8."""

OPACITY = "handles => getComputedStyle(handles).opacity"

pytestmark = IN_CHROMIUM


@pytest.fixture
def page(context: BrowserContext, site: Path) -> Page:
    page = context.new_page()
    page.goto(f"{site.as_uri()}/{STOCK}", wait_until="load")
    return page


@pytest.fixture
def phone(browser: Browser, site: Path) -> Iterator[Page]:
    with new_context(browser, viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True) as context:
        page = context.new_page()
        page.goto(f"{site.as_uri()}/{STOCK}", wait_until="load")
        yield page


def test_the_address_of_a_measure_shows_under_the_hand_and_in_focus(page: Page) -> None:
    """Quiet at rest; seen where the pointer is and where the keyboard is."""
    handles = page.locator("#gamma .handles")
    expect(handles).to_have_css("opacity", "0")
    page.hover("#gamma")
    expect(handles).to_have_css("opacity", "1")
    page.hover("h1")
    expect(handles).to_have_css("opacity", "0")
    handles.locator("a").first.focus()
    expect(handles).to_have_css("opacity", "1")


def test_a_finger_always_sees_where_it_may_press(phone: Page) -> None:
    """Where nothing hovers, addresses and files are always there, each large enough for a finger."""
    assert {handles.evaluate(OPACITY) for handles in phone.locator(".handles").all()} == {"1"}
    sizes = [link.bounding_box() for link in phone.locator(".handles a, .files a, .contents a").all()]
    assert len(sizes) > 40
    assert all(box and box["width"] >= LEAST_TARGET_PX and box["height"] >= LEAST_TARGET_PX for box in sizes)


@pytest.mark.parametrize("what", ["gamma", "view-whole", "curve"])
def test_a_link_leads_to_the_thing_itself_which_is_then_marked(page: Page, what: str) -> None:
    """From the stock's page to the test's own, where what was meant stands out from its like."""
    name = {"gamma": "Gamma", "view-whole": "Whole print", "curve": "Characteristic curve"}[what]
    page.get_by_role("link", name=f"Link to this: {name}", exact=True).click()
    page.wait_for_url(f"**/{HOME}#{what}")
    marked = page.eval_on_selector_all(
        "tr[id] > :first-child, .view, figure.chart",
        """all => all.filter(one => {
            const style = getComputedStyle(one);
            return style.outlineStyle !== "none" && style.outlineWidth !== "0px" || style.boxShadow !== "none";
        }).map(one => one.id || one.parentElement.id)""",
    )

    assert marked == [what]


def test_paper_gets_a_report(browser: Browser, site: Path) -> None:
    """From a dark screen too: ink on white, verdict and measures first, no controls, the lasting address last."""
    with new_context(browser, viewport={"width": 700, "height": 900}, color_scheme="dark") as context:
        page = context.new_page()
        page.goto(f"{site.as_uri()}/{STOCK}", wait_until="load")
        page.evaluate("document.querySelector('#tones ~ details').open = true")
        page.emulate_media(media="print")
        tops = page.evaluate(
            """["verdict", "measures", "curve-title", "views"].map(
                id => document.getElementById(id).getBoundingClientRect().top
            )"""
        )
        paint = page.evaluate(
            "[getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]"
        )
        shown = {
            name: any(one.is_visible() for one in page.locator(name).all())
            for name in ("nav", ".handles", ".files", ".reading", ".tools", "#downloads", "#curve ~ details")
        }
        opened = page.locator("#tones ~ details table").is_visible()
        imprint = page.inner_text(".imprint")
        kept = page.eval_on_selector_all(
            "figure.chart, .view, tr", "all => all.map(one => getComputedStyle(one).breakInside)"
        )

    assert tops == sorted(tops)
    assert paint == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    assert {name for name, seen in shown.items() if seen} == set()
    assert opened
    assert imprint.endswith("https://trials.example.org/stocks/tern-100/2026-04-01-b/")
    assert set(kept) == {"avoid"}


def test_curves_are_seen_in_the_readers_own_colours(page: Page) -> None:
    """Where the system forces its colours, lines and words of a chart are drawn in them, against its background."""
    page.emulate_media(forced_colors="active")
    ground, *drawn = page.evaluate(
        """() => {
            const styleOf = mark => getComputedStyle(document.querySelector(`#curve .mark-${mark}`));
            const ground = getComputedStyle(document.body).backgroundColor;
            return [ground, styleOf("stock-curve").stroke, styleOf("axis").stroke, styleOf("tick").fill];
        }"""
    )
    system = page.evaluate(
        """["LinkText", "CanvasText"].map(name => {
            const probe = document.body.appendChild(document.createElement("i"));
            probe.style.color = name;
            return getComputedStyle(probe).color;
        })"""
    )

    assert drawn == [system[0], system[1], system[1]]
    assert ground not in drawn


def test_nothing_glides_for_those_who_asked_for_less_motion(page: Page) -> None:
    """Anchors are reached at once."""
    asked = "getComputedStyle(document.documentElement).scrollBehavior"
    page.emulate_media(reduced_motion="reduce")
    still = page.evaluate(asked)
    page.emulate_media(reduced_motion="no-preference")

    assert [still, page.evaluate(asked)] == ["auto", "smooth"]
