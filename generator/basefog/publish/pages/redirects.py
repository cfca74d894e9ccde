"""Old addresses of renamed stocks, each a small page that leads to the new one."""

from collections.abc import Iterator

from basefog.publish.addresses import (
    address_of_comparison,
    address_of_history,
    address_of_stock,
    address_of_test,
    canonical_address,
)
from basefog.publish.pages.frame import SUMMARY, Link, PageHead, SiteFrame, render_page
from basefog.publish.pages.text_pages import RedirectPage
from basefog.publish.theme import Theme
from basefog.records.content import Series
from basefog.site import Job


def plan_redirects(series: Series, site: SiteFrame, theme: Theme) -> tuple[Job, ...]:
    """Return the jobs for every address that a stock had under a former slug, and for the bare `stocks/`."""
    jobs = []
    for old, new, label in _moves(series):
        # The canonical address is the new one: the old page is only a signpost.
        page = PageHead(
            address=old,
            title=label,
            description=f"{label} has moved.",
            canonical=canonical_address(site.address, new) if site.address else "",
        )
        inputs = {"theme": theme, "site": site, "page": page, "view": RedirectPage(to=Link(label=label, address=new))}
        jobs.append(Job(outputs=(old,), make=make_redirect, inputs=inputs))
    return tuple(jobs)


def addresses_of_redirects(series: Series) -> frozenset[str]:
    """Return every address where a page only leads on."""
    return frozenset(old for old, _, _ in _moves(series))


def make_redirect(*, theme: Theme, site: SiteFrame, page: PageHead, view: RedirectPage) -> dict[str, bytes]:
    """Return one signpost."""
    return render_page(theme, "redirect.html", site, page, view)


def _moves(series: Series) -> Iterator[tuple[str, str, str]]:
    yield "stocks/index.html", SUMMARY, "All stocks"
    for stock in series.stocks:
        if stock.current is None:
            # A stock whose tests are all withdrawn has no current test to show; its history tells why.
            yield address_of_stock(stock.slug), address_of_history(stock.slug), stock.name
        for slug in stock.former_slugs:
            moved = [(address_of_history(slug), address_of_history(stock.slug))]
            if stock.current is not None:
                moved.append((address_of_stock(slug), address_of_stock(stock.slug)))
                if stock.slug != series.reference and series.reference_stock.current is not None:
                    moved.append((address_of_comparison(slug), address_of_comparison(stock.slug)))
            else:
                moved.append((address_of_stock(slug), address_of_history(stock.slug)))
            moved += [(f"stocks/{slug}/{test.id}/index.html", address_of_test(test)) for test in stock.tests]
            for old, new in moved:
                yield old, new, stock.name
