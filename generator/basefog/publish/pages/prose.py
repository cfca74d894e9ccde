"""The tester's Markdown becomes clean HTML, its numbers drawn from the findings by name.

Calls are taken out before Markdown is read and put back, as this program's own HTML, after everything else was
cleaned; so nothing that the tester types can reach past the cleaning, and nothing of ours is lost to it.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from posixpath import dirname, normpath
from typing import Final
from urllib.parse import urlsplit

import nh3
from markupsafe import Markup

from basefog.publish.addresses import relative_link
from basefog.records.content import Prose
from basefog.records.prose_calls import ProseCall, find_calls, render_markdown

_TAGS: Final = (
    *("a", "abbr", "b", "blockquote", "br", "cite", "code", "dd", "del", "dfn", "div", "dl", "dt", "em", "hr", "i"),
    *("h1", "h2", "h3", "h4", "h5", "h6", "ins", "kbd", "li", "ol", "p", "pre", "q", "s", "samp", "small", "strong"),
    *("sub", "sup", "table", "tbody", "td", "tfoot", "th", "thead", "tr", "u", "ul", "var"),
)
_ATTRIBUTES: Final[Mapping[str, set[str]]] = {
    "a": {"href", "title"},
    "abbr": {"title"},
    "li": {"id"},
    "ol": {"start"},
    "sup": {"id"},
    "td": {"colspan", "rowspan", "style"},
    "th": {"colspan", "rowspan", "style", "scope"},
}
_TOKEN = re.compile(r"<[^>]*>|[^<]+")
_HEADING = re.compile(r"<h([1-6])>(.*?)</h\1>", re.DOTALL)
_ANY_TAG = re.compile(r"<[^>]*>")
_ALIGN = re.compile(r' style="text-align:\s*(left|right|center);?"')
_STYLE = re.compile(r' style="[^"]*"')
_HREF = re.compile(r'(<a\b[^>]*?\bhref=")([^"]*)(")')
_FOOTNOTE_ID = re.compile(r'\bid="(fn(?:ref\d*)?:[^"]*)"')
_MARK = "zqcall"


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """What a call becomes: `inline` in a line, `plain` within a link or a tag, `block` alone in its paragraph."""

    inline: Markup
    plain: str
    block: Markup | None = None


Resolve = Callable[[ProseCall], Answer]


def render_prose(
    prose: Prose,
    resolve: Resolve,
    *,
    page: str,
    home: str,
    top_level: int = 2,
    prefix: str = "",
    without_title: bool = False,
) -> Markup:
    """Return a text of the tester as HTML that may stand on a page.

    Args:
        prose: Markdown, already checked.
        resolve: answers a call.
        page: address of the page it stands on, which links are made relative to.
        home: address of the page that the tester's relative links start from.
        top_level: level that the text's highest heading gets.
        prefix: put before every id, so that two texts may stand on one page.
        without_title: leave out the first heading, which is the page's title.
    """
    text, calls = _take_calls_out(prose.text)
    html = nh3.clean(
        render_markdown(text),
        tags=set(_TAGS),
        attributes={tag: set(names) for tag, names in _ATTRIBUTES.items()},
        url_schemes={"http", "https", "mailto"},
        link_rel=None,
        generic_attribute_prefixes=set(),
    )
    html = _STYLE.sub("", _ALIGN.sub(r' class="\1"', html))
    if without_title:
        html = _HEADING.sub("", html, count=1)
    html = _shift_headings(html, top_level, prefix, calls, resolve)
    html = _prefix_footnotes(html, prefix)
    html = _HREF.sub(lambda match: match[1] + _relink(match[2], page, home, prefix) + match[3], html)
    return Markup(_put_answers_in(html, calls, resolve))  # noqa: S704  # cleaned above


def plain_prose(prose: Prose, resolve: Resolve) -> str:
    """Return the first paragraph of a text without any HTML, for descriptions."""
    text, calls = _take_calls_out(prose.text)
    html = nh3.clean(
        render_markdown(text), tags={"p", "h1", "h2"}, attributes={}, clean_content_tags={"script", "style"}
    )
    paragraph = re.search(r"<p>(.*?)</p>", html, re.DOTALL)
    if paragraph is None:
        return ""
    words = _mark_pattern().sub(lambda match: resolve(calls[int(match[1])]).plain, paragraph[1])
    return " ".join(Markup(words).unescape().split())  # noqa: S704  # unescaped to plain text at once


def _mark_pattern() -> re.Pattern[str]:
    return re.compile(rf"{_MARK}(\d+)x")


def _take_calls_out(text: str) -> tuple[str, tuple[ProseCall, ...]]:
    """Replace calls by marks that Markdown leaves alone; a text that holds such a mark itself loses it."""
    text = _mark_pattern().sub("", text)
    pieces: list[str] = []
    at = 0
    calls = tuple(call for call in find_calls(text) if call.error is None)
    for index, call in enumerate(calls):
        pieces += [text[at : call.start], f"{_MARK}{index}x"]
        at = call.end
    return "".join([*pieces, text[at:]]), calls


def _put_answers_in(html: str, calls: tuple[ProseCall, ...], resolve: Resolve) -> str:
    if not calls:
        return html
    mark = _mark_pattern()

    def alone(match: re.Match[str]) -> str:
        answer = resolve(calls[int(match[1])])
        return str(answer.block) if answer.block is not None else match[0]

    html = re.sub(rf"<p>\s*{_MARK}(\d+)x\s*</p>", alone, html)
    pieces: list[str] = []
    links = 0
    for piece in _TOKEN.findall(html):
        if piece.startswith("<"):
            links += (piece.startswith("<a ")) - (piece == "</a>")
            pieces.append(mark.sub(lambda match: escape(resolve(calls[int(match[1])]).plain), piece))
        elif links:
            pieces.append(mark.sub(lambda match: escape(resolve(calls[int(match[1])]).plain), piece))
        else:
            pieces.append(mark.sub(lambda match: str(resolve(calls[int(match[1])]).inline), piece))
    return "".join(pieces)


def _shift_headings(html: str, top_level: int, prefix: str, calls: tuple[ProseCall, ...], resolve: Resolve) -> str:
    levels = [int(match[1]) for match in _HEADING.finditer(html)]
    if not levels:
        return html
    shift = top_level - min(levels)
    taken: dict[str, int] = {}

    def move(match: re.Match[str]) -> str:
        level = min(6, int(match[1]) + shift)
        words = _mark_pattern().sub(lambda mark: resolve(calls[int(mark[1])]).plain, match[2])
        name = prefix + (slug_of(Markup(_ANY_TAG.sub("", words)).unescape()) or "part")  # noqa: S704  # to plain text
        taken[name] = taken.get(name, 0) + 1
        if taken[name] > 1:
            name = f"{name}-{taken[name]}"
        return f'<h{level} id="{escape(name)}">{match[2]}</h{level}>'

    return _HEADING.sub(move, html)


def slug_of(text: str) -> str:
    """Return words as an id: letters and digits of any script, joined by hyphens.

    >>> slug_of("Why Tern 100? A second look")
    'why-tern-100-a-second-look'
    """
    return "-".join(re.findall(r"\w+", text.lower().replace("_", "-")))


def _prefix_footnotes(html: str, prefix: str) -> str:
    return _FOOTNOTE_ID.sub(lambda match: f'id="{prefix}{match[1]}"', html)


def _relink(href: str, page: str, home: str, prefix: str) -> str:
    """Make a link of the tester's relative to the page it stands on; `href` is HTML-escaped and stays so."""
    parts = urlsplit(href)
    if parts.scheme or href.startswith("//"):
        return href
    if href.startswith("#"):
        return f"#{prefix}{href[1:]}" if href.startswith(("#fn:", "#fnref")) else href
    target, mark, anchor = href.partition("#")
    if target.startswith("/"):
        address = normpath(target.lstrip("/") or ".")
    else:
        address = normpath(f"{dirname(home) or '.'}/{target}")
    if target.endswith("/") or "." not in address.rsplit("/", 1)[-1]:
        address = normpath(f"{address}/index.html")
    return relative_link(page, address.lstrip("/")) + mark + anchor
