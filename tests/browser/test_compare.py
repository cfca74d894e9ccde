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

from basefog.measure.intervals import quantity_from_parts
from basefog.measure.resampling import NORMAL_FACTOR
from basefog.publish.addresses import ANY_TWO
from basefog.publish.data import plan_data
from basefog.publish.pages import plan_pages
from basefog.publish.pictures import plan_all_views
from basefog.publish.theme import load_theme
from basefog.records.content import Series
from basefog.records.findings import Comparison, ErrorParts, Factors, Findings, Quantity, TestFindings
from chromium import IN_CHROMIUM, Listen, expect_address, new_context, resize
from publish.invented import FORMULA_NAME, furnish, make_findings, write_readings
from publish.page_series import THEME_FOLDER, draw_pictures, richer_series
from small_sites import make_all

TERN, MARL, OLD_MARL = "tern-100/2026-04-01-b", "marl-400/2026-05-02", "marl-400/2026-03-14"
GULL = "gull-25/2026-02-01"
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


def figure(value: float, half: float, unit: str = "1", *, bound: str | None = None, tests: int = 1) -> Quantity:
    """Return a figure whose error is all from readings."""
    parts = ErrorParts(unshared=(half / NORMAL_FACTOR) ** 2)
    return replace(quantity_from_parts(value, unit, parts, bound=bound), tests=tests, batches=(None,) * tests)


def furnished(found: TestFindings, *, gamma: float, speed: float) -> TestFindings:
    """Return findings with everything, and a gamma, a speed point and a grain of their own."""
    full = furnish(found)
    return replace(
        full,
        contrast_time=None,
        measures={
            **full.measures,
            "gamma": figure(gamma, 0.01),
            "speed_point": figure(speed, 0.03, "log H"),
            "maximum_density": figure(2.272, 0.004, "D", bound="lower"),
            "rms_granularity": replace(figure(12.35, 0.45), at_density=0.961),
        },
    )


AGAINST = {
    "gamma": Comparison(
        verdict="higher",
        difference=0.072,
        low=0.060,
        high=0.084,
        could_see=0.012,
        firm=False,
        counts=("reading", "wedge"),
    ),
    "speed_from_reference": Comparison(
        verdict="higher", difference=1.0, low=0.86, high=1.14, could_see=0.14, unit="stops", firm=True
    ),
    "shadow_match": Comparison(
        verdict="higher", difference=0.3, low=0.2, high=0.4, could_see=0.1, unit="stops", firm=True
    ),
}


def findings_of(series: Series) -> Findings:
    """Return findings in which three tests have a curve: the reference, one stock, and a withdrawn test of a third.

    The stock's gamma is the mean of two tests; of any two, a gamma is firm beyond nine standard uncertainties.
    """
    findings = make_findings(series)
    tern = furnished(findings.tests[TERN], gamma=0.612, speed=-1.33)
    tests = {
        **findings.tests,
        TERN: replace(
            tern,
            measures={
                **tern.measures,
                "speed_from_reference": figure(1.0, 0.1, "stops"),
                "shadow_match": figure(0.3, 0.07, "stops"),
            },
            pooled={"gamma": figure(0.622, 0.007, tests=2)},
            group=("2026-04-01-b", "2026-03-01"),
            against_reference=AGAINST,
        ),
        MARL: furnished(findings.tests[MARL], gamma=0.55, speed=-1.03),
        GULL: furnished(findings.tests[GULL], gamma=0.57, speed=-1.0),
    }
    factors = Factors(
        measure="gamma", stocks=2, degrees_of_freedom=None, student=NORMAL_FACTOR, dunnett=2.2, any_two=9.0
    )
    return replace(findings, tests=tests, factors={"gamma": factors})


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
    files = make_all((*pages, *data)) | draw_pictures(series)
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

    expect_address(page, pair_of("marl-400", "tern-100"))
    assert page.inner_text("h1") == f"Marl 400 and {FORMULA_NAME}"
    assert page.title() == f"Marl 400 and {FORMULA_NAME} · Lantern Yard: “trials”"

    page.click("#exchange")
    page.wait_for_selector(f'th[data-side="0"]:has-text("{FORMULA_NAME}")')

    expect_address(page, pair_of("tern-100", "marl-400"))

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


