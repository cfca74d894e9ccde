"""Pages that are mostly words: the tester's own, redirects, and the page for addresses that are not there."""

import base64
import hashlib
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from basefog.publish.addresses import address_of_free_page, address_of_stock
from basefog.publish.pages.answers import Answers
from basefog.publish.pages.frame import Link
from basefog.publish.pages.page_index import addresses_of_pages
from basefog.publish.pages.prose import plain_prose, render_prose
from basefog.records.content import FreePage, Series
from basefog.records.findings import Findings

_MOST_STOCKS: Final = 60


@dataclass(frozen=True, kw_only=True, slots=True)
class ProsePage:
    """Template variable `view` of `prose.html`, a page of the tester's own."""

    title: str
    prose: Markup
    summary: str


@dataclass(frozen=True, kw_only=True, slots=True)
class RedirectPage:
    """Template variable `view` of `redirect.html`: an old address that leads to a new one."""

    to: Link


@dataclass(frozen=True, kw_only=True, slots=True)
class NotFoundPage:
    """Template variable `view` of `404.html`; `style` is the `page.css`, `style_digest` what a policy calls it.

    `stocks` is empty where there are too many to look through; the summary finds them then.
    """

    stocks: tuple[Link, ...]
    style: Markup
    style_digest: str


def page_of_prose(series: Series, findings: Findings, page: FreePage) -> ProsePage:
    """Return the view-model of a free page."""
    address = address_of_free_page(page.slug)
    answers = Answers(series=series, findings=findings, page=address)
    return ProsePage(
        title=page.title,
        prose=render_prose(
            page.prose, answers, page=address, home=address, known=addresses_of_pages(series), without_title=True
        ),
        summary=plain_prose(page.prose, answers),
    )


def page_of_not_found(series: Series, style: bytes) -> NotFoundPage:
    """Return the page for addresses that are not there, its style within it, for it is shown anywhere."""
    stocks = [stock for stock in series.stocks if stock.current]
    digest = base64.b64encode(hashlib.sha256(style).digest()).decode()
    return NotFoundPage(
        stocks=tuple(Link(label=stock.name, address=address_of_stock(stock.slug)) for stock in stocks)
        if len(stocks) <= _MOST_STOCKS
        else (),
        style=Markup(style.decode()),  # noqa: S704  # the theme's own
        style_digest=f"sha256-{digest}",
    )
