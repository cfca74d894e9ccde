"""Any two tests side by side: chosen, kept in the address, drawn, told and shown, from a host and from disk."""

import json
import re
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from basefog.publish.addresses import ANY_TWO
from basefog.publish.data import plan_data
from basefog.publish.pages import plan_pages
from basefog.publish.pictures import plan_all_views
from basefog.publish.run import run_jobs
from basefog.publish.theme import load_theme
from basefog.records.content import Series
from basefog.records.findings import Findings, Quantity, TestFindings
from chromium import IN_CHROMIUM, Listen, expect_address, new_context, resize
from publish.invented import FORMULA_NAME, furnish, make_findings, write_readings
from publish.page_series import THEME_FOLDER, draw_pictures, richer_series

TERN, MARL, OLD_MARL = "tern-100/2026-04-01-b", "marl-400/2026-05-02", "marl-400/2026-03-14"
OPEN = Callable[..., Page]
SETTLED = "#any-two:is([data-state=pair], [data-state=one], [data-state=none])"
"""The page when all data that its address asks for have come, or can't be had."""

SHIFT = """async () => {
    let shift = 0;
    const observer = new PerformanceObserver(list => list.getEntries().forEach(entry => { shift += entry.value; }));
    observer.observe({type: "layout-shift", buffered: true});
    const frame = () => new Promise(requestAnimationFrame);
    while ([...document.images].some(image => !image.complete)) await frame();
    await frame();
    await frame();
    observer.takeRecords().forEach(entry => { shift += entry.value; });
    return shift;
}"""
"""How far things have moved since the page was opened, when all its pictures are there and drawn."""

BACKGROUND = "cell => getComputedStyle(cell).backgroundColor"
# From disk axe-core can't fetch the style sheets, which it does for how pages turn with a phone: nothing here does.
ALL = {"resultTypes": ["violations"], "preload": False}
LOOKS = {
    **ALL,
    "runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block", "target-size", "region"]},
}

pytestmark = IN_CHROMIUM


def furnished(found: TestFindings, *, gamma: float, speed: float) -> TestFindings:
    """Return findings with everything, and a gamma and a speed point of their own."""
    full = furnish(found)
    return replace(
        full,
        contrast_time=None,
        measures={
            **full.measures,
            "gamma": Quantity(value=gamma, low=gamma - 0.01, high=gamma + 0.01, unit="1"),
            "speed_point": Quantity(value=speed, low=speed - 0.03, high=speed + 0.03, unit="log H"),
        },
    )


def findings_of(series: Series) -> Findings:
    """Return findings in which three tests have a curve: the reference, one stock, and a withdrawn test of a third."""
    findings = make_findings(series)
    tests = {
        **findings.tests,
        TERN: furnished(findings.tests[TERN], gamma=0.612, speed=-1.33),
        MARL: furnished(findings.tests[MARL], gamma=0.55, speed=-1.03),
        "gull-25/2026-02-01": furnished(findings.tests["gull-25/2026-02-01"], gamma=0.615, speed=-1.0),
    }
    return replace(findings, tests=tests)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a site of the page, the tests' data and views, and the one page that the form leads to."""
    folder, content = tmp_path_factory.mktemp("compared"), tmp_path_factory.mktemp("content")
    series = richer_series()
    findings = findings_of(series)
    write_readings(series, content)
    pages = [
        job
        for job in plan_pages(series, findings, theme=load_theme(THEME_FOLDER))
        if any(name in (ANY_TWO, "compare/tern-100/index.html") or name.startswith("assets/") for name in job.outputs)
    ]
    data = plan_data(series, findings, series_folder=content, views=plan_all_views(series))
    files = dict(run_jobs((*pages, *data))) | draw_pictures(series)
    for address, written in files.items():
        path = folder / address
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(written)
    return folder


@pytest.fixture
def visit(browser: Browser, folder: Path, listen: Listen) -> Iterator[OPEN]:
    """Open the page from disk at a fragment, and hold the browser to saying nothing."""
    heard: list[list[str]] = []
    with ExitStack() as opened:

        def visit(fragment: str = "", width: int = 1280, *, scripts: bool = True) -> Page:
            context = new_context(browser, viewport={"width": width, "height": 844}, java_script_enabled=scripts)
            page = opened.enter_context(context).new_page()
            heard.append(listen(page))
            page.goto(f"{folder.as_uri()}/{ANY_TWO}{fragment}", wait_until="load")
            if scripts:
                page.wait_for_selector(SETTLED)
            return page

        yield visit
    assert [complaint for complaints in heard for complaint in complaints] == []


