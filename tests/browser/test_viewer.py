"""Two prints on the bench: in hand by pointer, finger and keyboard, pixel for pixel, and plain without scripts."""

import io
import itertools
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Locator, Page

from chromium import IN_CHROMIUM, Listen, let_draw, new_context, wait_until

TERN = "stocks/tern-100/index.html"
TERN_TEST, MARL_TEST = "tern-100/2026-04-01-b", "marl-400/2026-05-02"
OPEN = Callable[..., Page]

pytestmark = IN_CHROMIUM


@pytest.fixture
def visit(browser: Browser, site: Path, listen: Listen) -> Iterator[OPEN]:
    """Open the page of a stock with its views, and hold the browser to saying nothing."""
    heard: list[list[str]] = []
    with ExitStack() as opened:

        def visit(width: int = 1280, address: str = TERN, **settings: Any) -> Page:
            context = new_context(browser, viewport={"width": width, "height": 844}, **settings)
            page = opened.enter_context(context).new_page()
            heard.append(listen(page))
            page.goto(f"{site.as_uri()}/{address}", wait_until="load")
            return page

        yield visit
    assert [complaint for complaints in heard for complaint in complaints] == []


def places(page: Page, view: str) -> list[list[float]]:
    """Return where each picture of a pair lies in its frame, and its size: left, top, width, height."""
    found: list[list[float]] = page.eval_on_selector_all(
        f"#view-{view} img",
        """images => images.map(image => {
            const [own, frame] = [image, image.parentElement].map(element => element.getBoundingClientRect());
            return [own.left - frame.left, own.top - frame.top, own.width, own.height];
        })""",
    )
    return found


def tool(page: Page, view: str, name: str) -> Locator:
    return page.locator(f"#view-{view}").get_by_role("button", name=name, exact=True)


def seen(page: Page, view: str) -> list[str]:
    """Return the tests whose pictures can be seen."""
    images = page.locator(f"#view-{view} img")
    return [
        str(images.nth(at).get_attribute("data-test")) for at in range(images.count()) if images.nth(at).is_visible()
    ]


def status(page: Page, view: str) -> str:
    return page.locator(f"#view-{view}").get_by_role("status").inner_text()


def middle(page: Page, view: str, which: int = 0) -> tuple[float, float]:
    """Return the middle of a frame on the screen, scrolled to."""
    frame = page.locator(f"#view-{view} .frame").nth(which)
    frame.scroll_into_view_if_needed()
    box = frame.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


@pytest.mark.parametrize("density", [1, 1.5, 2])
def test_grain_is_shown_pixel_for_pixel(visit: OPEN, density: float) -> None:
    """One pixel of the picture takes one of the screen, whatever the screen's density, and lies upon it whole."""
    page = visit(device_scale_factor=density)
    measured = page.eval_on_selector_all(
        "#view-even img",
        """images => images.map(image => {
            const box = image.getBoundingClientRect();
            return [image.naturalWidth, box.width * devicePixelRatio, box.left * devicePixelRatio % 1];
        })""",
    )

    for natural, shown, rest in measured:
        assert shown == pytest.approx(natural, abs=0.05)
        assert min(rest, 1 - rest) == pytest.approx(0, abs=0.02)


@pytest.mark.parametrize(("density", "times"), [(1, 3), (2, 1)])
def test_grain_is_never_blurred(visit: OPEN, density: int, times: int) -> None:
    """Stripes of one pixel, photographed from the screen, are black and white alone, each as wide as is said."""
    page = visit(device_scale_factor=density)
    while times > 1 and status(page, "even") != f"Enlarged {times} times":
        tool(page, "even", "Enlarge").click()
    page.eval_on_selector("#view-even .frame img", "image => image.decode()")
    let_draw(page)
    shot = page.locator("#view-even .frame").first.screenshot()
    with Image.open(io.BytesIO(shot)) as picture:
        row = list(picture.convert("L").crop((60, 100, 240, 101)).tobytes())
    edges = [at for at in range(1, len(row)) if row[at] != row[at - 1]]

    assert set(row) == {0, 255}
    assert {after - before for before, after in itertools.pairwise(edges)} == {times}


def test_a_drag_moves_both_prints_alike(visit: OPEN) -> None:
    """A drag on the reference carries the stock's print along, and neither leaves its window."""
    page = visit()
    tool(page, "even", "Enlarge").click()
    before = places(page, "even")
    x, y = middle(page, "even", 1)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 70, y - 40, steps=4)
    page.mouse.up()
    after = places(page, "even")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 5000, y - 5000, steps=2)
    page.mouse.up()
    corner = places(page, "even")
    frame = page.eval_on_selector("#view-even .frame", "frame => [frame.clientWidth, frame.clientHeight]")

    for start, end in zip(before, after, strict=True):
        assert [end[0] - start[0], end[1] - start[1]] == pytest.approx([-70, -40], abs=1)
    for left, top, width, height in corner:
        assert [left + width, top + height] == pytest.approx(frame, abs=1)