def cells_of(page: Page, row: str) -> list[str]:
    cells: list[str] = page.locator(f"#at-{row} td").evaluate_all("cells => cells.map(cell => cell.textContent.trim())")
    return [" ".join(cell.split()) for cell in cells[:3]]


def told_of(page: Page) -> str:
    return page.inner_text("#told").replace("\u00a0", " ")


def test_a_slug_stands_for_the_stocks_figure_and_a_test_for_its_own(visit: OPEN) -> None:
    """The mean comes first among what can be chosen, and says of how many tests it is; a test keeps its own address."""
    page = visit(pair_of("tern-100", "gull-25"))
    offered = page.locator("#a-test option").all_inner_texts()
    mean = cells_of(page, "gamma")
    page.select_option("#a-test", "2026-04-01-b")
    expect_address(page, pair_of(TERN, GULL))
    expect(page.locator("#at-gamma td").first).to_contain_text("0.612 ± 0.010")

    assert offered == ["mean of 2 tests", "1 April 2026 (b)"]
    assert mean == ["0.6220 ± 0.0070 mean of 2 tests", "0.570 ± 0.010", "+0.052 ± 0.012"]
    assert cells_of(page, "gamma")[2] == "+0.042 ± 0.014"


def test_what_differs_is_told_with_its_error(visit: OPEN) -> None:
    """The first less the second, by the rule: +0.052 +- hypot(0.007, 0.010), not firm below 9 x 0.0062 = 0.056.

    Both lower bounds have no verdict; what can't be told apart has its limit, 0.45 x sqrt(2); the words say the same.
    """
    page = visit(pair_of("tern-100", "gull-25"))

    assert verdict_of(page, "gamma") == "▲ probably higher counts readings"
    assert verdict_of(page, "maximum_density") == "not measured both tests give only a lower bound"
    assert verdict_of(page, "rms_granularity") == "= no measurable difference 95 % limit 0.64 counts readings"
    assert "No measurable difference (beside each, its 95 % limit): contrast (0.037); grain (0.64)." in told_of(page)
    assert "too few steps" in page.inner_text("#neither")


def test_beside_the_reference_the_published_verdict_stands(visit: OPEN) -> None:
    """The stock's own page says the same, both ways round; the two speeds disagree and are both told."""
    page = visit(pair_of("tern-100", "marl-400"))
    turned = visit(pair_of("marl-400", "tern-100"))

    assert cells_of(page, "gamma")[2] == "+0.072 ± 0.012"
    assert cells_of(turned, "gamma")[2] == "−0.072 ± 0.012"
    assert verdict_of(page, "gamma") == "▲ probably higher counts readings, wedge"
    assert verdict_of(turned, "gamma") == "▼ probably lower counts readings, wedge"
    assert verdict_of(page, "speed_from_reference") == "▲ faster"
    assert verdict_of(page, "shadow_match") == "▼ slower"
    assert verdict_of(turned, "shadow_match") == "▲ faster"
    assert "faster by 1.00 ± 0.14 stops by the speed point; slower by 0.30 ± 0.10 stops for equal" in told_of(page)
    assert "slower by 1.00 ± 0.14 stops by the speed point; faster by 0.30 ± 0.10 stops for equal" in told_of(turned)


def test_one_of_several_tests_is_set_beside_the_reference_by_its_own_figure(visit: OPEN) -> None:
    """0.612 less 0.550, +- hypot(0.010, 0.010); firm by the factor for the reference, 2.2 x 0.0072 = 0.016."""
    page = visit(pair_of(TERN, "marl-400"))

    assert cells_of(page, "gamma")[2] == "+0.062 ± 0.014"
    assert verdict_of(page, "gamma") == "▲ higher counts readings"


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

    assert page.inner_text("#trouble") == "Both stand on one and the same test; choose another for one of them."
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