def pair_of(a: str, b: str) -> str:
    return f"#a={a}&b={b}"


def verdict_of(page: Page, row: str) -> str:
    return " ".join(page.inner_text(f'#at-{row} td[data-label="Verdict"]').split())


def test_the_start_shows_the_reference_and_asks_to_choose(visit: OPEN) -> None:
    """Without a fragment: the reference's curve alone, a second stock to choose, and each stock against it."""
    page = visit()

    assert page.title() == "Any two tests · Lantern Yard: “trials”"
    assert page.input_value("#a") == "marl-400"
    assert page.input_value("#b") == ""
    assert page.locator("path[data-line]").evaluate_all("lines => lines.map(line => line.dataset.line)") == ["Marl 400"]
    assert page.is_visible("#against")
    assert not page.is_visible("#measures")


def test_choosing_is_kept_in_the_address_and_back_undoes_it(visit: OPEN) -> None:
    """A chosen stock stands in the address and in both titles; the browser's back button leads to the one before."""
    page = visit()
    page.select_option("#b", "tern-100")
    page.wait_for_selector("#measures:visible")

    expect_address(page, pair_of(MARL, TERN))
    assert page.inner_text("h1") == f"Marl 400 and {FORMULA_NAME}"
    assert page.title() == f"Marl 400 and {FORMULA_NAME} · Lantern Yard: “trials”"

    page.click("#exchange")
    page.wait_for_selector(f'th[data-side="0"]:has-text("{FORMULA_NAME}")')

    expect_address(page, pair_of(TERN, MARL))

    page.go_back()
    page.wait_for_selector('th[data-side="0"]:has-text("Marl 400")')

    assert page.input_value("#a") == "marl-400"


def test_an_address_restores_what_was_looked_at(visit: OPEN) -> None:
    """Both tests and how their curves are aligned; a stock alone stands for its current test, beside the reference."""
    page = visit(f"{pair_of(OLD_MARL, TERN)}&align=speed")
    short = visit("#a=tern-100")

    assert page.input_value("#a-test") == "2026-03-14"
    assert page.inner_text("#a-test option:checked") == "14 March 2026"
    assert short.inner_text("h1") == f"{FORMULA_NAME} and Marl 400"


def test_what_differs_is_told_with_its_error(visit: OPEN) -> None:
    """The first less the second, by the rule; both lower bounds have no verdict; the words say the same."""
    page = visit(pair_of(TERN, MARL))
    cells = page.locator("#at-gamma td").evaluate_all("cells => cells.map(cell => cell.textContent.trim())")

    assert cells[:3] == ["0.612 ± 0.010", "0.550 ± 0.010", "+0.062 ± 0.014"]
    assert verdict_of(page, "gamma") == "▲ higher"
    assert verdict_of(page, "speed_from_reference") == "▲ faster"
    assert verdict_of(page, "maximum_density") == "not measured both tests give only a lower bound"
    assert verdict_of(page, "rms_granularity").startswith("= no measurable difference could see 0.6")
    assert "faster (+1.00 ± 0.14 stops)" in page.inner_text("#told").replace("\u00a0", " ")
    assert "too few steps" in page.inner_text("#neither")
    assert verdict_of(page, "red").startswith("= no measurable difference")


def test_each_of_the_two_has_a_treatment_of_its_own(visit: OPEN) -> None:
    """The reference keeps its dashes wherever it stands; a second stock is dotted; both can be read off."""
    with_reference = visit(pair_of(MARL, TERN))
    without = visit(pair_of(TERN, "gull-25/2026-02-01"))
    kinds = "lines => lines.map(line => [line.dataset.line, line.parentElement.className.baseVal])"

    assert sorted(with_reference.locator("path[data-line]").evaluate_all(kinds)) == [
        [FORMULA_NAME, "mark-stock-curve"],
        ["Marl 400", "mark-reference-curve"],
    ]
    assert sorted(without.locator("path[data-line]").evaluate_all(kinds)) == [
        [FORMULA_NAME, "mark-stock-curve"],
        ["Gull 25", "mark-other-curve"],
    ]
    groups = [without.locator(f".mark-{whose}-curve") for whose in ("stock", "reference", "other")]
    assert len({group.get_attribute("stroke-dasharray") for group in groups}) == 3