def test_grain_that_is_larger_than_its_frame_moves_at_rest(visit: OPEN) -> None:
    """Pixel for pixel too, both prints move together; an untouched one shows what the page without scripts shows."""
    page = visit()
    before = places(page, "even")
    page.locator("#view-even .prints").focus()
    page.keyboard.press("ArrowRight")
    after = places(page, "even")

    assert [place[:2] for place in before] == [pytest.approx([0, 0], abs=0.5)] * 2
    assert after[0][0] < -20
    assert after[0] == pytest.approx(after[1], abs=0.5)


def test_the_wheel_enlarges_only_what_is_in_hand(visit: OPEN) -> None:
    """Over an untouched pair the wheel scrolls the page; in hand it enlarges, and what lies under it stays."""
    page = visit()
    x, y = middle(page, "whole")
    page.mouse.move(x, y)
    start = page.evaluate("scrollY")
    page.mouse.wheel(0, 60)
    wait_until(page, f"scrollY !== {start}")
    untouched = places(page, "whole")
    page.mouse.wheel(0, -60)
    wait_until(page, f"scrollY === {start}")
    page.mouse.click(x, y)
    page.mouse.move(x + 50, y + 30)
    under = "point => { const box = document.querySelector('#view-whole img').getBoundingClientRect();"
    under += " return [(point[0] - box.left) / box.width, (point[1] - box.top) / box.height]; }"
    before = page.evaluate(under, [x + 50, y + 30])
    page.mouse.wheel(0, -120)
    page.wait_for_selector("#view-whole .open")
    after = page.evaluate(under, [x + 50, y + 30])
    page.keyboard.press("Escape")
    stays = page.evaluate("scrollY")
    page.mouse.wheel(0, 60)
    wait_until(page, f"scrollY !== {stays}")

    assert untouched[0][0] == 0
    assert status(page, "whole") == "Enlarged 2 times"
    assert after == pytest.approx(before, abs=0.01)


def test_every_key_does_its_work(visit: OPEN) -> None:
    """Plus, minus, arrows, nought, X and Escape, all from the keyboard alone; focus never gets lost."""
    page = visit()
    page.locator("#view-whole .prints").focus()
    page.keyboard.press("+")
    page.keyboard.press("+")
    enlarged, said = places(page, "whole"), status(page, "whole")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowDown")
    moved = places(page, "whole")
    page.keyboard.press("-")
    smaller = status(page, "whole")
    page.keyboard.press("0")
    back = status(page, "whole")
    page.keyboard.press("x")
    first = seen(page, "whole")
    page.keyboard.press("X")
    second, named = seen(page, "whole"), status(page, "whole")
    page.keyboard.press("Escape")
    focus = page.evaluate("document.activeElement.textContent")

    assert said == "Enlarged 3 times"
    assert moved[0][0] > enlarged[0][0]
    assert moved[0][1] < enlarged[0][1]
    # A browser snaps the two frames to whole pixels, three times enlarged.
    assert moved[0] == pytest.approx(moved[1], abs=1)
    assert [smaller, back] == ["Enlarged 2 times", "Whole view"]
    assert [first, second] == [[TERN_TEST], [MARL_TEST]]
    assert named == "Marl 400 seen. Whole view"
    assert focus == "Take in hand"


def test_what_lies_over_is_in_the_same_place(visit: OPEN) -> None:
    """Laid over, both pictures take the same pixels of the screen; side by side again, both are seen."""
    page = visit()
    tool(page, "whole", "Lay over").click()
    where = page.eval_on_selector_all(
        "#view-whole img", "images => images.map(image => Object.values(image.getBoundingClientRect().toJSON()))"
    )
    only = seen(page, "whole")
    tool(page, "whole", "Side by side").click()

    assert where[0] == pytest.approx(where[1], abs=0.01)
    assert only == [TERN_TEST]
    assert seen(page, "whole") == [TERN_TEST, MARL_TEST]


