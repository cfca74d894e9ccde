"""What every page has, whatever it is about: the series around it, its head, and its links."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from markupsafe import Markup

from basefog.publish.addresses import ANY_TWO, OPEN, address_of_free_page, canonical_address, relative_link
from basefog.publish.pages.licences import address_of_licence
from basefog.publish.theme import THEME_VERSION, Theme, render
from basefog.records.content import Series

SUMMARY, METHOD, QUESTIONS, DATA, NOT_FOUND = (
    "index.html",
    "method/index.html",
    "questions/index.html",
    "data/index.html",
    "404.html",
)

CONTROL_STRIPS: Final = "method/control-strip.svg"
"""The chart of the development batches, a file beside the method page that shows it."""

NOTHING: Final = Markup()

_LEAST_DESCRIPTION, _MOST_DESCRIPTION = 50, 160
"""Characters of a description that lists of pages show (common practice, no source)."""

_MONTHS: Final = (
    "January February March April May June July August September October November December".split()  # noqa: SIM905
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Link:
    """A link to an address of the site (`address`), or to somewhere else (`outside`)."""

    label: str
    address: str = ""
    outside: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class SiteFrame:
    """Template variable `site`: what all pages say of the series."""

    title: str
    description: str
    author: str
    licence: Link | None
    language: str
    address: str
    navigation: tuple[Link, ...]
    theme_version: int = THEME_VERSION


@dataclass(frozen=True, kw_only=True, slots=True)
class PageHead:
    """Template variable `page`: one page's own head.

    `trail` leads from the summary to the page's parent; `canonical` is empty where the series has no address;
    `structured` is JSON about the page's data set for machines, in the words of schema.org; `card` is the full address
    of the picture to show where the page is linked, `card_words` that picture in words, both empty where there is none.
    """

    address: str
    title: str
    description: str
    canonical: str
    trail: tuple[Link, ...] = ()
    structured: Markup = NOTHING
    card: str = ""
    card_words: str = ""


def frame_of(series: Series) -> SiteFrame:
    """Return what every page of a series says of it."""
    navigation = [
        Link(label="All stocks", address=SUMMARY),
        Link(label="Compare", address=ANY_TWO),
        Link(label="Method", address=METHOD),
    ]
    if series.questions:
        navigation.append(Link(label="Questions", address=QUESTIONS))
    if "open" in series.optional_pages:
        navigation.append(Link(label="Open", address=OPEN))
    navigation.append(Link(label="Data", address=DATA))
    navigation += [Link(label=page.title, address=address_of_free_page(page.slug)) for page in series.pages]
    return SiteFrame(
        title=series.title,
        description=series.description or "",
        author=series.author or "",
        licence=Link(label=series.licence, outside=address_of_licence(series.licence)) if series.licence else None,
        language=series.language,
        address=series.address or "",
        navigation=tuple(navigation),
    )


def head_of(site: SiteFrame, address: str, title: str, description: str, trail: tuple[Link, ...] = ()) -> PageHead:
    """Return the head of one page."""
    return PageHead(
        address=address,
        title=title,
        description=fit_description(description, site.description),
        canonical=canonical_address(site.address, address) if site.address else "",
        trail=trail,
    )


def fit_description(words: str, more: str = "") -> str:
    """Return a page's description as those who list pages show it: up to 160 characters, not much below 50.

    A long one ends after a sentence, else after a clause, else after a word; a short one is followed by `more`.

    >>> fit_description("Two thirds of a stop slower; contrast and gamma: no measurable difference; " + "words " * 30)
    'Two thirds of a stop slower; contrast and gamma: no measurable difference.'
    >>> fit_description("Hello.", "One reference film, one protocol, and every stock.")
    'Hello. One reference film, one protocol, and every stock.'
    """
    text = " ".join(words.split())
    if len(text) < _LEAST_DESCRIPTION:
        text = " ".join(f"{text} {more}".split())
    if len(text) <= _MOST_DESCRIPTION:
        return text
    start = text[: _MOST_DESCRIPTION + 1]
    for sign in (". ", "; "):
        end = start.rfind(sign)
        if end >= _LEAST_DESCRIPTION:
            return start[:end] + "."
    return start[: _MOST_DESCRIPTION - 1].rpartition(" ")[0].rstrip(",;:(") + "…"


def format_date(day: date) -> str:
    """Return a date as a reader says it.

    >>> format_date(date(2026, 3, 4))
    '4 March 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def render_page(theme: Theme, template: str, site: SiteFrame, page: PageHead, view: object) -> dict[str, bytes]:
    """Return one page by its address. Templates see `site`, `page`, `view` and `link(address)`."""

    def link(address: str) -> str:
        if page.address == NOT_FOUND and site.address:
            return site.address.rstrip("/") + "/" + address
        return relative_link(page.address, address)

    return {page.address: render(theme, template, {"site": site, "page": page, "view": view, "link": link})}