def test_one_log_unit_measures_the_same_both_ways(visit: OPEN) -> None:
    """A gradient of one is a line at 45 degrees, and every grid line is a stop apart."""
    page = visit(pair_of(TERN, MARL))
    x = [float(part) for part in str(page.get_attribute("svg.chart", "data-x")).split()]
    y = [float(part) for part in str(page.get_attribute("svg.chart", "data-y")).split()]

    assert (x[2] - x[0]) / (x[3] - x[1]) == pytest.approx((y[0] - y[2]) / (y[3] - y[1]), rel=0.002)


def test_curves_can_start_at_their_speed_points(visit: OPEN) -> None:
    """The switch moves both so that their speed points meet, says so in the address, and leaves the views alone."""
    page = visit(pair_of(TERN, MARL))
    page.evaluate("document.querySelector('#shown .pair').dataset.kept = 'yes'")
    before = page.locator(".mark-stock-level path").get_attribute("d")
    page.check('input[name="align"][value="speed"]')
    page.wait_for_url("**align=speed")
    page.wait_for_selector('svg.chart[data-x-name="log exposure from the speed point"]')
    places = page.locator(".mark-stock-level path, .mark-reference-level path").evaluate_all(
        "levels => levels.map(level => level.getAttribute('d').slice(1).split(',')[0])"
    )

    assert before != page.locator(".mark-stock-level path").get_attribute("d")
    assert abs(float(places[0]) - float(places[1])) <= 16  # within a step of the curve's grid
    assert page.get_attribute("svg.chart", "data-x-name") == "log exposure from the speed point"
    assert page.get_attribute("#shown .pair", "data-kept") == "yes"


def test_the_densities_stand_in_figures(visit: OPEN, folder: Path) -> None:
    """Every 0.30 along the switch's axis, as the published curve has them; none where a curve does not reach."""
    page = visit(pair_of(TERN, MARL))
    data = [json.loads((folder / "data" / f"{key}.json").read_text()) for key in (TERN, MARL)]
    speeds = [one["measures"]["speed_point"]["value"] for one in data]
    for shifts, head in (((0, 0), "Relative log exposure (log10)"), (speeds, "Log exposure from the speed point")):
        if any(shifts):
            page.check('input[name="align"][value="speed"]')
            page.wait_for_selector(f'#densities th:has-text("{head}")', state="attached")
        heads, *rows = page.locator("#densities tr").evaluate_all(
            "rows => rows.map(row => [...row.cells].map(cell => cell.textContent))"
        )
        places = [float(row[0].replace("−", "-")) for row in rows]

        assert heads == [head, FORMULA_NAME, "Marl 400"]
        assert page.text_content("#densities caption") == f"Characteristic curves of {FORMULA_NAME} and Marl 400"
        assert page.get_attribute("svg.chart", "aria-label") == page.text_content("#densities caption")
        assert places == [round(0.3 * (round(places[0] / 0.3) + at), 1) for at in range(len(rows))]
        assert all(cell == "" or re.fullmatch(r"−?\d\.\d\d", cell) for row in rows for cell in row)
        for which, shift in enumerate(shifts):
            x = np.array(data[which]["curve"]["log_exposure"]) - shift
            inside = [place for place in places if x[0] <= place <= x[-1]]
            told = {place: float(row[which + 1]) for place, row in zip(places, rows, strict=True) if row[which + 1]}

            assert list(told) == inside
            assert len(inside) > 5
            assert list(told.values()) == pytest.approx(
                np.interp(inside, x, data[which]["curve"]["density"]), abs=0.00501
            )


