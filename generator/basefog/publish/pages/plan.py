"""Which pages a series makes, and the jobs that make them.

View-models are made while planning: they are words and addresses, cheap, and all that a page depends on; a page whose
view-model is the same as before need not be made again. Charts are drawn within the jobs.
"""

from collections.abc import Mapping
from dataclasses import replace

from markupsafe import Markup

from basefog.publish.addresses import (
    address_of_chart,
    address_of_comparison,
    address_of_free_page,
    address_of_history,
    address_of_question,
    address_of_stock,
    address_of_test,
)
from basefog.publish.job import Job
from basefog.publish.pages.frame import (
    DATA,
    METHOD,
    NOT_FOUND,
    QUESTIONS,
    SUMMARY,
    Link,
    PageHead,
    SiteFrame,
    frame_of,
    head_of,
    render_page,
)
from basefog.publish.pages.names import name_pair, name_test
from basefog.publish.pages.page_of_history import page_of_history
from basefog.publish.pages.page_of_method import page_of_method
from basefog.publish.pages.page_of_summary import SummaryPage, page_of_summary
from basefog.publish.pages.page_of_test import Chart, TestPage, page_of_test
from basefog.publish.pages.redirects import plan_redirects
from basefog.publish.pages.structured import describe_series, describe_test
from basefog.publish.pages.text_pages import (
    page_of_data,
    page_of_not_found,
    page_of_prose,
    page_of_question,
    page_of_questions,
)
from basefog.publish.pages.verdict import verdict_of
from basefog.publish.theme import Theme, plan_assets
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Findings, TestFindings


def plan_pages(series: Series, findings: Findings, *, theme: Theme) -> tuple[Job, ...]:
    """Return the jobs that make every page of a series, its charts and the theme's own files."""
    site = frame_of(series)
    return (
        *plan_assets(theme),
        _plan_summary(series, findings, site, theme),
        *(
            _plan_test(series, findings, stock, test, site=site, theme=theme)
            for stock in series.stocks
            for test in stock.tests
        ),
        *_plan_words(series, findings, site, theme),
        *plan_redirects(series, site, theme),
    )


def make_page(*, theme: Theme, template: str, site: SiteFrame, page: PageHead, view: object) -> dict[str, bytes]:
    """Return one page."""
    return render_page(theme, template, site, page, view)


def make_summary(
    *,
    theme: Theme,
    site: SiteFrame,
    page: PageHead,
    view: SummaryPage,
    tests: Mapping[str, TestFindings],
    reference: TestFindings | None,
) -> dict[str, bytes]:
    """Return the summary with a small curve drawn into each row."""
    from basefog.picture import draw_small_curve

    rows = tuple(
        replace(row, curve=Markup(draw_small_curve(tests[row.slug], reference)))  # noqa: S704  # our own drawing
        if tests[row.slug].curve is not None
        else row
        for row in view.rows
    )
    return render_page(theme, "summary.html", site, page, replace(view, rows=rows))


def make_test_pages(
    *,
    theme: Theme,
    site: SiteFrame,
    pages: tuple[tuple[str, PageHead, TestPage], ...],
    charts: Mapping[str, str],
    test: TestFindings,
    reference: TestFindings | None,
    name: str,
    reference_name: str,
) -> dict[str, bytes]:
    """Return a test's pages and its charts, each chart drawn once. `charts` are their addresses by id."""
    from basefog import picture

    draw = {
        "curve": (picture.draw_curve_chart, picture.describe_curve_chart),
        "tones": (picture.draw_tone_chart, picture.describe_tone_chart),
    }
    drawn, files = [], {}
    for chart, address in charts.items():
        drawing, describing = draw[chart]
        svg = drawing(test, reference, name=name, reference_name=reference_name)
        words = describing(test, reference, name=name, reference_name=reference_name)
        title = picture_title(chart)
        drawn.append(Chart(id=chart, title=title, svg=Markup(svg), words=words, file=address))  # noqa: S704  # our own drawing
        files[address] = picture.standalone_svg(svg)
    for template, page, view in pages:
        files |= render_page(theme, template, site, page, replace(view, charts=tuple(drawn)))
    return files


def picture_title(chart: str) -> str:
    """Return the title of a chart."""
    from basefog.records.vocabulary import CHARTS

    return CHARTS[chart]