def test_lift_is_held_or_pressed(visit: OPEN) -> None:
    """A short press exchanges the prints; a long one shows the lower only while it lasts. The tool stays in place."""
    page = visit()
    # The page's clock stands still, so that how long a press lasts is said here and by nothing else.
    page.clock.install(time=0)
    page.clock.pause_at(1)
    over = tool(page, "even", "Lay over")
    over.scroll_into_view_if_needed()
    before = over.bounding_box()
    over.click()
    after = tool(page, "even", "Side by side").bounding_box()
    lift = tool(page, "even", "Lift the upper print")
    lift.click()
    pressed, told = seen(page, "even"), lift.get_attribute("aria-pressed")
    lift.click()
    again = seen(page, "even")
    lift.hover()
    page.mouse.down()
    held = seen(page, "even")
    page.clock.run_for(500)
    page.mouse.up()
    let_go = seen(page, "even")
    lift.focus()
    page.keyboard.press("Enter")

    assert before is not None
    assert after is not None
    assert after["y"] == pytest.approx(before["y"], abs=1)
    assert [pressed, told, again] == [[MARL_TEST], "true", [TERN_TEST]]
    assert [held, let_go] == [[MARL_TEST], [TERN_TEST]]
    assert seen(page, "even") == [MARL_TEST]


def test_all_can_be_done_without_dragging(visit: OPEN) -> None:
    """Buttons move, enlarge and bring back, at least 24 pixels large (WCAG 2.2, 2.5.7 and 2.5.8); focus stays near."""
    page = visit()
    for _ in range(2):
        tool(page, "even", "Enlarge").click()
    before = places(page, "even")
    tool(page, "even", "Look further right").click()
    tool(page, "even", "Look further down").click()
    after = places(page, "even")
    sizes = page.eval_on_selector_all(
        "#view-even button:not([hidden])",
        "all => all.map(one => { const box = one.getBoundingClientRect(); return Math.min(box.width, box.height); })",
    )
    tool(page, "even", "Back to pixel for pixel").focus()
    page.keyboard.press("Enter")

    assert after[0][0] < before[0][0]
    assert after[0][1] < before[0][1]
    assert min(sizes) >= 24
    assert status(page, "even") == "Pixel for pixel"
    assert page.evaluate("document.activeElement.className") == "prints"


@pytest.mark.parametrize(("view", "density"), [("even", 2), ("whole", 1)])
def test_the_scale_bar_is_true_at_every_enlargement(visit: OPEN, view: str, density: int) -> None:
    """A bar's length on the screen, by the picture's own pixels, is what its words say; laid over too."""
    page = visit(device_scale_factor=density)
    # The scans are 20 and 250 pixels a millimetre; of the print 1500 pixels are brought down to 1280.
    pixels_per_mm = 250 if view == "even" else 20 * 1280 / 1500
    said = []
    page.locator(f"#view-{view} .prints").focus()
    for key in ("+", "+", "+", "0", "x", "+"):
        bar, shown, width, words = page.eval_on_selector(
            f"#view-{view} .view-picture",
            """figure => [
                figure.querySelector(".scale rect").getBoundingClientRect().width,
                figure.querySelector("img").getBoundingClientRect().width,
                Number(figure.querySelector("img").getAttribute("width")),
                figure.querySelector(".scale-words").textContent,
            ]""",
        )
        length, unit = words.split()[:2]
        mm = float(length) * (1 if unit == "mm" else 0.001)
        said.append(words)

        assert bar / shown * width / pixels_per_mm == pytest.approx(mm, rel=0.01), words
        page.keyboard.press(key)

    assert len(set(said)) > 1


def test_enlarging_a_tone_view_loads_the_widest_file(visit: OPEN) -> None:
    """At rest a file that is wide enough will do; enlarged, the widest is shown."""
    page = visit()
    source = "image => image.currentSrc.split('/').pop()"
    page.locator("#view-whole").scroll_into_view_if_needed()
    rest = page.eval_on_selector("#view-whole img", source)
    tool(page, "whole", "Enlarge").click()
    wait_until(page, "document.querySelector('#view-whole img').currentSrc.endsWith('-1280.webp')")

    assert rest == "whole-640.webp"