def test_a_row_has_an_address_with_its_two_tests(visit: OPEN) -> None:
    """Its own link leads there: the row is in sight and marked, tests and alignment stay; choosing ends the mark."""
    state = f"{pair_of(TERN, MARL)}&align=speed"
    page = visit(state)
    address = page.get_attribute('[aria-label="Link to this: RMS granularity"]', "href")
    paper = page.locator("#at-rms_granularity th").evaluate(BACKGROUND)
    there = visit(address)
    marked = there.locator("tr[aria-current]")

    assert address == f"{state}&at=rms_granularity"
    expect(marked).to_be_in_viewport()
    assert marked.get_attribute("id") == "at-rms_granularity"
    assert marked.locator("th").evaluate(BACKGROUND) != paper
    expect(marked.locator(".handles")).to_have_css("opacity", "1")
    assert there.is_checked('input[name="align"][value="speed"]')

    there.get_by_label("Link to this: Red").focus()
    there.keyboard.press("Enter")
    expect(there.locator("#at-red[aria-current]")).to_be_in_viewport()
    assert marked.count() == 1
    expect_address(there, "&at=red")

    there.click("#exchange")
    expect(marked).to_have_count(0)
    expect_address(there, f"{pair_of(MARL, TERN)}&align=speed")


def test_an_address_of_what_neither_test_has_leads_to_why(visit: OPEN) -> None:
    """Its row is not shown; the list of what was measured on neither is brought into sight."""
    page = visit(f"{pair_of(TERN, MARL)}&at=contrast_index")

    expect(page.locator("#neither")).to_be_in_viewport()
    assert "contrast index" in page.inner_text("#neither").lower()


@pytest.mark.parametrize(
    ("fragment", "said"),
    [
        ("#a=gone-200/2026-01-01", "There is no stock gone-200. There are: Gull 25, Marl 400"),
        (
            "#a=marl-400/2025-01-01&b=tern-100",
            "There is no test marl-400/2025-01-01. There are: 2 May 2026, current; 14",
        ),
    ],
)
def test_an_unknown_name_is_told_with_what_there_is(visit: OPEN, fragment: str, said: str) -> None:
    """In a sentence, and the page can be used on."""
    page = visit(fragment)

    assert page.inner_text("#trouble").startswith(said)

    page.select_option("#a", "tern-100")
    page.select_option("#b", "marl-400")
    page.wait_for_selector("#measures:visible")

    assert page.inner_text("#trouble") == ""


def test_a_former_slug_still_names_its_stock(visit: OPEN) -> None:
    """An address that was shared before a stock was renamed leads to the same two tests."""
    page = visit("#a=marl-iso-400/2026-05-02&b=tern-100")

    assert page.inner_text("h1") == f"Marl 400 and {FORMULA_NAME}"


def test_views_lie_side_by_side_and_move_together(visit: OPEN) -> None:
    """Pairs are live: matched by view, grain pixel for pixel, both pictures moved by one hand on the keyboard."""
    page = visit(pair_of(TERN, MARL))
    images = page.locator("#shown img").evaluate_all("images => images.map(i => [i.dataset.view, i.dataset.test])")
    pair = page.locator("#shown .pair.exact")
    pair.get_by_role("button", name="Enlarge").click()
    pair.locator(".prints").focus()
    page.keyboard.press("ArrowRight")
    moved = pair.locator("img").evaluate_all(
        "images => images.map(i => i.getBoundingClientRect().x - i.parentElement.getBoundingClientRect().x)"
    )

    assert images == [["whole", TERN], ["whole", MARL], ["even", TERN], ["even", MARL]]
    assert moved[0] == pytest.approx(moved[1], abs=1)
    assert moved[0] < -50
    assert pair.locator(".scale-words").all_inner_texts()[0].endswith("on the film")


def test_views_that_one_test_has_are_named_with_why(visit: OPEN) -> None:
    """Nothing lies beside them, so they are told and not shown."""
    page = visit(pair_of(TERN, "gull-25/2026-02-01"))

    assert page.locator("#shown img").count() == 0
    assert f"{FORMULA_NAME} alone has Whole print. Gull 25: no print was scanned." in page.inner_text("#shown")


