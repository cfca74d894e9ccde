"""Which pages a series makes, and the jobs that make them.

The pages of a stock are made of what they have of the series (`publish/narrow.py`), view-models and charts within the
jobs. The view-models of the pages that are about the whole series are made while planning: they are words and
addresses, and all that such a page depends on.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Final

from markupsafe import Markup

from basefog.picture import list_charts
from basefog.publish.addresses import (
    ANY_TWO,
    OPEN,
    STUDY,
    address_of_card,
    address_of_chart,
    address_of_comparison,
    address_of_free_page,
    address_of_history,
    address_of_question,
    address_of_stock,
    address_of_test,
    canonical_address,
)
from basefog.publish.narrow import Narrowing
from basefog.publish.pages.charts import data_of_chart, draw_charts, draw_control_strips
from basefog.publish.pages.frame import (
    CONTROL_STRIPS,
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
from basefog.publish.pages.names import name_pair_in_words, name_test
from basefog.publish.pages.page_index import addresses_of_pages
from basefog.publish.pages.page_of_any_two import page_of_any_two
from basefog.publish.pages.page_of_data import page_of_data
from basefog.publish.pages.page_of_history import page_of_history
from basefog.publish.pages.page_of_method import MethodPage, page_of_method
from basefog.publish.pages.page_of_open import page_of_open
from basefog.publish.pages.page_of_questions import page_of_question, page_of_questions
from basefog.publish.pages.page_of_summary import SummaryPage, page_of_summary
from basefog.publish.pages.page_of_test import page_of_test
from basefog.publish.pages.redirects import plan_redirects
from basefog.publish.pages.structured import describe_series, describe_test
from basefog.publish.pages.study import page_of_study, read_study, tell_in_a_sentence
from basefog.publish.pages.text_pages import page_of_not_found, page_of_prose
from basefog.publish.pages.verdict import verdict_of
from basefog.publish.theme import Theme, plan_assets
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import BatchFinding, Findings, TestFindings
from basefog.site import Job

_HOME: Final = Link(label="All stocks", address=SUMMARY)


def plan_pages(series: Series, findings: Findings, *, theme: Theme) -> tuple[Job, ...]:
    """Return the jobs that make every page of a series, its charts and the theme's own files."""
    site = frame_of(series)
    return (
        *plan_assets(theme),
        _plan_summary(series, findings, site, theme),
        *_plan_narrow(series, findings, site=site, theme=theme),
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
    """Return the summary with a small curve drawn into each row, and the picture of all strips."""
    from basefog.picture import draw_small_curve, stack_strips

    rows = tuple(
        replace(row, curve=Markup(draw_small_curve(tests[row.slug], reference)))  # noqa: S704  # our own drawing
        if tests[row.slug].curve is not None
        else row
        for row in view.rows
    )
    files = render_page(theme, "summary.html", site, page, replace(view, rows=rows))
    if view.strips:
        files[view.strips] = stack_strips([row.greys for row in rows if row.strip is not None])
    return files


def make_method(
    *, theme: Theme, site: SiteFrame, page: PageHead, view: MethodPage, batches: tuple[BatchFinding, ...]
) -> dict[str, bytes]:
    """Return the method page, and the chart of the control strips where any was read."""
    if not batches:
        return render_page(theme, "method.html", site, page, view)
    drawn = draw_control_strips(batches)
    files = render_page(theme, "method.html", site, page, replace(view, strips=drawn[0]))
    return files | {CONTROL_STRIPS: drawn[1]}


def make_test_pages(
    *,
    theme: Theme,
    site: SiteFrame,
    series: Series,
    findings: Findings,
    slug: str,
    test_id: str,
    known: frozenset[str],
) -> dict[str, bytes]:
    """Return a test's pages and its charts, each chart drawn once.

    Arguments: `series` and `findings` as the pages of the stock have them (`Narrowing`), `known` the addresses of all
    pages.
    """
    stock = series.stock(slug)
    test = stock.test(test_id)
    found = findings.tests[test.key]
    drawn, files = draw_charts(
        {chart: address_of_chart(test, chart) for chart in list_charts(found)},
        found,
        findings.of_reference if test.key != findings.reference else None,
        data={chart: data_of_chart(chart, test) for chart in list_charts(found)},
        names=name_pair_in_words(series, stock, test),
        patch_names={patch.id: patch.name for patch in series.patches},
    )
    for address, template in _pages_of_test(series, findings, stock, test).items():
        page = _head_of_test(series, findings, stock, test, site=site, address=address)
        view = page_of_test(series, findings, stock, test, address=address, known=known)
        files |= render_page(theme, template, site, page, replace(view, charts=drawn))
    return files


def make_history(*, theme: Theme, site: SiteFrame, series: Series, findings: Findings, slug: str) -> dict[str, bytes]:
    """Return the history of a stock. Arguments as of `make_test_pages`."""
    stock = series.stock(slug)
    view = page_of_history(series, findings, stock)
    told = f"{view.summary} What was retested, why, and what moved."
    trail = (_HOME, *((_stock_link(stock),) if stock.current else ()))
    page = head_of(site, address_of_history(slug), f"History of {stock.name}", told, trail)
    return render_page(theme, "history.html", site, _with_card(page, series, findings, stock), view)


def make_question(
    *,
    theme: Theme,
    site: SiteFrame,
    series: Series,
    findings: Findings,
    slug: str,
    known: frozenset[str],
) -> dict[str, bytes]:
    """Return the page of a question. Arguments as of `make_test_pages`."""
    question = next(question for question in series.questions if question.slug == slug)
    asked = page_of_question(series, findings, question, known=known)
    trail = (_HOME, Link(label="Questions", address=QUESTIONS))
    page = head_of(site, address_of_question(slug), question.title, asked.summary or question.title, trail)
    return render_page(theme, "question.html", site, page, asked)


def _plan_summary(series: Series, findings: Findings, site: SiteFrame, theme: Theme) -> Job:
    head = head_of(site, SUMMARY, series.title, series.description or f"Film tests: {series.title}")
    page = replace(head, structured=describe_series(series, site))
    tests = {stock.slug: findings.of(stock.slug, stock.current) for stock in series.stocks if stock.current is not None}
    view = page_of_summary(series, findings)
    inputs = {
        "theme": theme,
        "site": site,
        "page": page,
        "view": view,
        "tests": tests,
        "reference": findings.of_reference,
    }
    return Job(outputs=tuple(filter(None, (SUMMARY, view.strips))), make=make_summary, inputs=inputs)


def _plan_narrow(series: Series, findings: Findings, *, site: SiteFrame, theme: Theme) -> Iterator[Job]:
    """Yield the jobs of the pages of stocks and questions: they make their own view-models, of what they have."""
    narrowing = Narrowing(series, findings)
    known = addresses_of_pages(series)
    for question in series.questions:
        own, found = narrowing.to_question(question)
        inputs: dict[str, object] = {"theme": theme, "site": site, "series": own, "findings": found}
        inputs |= {"slug": question.slug, "known": known}
        yield Job(outputs=(address_of_question(question.slug),), make=make_question, inputs=inputs)
    for stock in series.stocks:
        own, found = narrowing.to_stock(stock.slug)
        inputs = {"theme": theme, "site": site, "series": own, "findings": found, "slug": stock.slug}
        yield Job(outputs=(address_of_history(stock.slug),), make=make_history, inputs=inputs)
        for test in stock.tests:
            charts = [address_of_chart(test, chart) for chart in list_charts(findings.tests[test.key])]
            yield Job(
                outputs=(*_pages_of_test(series, findings, stock, test), *charts),
                make=make_test_pages,
                inputs={**inputs, "test_id": test.id, "known": known},
            )


def _pages_of_test(series: Series, findings: Findings, stock: Stock, test: Test) -> dict[str, str]:
    """Return the addresses of a test's pages, each with its template."""
    addresses = {address_of_test(test): "test.html"}
    if test.id == stock.current:
        addresses[address_of_stock(stock.slug)] = "test.html"
        if stock.slug != series.reference and findings.reference is not None:
            addresses[address_of_comparison(stock.slug)] = "compare.html"
    return addresses


def _head_of_test(
    series: Series, findings: Findings, stock: Stock, test: Test, *, site: SiteFrame, address: str
) -> PageHead:
    verdict = verdict_of(series, findings, test)
    against = f"Against {verdict.against.label}: " if verdict.against else ""
    trail = (_HOME, _stock_link(stock)) if stock.current else (_HOME,)
    if address == address_of_comparison(stock.slug):
        title = f"{stock.name} against {series.reference_stock.name}"
        return _with_card(head_of(site, address, title, f"{title}: {verdict.plain}", trail), series, findings, stock)
    title = f"{stock.name}, test of {name_test(test)}"
    if address == address_of_stock(stock.slug):
        title, trail = f"{stock.name}, film test", (_HOME,)
    head = head_of(site, address, title, f"{title}. {against}{verdict.plain}", trail)
    found = findings.tests[test.key]
    head = replace(head, structured=describe_test(site, stock, test, found, head.description))
    return _with_card(head, series, findings, stock) if test.id == stock.current else head


def _with_card(head: PageHead, series: Series, findings: Findings, stock: Stock) -> PageHead:
    """Return the head with the stock's card, which shows its current test."""
    if series.address is None or stock.current_test is None:
        return head
    verdict = verdict_of(series, findings, stock.current_test)
    words = f"{stock.name}{f' against {verdict.against.label}' if verdict.against else ''}: {verdict.lead}"
    return replace(head, card=canonical_address(series.address, address_of_card(stock.slug)), card_words=words)


def _plan_method(series: Series, findings: Findings, page: PageHead, site: SiteFrame, theme: Theme) -> Job:
    inputs = {
        "theme": theme,
        "site": site,
        "page": page,
        "view": page_of_method(series, findings, tell_in_a_sentence(read_study())),
        "batches": findings.batches,
    }
    return Job(outputs=(METHOD, *((CONTROL_STRIPS,) if findings.batches else ())), make=make_method, inputs=inputs)


def _stock_link(stock: Stock) -> Link:
    return Link(label=stock.name, address=address_of_stock(stock.slug))


def _plan_words(series: Series, findings: Findings, site: SiteFrame, theme: Theme) -> tuple[Job, ...]:
    home = _HOME
    jobs: list[Job] = []

    def plan(template: str, page: PageHead, view: object) -> None:
        inputs = {"theme": theme, "template": template, "site": site, "page": page, "view": view}
        jobs.append(Job(outputs=(page.address,), make=make_page, inputs=inputs))

    if series.questions:
        listed = page_of_questions(series, findings)
        description = f"Questions about {series.title}, answered with the numbers of the tests."
        plan("questions.html", head_of(site, QUESTIONS, "Questions and answers", description, (home,)), listed)
    description = f"Any two tests of {series.title} side by side: curves, every measure with its error, views."
    head = head_of(site, ANY_TWO, "Any two tests", description, (home,))
    plan("any-two.html", head, page_of_any_two(series, findings))
    if "open" in series.optional_pages:
        description = f"Which verdicts of {series.title} are not firm yet, and which repeats would settle most."
        plan("open.html", head_of(site, OPEN, "What is open", description, (home,)), page_of_open(series, findings))
    for own in series.pages:
        prose = page_of_prose(series, findings, own)
        page = head_of(site, address_of_free_page(own.slug), own.title, prose.summary or own.title, (home,))
        plan("prose.html", page, prose)
    description = f"How {series.title} is done: protocol, definitions with formulas and sources, uncertainty, verdicts."
    method = head_of(site, METHOD, "Method of the tests", description, (home,))
    jobs.append(_plan_method(series, findings, method, site, theme))
    description = (
        "How far off and how sure the measures of a curve are: films with known true values, read in simulation."
    )
    head = head_of(site, STUDY, "How well the curve tells", description, (home, Link(label="Method", address=METHOD)))
    plan("study.html", head, page_of_study(read_study()))
    description = f"All data of {series.title} for download: readings, curves, measures with their uncertainty."
    data = replace(
        head_of(site, DATA, "Data for download", description, (home,)), structured=describe_series(series, site)
    )
    plan("data.html", data, page_of_data(series, findings, site))
    missing = head_of(site, NOT_FOUND, "Not here", "There is no page at this address.", (home,))
    plan("404.html", missing, page_of_not_found(series, theme.assets.get("page.css", b"")))
    return tuple(jobs)