def _plan_summary(series: Series, findings: Findings, site: SiteFrame, theme: Theme) -> Job:
    head = head_of(site, SUMMARY, series.title, series.description or f"Film tests: {series.title}")
    page = replace(head, structured=describe_series(series, site))
    tests = {stock.slug: findings.of(stock.slug, stock.current) for stock in series.stocks if stock.current is not None}
    inputs = {
        "theme": theme,
        "site": site,
        "page": page,
        "view": page_of_summary(series, findings),
        "tests": tests,
        "reference": findings.of_reference,
    }
    return Job(outputs=(SUMMARY,), make=make_summary, inputs=inputs)


def _plan_test(series: Series, findings: Findings, stock: Stock, test: Test, *, site: SiteFrame, theme: Theme) -> Job:
    found = findings.tests[test.key]
    reference = findings.of_reference if test.key != findings.reference else None
    addresses = {address_of_test(test): "test.html"}
    if test.id == stock.current:
        addresses[address_of_stock(stock.slug)] = "test.html"
        if reference is not None and stock.slug != series.reference:
            addresses[address_of_comparison(stock.slug)] = "compare.html"
    pages = tuple(
        (
            template,
            _head_of_test(series, findings, stock, test, site=site, address=address),
            page_of_test(series, findings, stock, test, address=address),
        )
        for address, template in addresses.items()
    )
    charts = {chart: address_of_chart(test, chart) for chart in ("curve", "tones")} if found.curve is not None else {}
    names = name_pair(series, stock, test)
    inputs = {
        "theme": theme,
        "site": site,
        "pages": pages,
        "charts": charts,
        "test": found,
        "reference": reference,
        "name": names[0],
        "reference_name": names[1],
    }
    return Job(outputs=(*addresses, *charts.values()), make=make_test_pages, inputs=inputs)


def _head_of_test(
    series: Series, findings: Findings, stock: Stock, test: Test, *, site: SiteFrame, address: str
) -> PageHead:
    verdict = verdict_of(series, findings, test)
    against = f"Against {verdict.against.label}: " if verdict.against else ""
    home = Link(label="All stocks", address=SUMMARY)
    trail = (home, _stock_link(stock)) if stock.current else (home,)
    if address == address_of_comparison(stock.slug):
        title = f"{stock.name} against {series.reference_stock.name}"
        return head_of(site, address, title, f"{title}: {verdict.plain}", trail)
    title = f"{stock.name}, test of {name_test(test)}"
    if address == address_of_stock(stock.slug):
        title, trail = stock.name, (home,)
    head = head_of(site, address, title, f"{title}. {against}{verdict.plain}", trail)
    found = findings.tests[test.key]
    return replace(head, structured=describe_test(site, stock, test, found, head.description))


def _stock_link(stock: Stock) -> Link:
    return Link(label=stock.name, address=address_of_stock(stock.slug))


def _plan_words(series: Series, findings: Findings, site: SiteFrame, theme: Theme) -> tuple[Job, ...]:
    home = Link(label="All stocks", address=SUMMARY)
    jobs: list[Job] = []

    def plan(template: str, page: PageHead, view: object) -> None:
        inputs = {"theme": theme, "template": template, "site": site, "page": page, "view": view}
        jobs.append(Job(outputs=(page.address,), make=make_page, inputs=inputs))

    for stock in series.stocks:
        trail = (home, *((_stock_link(stock),) if stock.current else ()))
        view = page_of_history(findings, stock)
        page = head_of(site, address_of_history(stock.slug), f"History of {stock.name}", view.summary, trail)
        plan("history.html", page, view)
    if series.questions:
        listed = page_of_questions(series, findings)
        description = f"Questions about {series.title}, answered with the numbers of the tests."
        plan("questions.html", head_of(site, QUESTIONS, "Questions", description, (home,)), listed)
    for question in series.questions:
        asked = page_of_question(series, findings, question)
        trail = (home, Link(label="Questions", address=QUESTIONS))
        page = head_of(site, address_of_question(question.slug), question.title, asked.summary or question.title, trail)
        plan("question.html", page, asked)
    for own in series.pages:
        prose = page_of_prose(series, findings, own)
        page = head_of(site, address_of_free_page(own.slug), own.title, prose.summary or own.title, (home,))
        plan("prose.html", page, prose)
    description = f"How {series.title} is done: protocol, definitions with formulas and sources, uncertainty, verdicts."
    plan("method.html", head_of(site, METHOD, "Method", description, (home,)), page_of_method(series, findings))
    description = f"All data of {series.title} for download: readings, curves, measures with their uncertainty."
    plan("data.html", head_of(site, DATA, "Data", description, (home,)), page_of_data(series, findings))
    missing = head_of(site, NOT_FOUND, "Not here", "There is no page at this address.", (home,))
    plan("404.html", missing, page_of_not_found(series, theme.assets.get("page.css", b"")))
    return tuple(jobs)