def test_two_tests_of_one_stock_go_by_their_days(visit: OPEN) -> None:
    """One name for both would tell nothing; a test without a curve says why."""
    page = visit(pair_of(MARL, OLD_MARL))

    assert page.inner_text("h1").replace("\u00a0", " ") == "Marl 400: 2 May 2026 and 14 March 2026"
    assert "has" not in page.inner_text("#trouble")
    assert "there are only 2 steps, a curve needs 6." in page.inner_text("#curve-note")


def test_from_a_host_the_published_data_are_read(context: BrowserContext, host: str, listen: Listen) -> None:
    """The JSON below data/, and no script of it; from a sub-path with a blank in it."""
    page = context.new_page()
    complaints, asked = listen(page), list[str]()
    page.on("request", lambda request: asked.append(request.url.removeprefix(host)))
    page.goto(host + ANY_TWO + pair_of(TERN, MARL), wait_until="load")
    page.wait_for_selector(SETTLED)

    assert page.inner_text("h1") == f"{FORMULA_NAME} and Marl 400"
    assert {f"data/{TERN}.json", f"data/{MARL}.json"} <= set(asked)
    assert not [address for address in asked if "from-disk" in address]
    assert complaints == []


def test_without_scripts_a_form_leads_to_the_page_against_the_reference(visit: OPEN) -> None:
    """No dead control is shown; each button opens the page of its stock, from disk too."""
    page = visit(scripts=False)
    shown = [page.is_visible(name) for name in (".choice", "#measures", "#drawn")]
    page.click("#against button")

    assert shown == [False, False, False]
    expect(page.locator("h1")).to_have_text(f"{FORMULA_NAME} against Marl 400")


def test_with_scripts_the_same_buttons_choose(visit: OPEN) -> None:
    """The list of the start page sets the stock beside the reference on the page itself, by keyboard as well."""
    page = visit()
    page.focus("#against button")
    page.keyboard.press("Enter")
    page.wait_for_selector("#measures:visible")

    assert page.inner_text("h1") == f"{FORMULA_NAME} and Marl 400"


def test_one_test_twice_is_told(visit: OPEN) -> None:
    """There is nothing to compare; the page stays as at its start and says why."""
    page = visit(pair_of(TERN, TERN))

    assert page.inner_text("#trouble") == "Both are one and the same test; choose another for one of them."
    assert page.is_visible("#against")


@pytest.mark.parametrize(("fragment", "read"), [("", "#against"), (pair_of(TERN, MARL), "#measures")])
def test_axe_finds_nothing_nothing_moves_or_sticks_out(visit: OPEN, fragment: str, read: str) -> None:
    """The page as it starts and with two tests, its table open: in light and dark, on a phone and on a desktop."""
    page = visit(fragment, width=390)
    page.wait_for_selector(f"{read}:visible")
    shift = page.evaluate(SHIFT)
    page.click("#drawn summary")
    axe, papers = Axe(), set()
    for width, scheme in ((390, "light"), (390, "dark"), (1280, "dark"), (1280, "light")):
        resize(page, width, 844)
        page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
        papers.add(page.evaluate("getComputedStyle(document.body).backgroundColor"))
        # What follows neither colours nor width was judged in the first look.
        judged = axe.run(page, options=ALL if (width, scheme) == (390, "light") else LOOKS)

        assert judged.violations_count == 0, judged.generate_report()
    over = []
    for width in (320, 390):
        resize(page, width, 844)
        over.append(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))

    assert shift == 0
    assert len(papers) == 2
    assert over == [0, 0]


def test_on_a_phone_all_can_be_read(visit: OPEN) -> None:
    """No name of a stock or a test is cut in what it is chosen from; rows of the tables say whose figure is whose."""
    page = visit(pair_of(TERN, OLD_MARL), width=320)
    room = page.evaluate(
        """() => [...document.querySelectorAll(".choice select")].map(select => {
            const own = select.offsetWidth;
            select.append(new Option("10 September 2026 (c), 11 min"));
            Object.assign(select.style, {width: "auto", maxWidth: "none", position: "absolute"});
            return own - select.offsetWidth;
        })"""
    )
    names = page.locator("#at-gamma td[data-label]").evaluate_all("cells => cells.map(cell => cell.dataset.label)")

    assert len(room) == 4
    assert min(room) >= 0
    assert names == [FORMULA_NAME, "Marl 400", "Difference", "Verdict"]