def test_two_fingers_enlarge_and_one_moves(visit: OPEN) -> None:
    """Before a tap a finger scrolls the page; in hand two fingers enlarge and one moves both prints."""
    page = visit(390, device_scale_factor=2, has_touch=True)
    x, y = middle(page, "whole")
    free = page.eval_on_selector("#view-whole .prints", "prints => getComputedStyle(prints).touchAction")
    page.touchscreen.tap(x, y)
    page.wait_for_selector("#view-whole .pair.in-hand")
    let_draw(page)
    held = page.eval_on_selector("#view-whole .prints", "prints => getComputedStyle(prints).touchAction")
    session = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        at = [{"x": left, "y": top, "id": number} for number, (left, top) in enumerate(points)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})
        # A browser tells the page when it can: only of the last finger that comes or goes is it known when it was told.
        if kind == "touchStart":
            page.wait_for_selector("#view-whole .pair.moving")
        elif kind == "touchEnd":
            page.wait_for_selector("#view-whole .pair:not(.moving)")

    touch("touchStart", (x - 30, y))
    touch("touchStart", (x - 30, y), (x + 30, y))
    touch("touchMove", (x - 75, y), (x + 75, y))
    touch("touchEnd")
    said, before = status(page, "whole"), places(page, "whole")
    touch("touchStart", (x, y))
    touch("touchMove", (x - 20, y - 10))
    touch("touchMove", (x - 40, y - 20))
    touch("touchEnd")
    after = places(page, "whole")

    assert [free, held] == ["auto", "none"]
    assert said == "Enlarged 2.5 times"
    assert after[0][0] - before[0][0] == pytest.approx(-40, abs=1)
    assert after[0] == pytest.approx(after[1], abs=0.5)


def test_a_phone_has_both_prints_on_one_screen(visit: OPEN) -> None:
    """At 390 pixels nothing sticks out in any state, and an enlarged pair is still seen whole."""
    page = visit(390, device_scale_factor=3)
    over = []
    frame = page.locator("#view-even .frame").first.bounding_box()
    assert frame is not None
    assert frame["height"] == pytest.approx(400 / 3, abs=1)
    for view in ("whole", "even"):
        for name in ("", "Enlarge", "Enlarge", "Lay over", "Side by side"):
            if name:
                tool(page, view, name).click()
            over.append(page.evaluate("document.documentElement.scrollWidth - innerWidth"))
        box = page.locator(f"#view-{view} .prints").bounding_box()

        assert box is not None
        assert box["height"] < 844
    assert set(over) <= {0}


def test_nothing_moves_when_the_script_comes(visit: OPEN) -> None:
    """Every pair takes the same room with the script and before it, on a screen and on a phone."""
    measure = """() => [...document.querySelectorAll('.pair, .frame')].map(element => {
        const box = element.getBoundingClientRect();
        return [element.className.split(' ')[0], Math.round(box.width), Math.round(box.height)];
    })"""
    for width, density in ((1280, 2), (390, 3)):
        live = visit(width, device_scale_factor=density).evaluate(measure)
        page = visit(width, address="404.html", device_scale_factor=density)
        page.route("**/viewer.js", lambda route: route.fulfill(body="", content_type="text/javascript"))
        page.goto(page.url.replace("404.html", TERN), wait_until="load")
        assert page.locator(".tools button").count() == 0

        assert page.evaluate(measure) == live


def test_without_scripts_there_are_two_plain_pictures(visit: OPEN) -> None:
    """No tools, no room for them and no word of them; the frame of a large picture can be scrolled by keyboard."""
    page = visit(java_script_enabled=False)
    images = page.locator("#view-even img")

    assert images.count() == 2
    for at in range(2):
        assert images.nth(at).is_visible()
        assert images.nth(at).get_attribute("width") == "600"
        assert images.nth(at).get_attribute("height") == "400"
        assert images.nth(at).get_attribute("alt")
        assert images.nth(at).get_attribute("data-view") == "even"
    assert not page.locator("#view-even .tools").is_visible()
    assert not page.locator(".on-hand").is_visible()
    assert page.locator("#view-even .frame").first.get_attribute("tabindex") == "0"
    assert page.locator("#view-even .scale-words").first.inner_text() == "500 µm on the film"


def test_paper_gets_the_pair_at_rest(visit: OPEN) -> None:
    """What was enlarged or laid over on the screen is two plain pictures on paper, without tools."""
    page = visit()
    tool(page, "even", "Enlarge").click()
    tool(page, "whole", "Lay over").click()
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    page.emulate_media(media="print")

    assert seen(page, "whole") == [TERN_TEST, MARL_TEST]
    assert [place[:3] for place in places(page, "even")] == [pytest.approx([0, 0, 600], abs=0.5)] * 2
    assert not page.locator("#view-even .tools").is_visible()


def test_a_print_alone_can_be_taken_in_hand(visit: OPEN) -> None:
    """The reference's own page has nothing to lay over, and says nothing of it."""
    page = visit(address="stocks/marl-400/index.html")
    tool(page, "whole", "Enlarge").click()

    assert tool(page, "whole", "Lay over").count() == 0
    assert status(page, "whole") == "Enlarged 2 times"
    assert page.locator("#view-whole .prints").get_attribute("aria-label") == "Whole print: Marl 400"
