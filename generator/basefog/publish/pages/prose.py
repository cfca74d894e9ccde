"""The tester's Markdown becomes clean HTML, its numbers drawn from the findings by name.

Calls are taken out before Markdown is read and put back, as this program's own HTML, after everything else was
cleaned; so nothing that the tester types can reach past the cleaning, and nothing of ours is lost to it.
"""

import hashlib
import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from html import escape
from posixpath import dirname, normpath
from typing import Final
from urllib.parse import urlsplit

import nh3
from markupsafe import Markup

from basefog.publish.addresses import relative_link
from basefog.publish.pages.quantities import set_apostrophes
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
_CONTENT_FILE = re.compile(r"(questions|pages)/(?:\d{4}-\d\d-\d\d-)?([a-z0-9-]+)\.md")
_NOTES_FILE = re.compile(r"(stocks/.+)/(?:notes\.md|stock\.yaml|test\.yaml)")
_PIECE = re.compile(r"<[^>]*>|[^<]+")
_CODE = re.compile(r"<(code|pre|kbd|samp)>.*?</\1>|<[^>]*>", re.DOTALL)
_HEADING = re.compile(r"<h([1-6])>(.*?)</h\1>", re.DOTALL)
_ANY_TAG = re.compile(r"<[^>]*>")
_ALIGN = re.compile(r' style="text-align:\s*(left|right|center);?"')
_STYLE = re.compile(r' style="[^"]*"')
_HREF = re.compile(r'(<a\b[^>]*?\bhref=")([^"]*)(")')
_FOOTNOTE_ID = re.compile(r'\bid="(fn(?:ref\d*)?:[^"]*)"')


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """What a call becomes: `inline` in a line, `plain` within a link or a tag, `block` alone in its paragraph.

    A block may have to be drawn, which nobody does who wants words.
    """

    inline: Markup
    plain: str
    block: Callable[[], Markup] | None = None


Resolve = Callable[[ProseCall], Answer]


def render_prose(
    prose: Prose,
    resolve: Resolve,
    *,
    page: str,
    home: str,
    known: Collection[str] = (),
    top_level: int = 2,
    prefix: str = "",
    without_title: bool = False,
) -> Markup:
    """Return a text of the tester as HTML that may stand on a page.

    Args:
        prose: Markdown, already checked.
        resolve: answers a call.
        page: address of the page it stands on, which links are made relative to.
        home: address of the page that is the text's own, which relative links may start from.
        known: addresses of the site's pages, which links are looked for among.
        top_level: level that the text's highest heading gets.
        prefix: put before every id, so that two texts may stand on one page.
        without_title: leave out the first heading, which is the page's title.
    """
    marked = _mark_calls(prose.text)
    html = nh3.clean(
        render_markdown(marked.text),
        tags=set(_TAGS),
        attributes={tag: set(names) for tag, names in _ATTRIBUTES.items()},
        url_schemes={"http", "https", "mailto"},
        link_rel=None,
        generic_attribute_prefixes=set(),
    )
    html = _set_apostrophes_in(_STYLE.sub("", _ALIGN.sub(r' class="\1"', html)))
    if without_title:
        html = _HEADING.sub("", html, count=1)
    html = _shift_headings(html, marked, resolve, top_level=top_level, prefix=prefix)
    html = _prefix_footnotes(html, prefix)

    def relinked(match: re.Match[str]) -> str:
        return match[1] + _relink(match[2], prose, known, page=page, home=home, prefix=prefix) + match[3]

    html = _HREF.sub(relinked, html)
    return Markup(_put_answers_in(html, marked, resolve))  # noqa: S704  # cleaned above


def plain_prose(prose: Prose, resolve: Resolve) -> str:
    """Return the first paragraph of a text without any HTML, for descriptions."""
    marked = _mark_calls(prose.text)
    html = nh3.clean(
        render_markdown(marked.text), tags={"p", "h1", "h2"}, attributes={}, clean_content_tags={"script", "style"}
    )
    paragraph = re.search(r"<p>(.*?)</p>", html, re.DOTALL)
    if paragraph is None:
        return ""
    words = marked.replace(paragraph[1], lambda call: escape(resolve(call).plain))
    return set_apostrophes(" ".join(Markup(words).unescape().split()))  # noqa: S704  # unescaped to plain text at once


@dataclass(frozen=True, kw_only=True, slots=True)
class _Marked:
    """A text whose calls are replaced by marks that Markdown leaves alone."""

    text: str
    calls: tuple[ProseCall, ...]
    mark: str

    @property
    def pattern(self) -> re.Pattern[str]:
        """A mark, with the number of its call."""
        return re.compile(rf"{self.mark}(\d+)x")

    def replace(self, html: str, answer: Callable[[ProseCall], str]) -> str:
        """Put answers in the place of marks."""
        return self.pattern.sub(lambda match: answer(self.calls[int(match[1])]), html)


def _mark_calls(text: str) -> _Marked:
    # The mark holds the text's own digest, so that no text can hold its mark already, in pieces or whole.
    mark = "zq" + hashlib.sha256(text.encode()).hexdigest()[:24] + "q"
    pieces: list[str] = []
    at = 0
    calls = tuple(call for call in find_calls(text) if call.error is None)
    for index, call in enumerate(calls):
        pieces += [text[at : call.start], f"{mark}{index}x"]
        at = call.end
    return _Marked(text="".join([*pieces, text[at:]]), calls=calls, mark=mark)


def _put_answers_in(html: str, marked: _Marked, resolve: Resolve) -> str:
    if not marked.calls:
        return html

    def alone(match: re.Match[str]) -> str:
        block = resolve(marked.calls[int(match[1])]).block
        return match[0] if block is None else str(block())

    html = re.sub(rf"<p>\s*{marked.pattern.pattern}\s*</p>", alone, html)
    pieces: list[str] = []
    links = 0
    for piece in _PIECE.findall(html):
        if piece.startswith("<"):
            links += (piece.startswith("<a ")) - (piece == "</a>")
        within_link = links > 0 or piece.startswith("<")
        pieces.append(marked.replace(piece, _say_plain(resolve) if within_link else _say_inline(resolve)))
    return "".join(pieces)


def _say_plain(resolve: Resolve) -> Callable[[ProseCall], str]:
    return lambda call: escape(resolve(call).plain)


def _say_inline(resolve: Resolve) -> Callable[[ProseCall], str]:
    return lambda call: str(resolve(call).inline)


def _set_apostrophes_in(html: str) -> str:
    """Return clean HTML with its apostrophes set, but for those in code and in tags."""
    pieces, at = [], 0
    for kept in _CODE.finditer(html):
        pieces += [set_apostrophes(html[at : kept.start()]), kept[0]]
        at = kept.end()
    return "".join([*pieces, set_apostrophes(html[at:])])


def _shift_headings(html: str, marked: _Marked, resolve: Resolve, *, top_level: int, prefix: str) -> str:
    levels = [int(match[1]) for match in _HEADING.finditer(html)]
    if not levels:
        return html
    shift = top_level - min(levels)
    taken: dict[str, int] = {}

    def move(match: re.Match[str]) -> str:
        level = min(6, int(match[1]) + shift)
        words = marked.replace(match[2], lambda call: resolve(call).plain)
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


def _relink(href: str, prose: Prose, known: Collection[str], *, page: str, home: str, prefix: str) -> str:
    """Make a link of the tester's relative to the page it stands on; `href` is HTML-escaped and stays so."""
    parts = urlsplit(href)
    if parts.scheme or href.startswith("//"):
        return href
    if href.startswith("#"):
        return f"#{prefix}{href[1:]}" if href.startswith(("#fn:", "#fnref")) else href
    target, mark, anchor = href.partition("#")
    # A tester may think from the page, from the file that the text is in, or from the top of the series.
    starts = ("",) if target.startswith("/") else (dirname(home), dirname(prose.place.path), "")
    candidates = [candidate for start in starts for candidate in _pages_at(start, target.lstrip("/"))]
    address = next((candidate for candidate in candidates if candidate in known), candidates[0])
    return relative_link(page, address) + mark + anchor


def _pages_at(start: str, target: str) -> tuple[str, ...]:
    """Return the addresses that a path may mean: a file, a folder's page, or the page made from a content file.

    >>> _pages_at("questions", "2026-04-10-grain.md")
    ('questions/grain/index.html',)
    >>> _pages_at("stocks/tern-100", "../../method/")
    ('method/index.html',)
    """
    address = normpath(f"{start or '.'}/{target}").lstrip("/")
    if content := _CONTENT_FILE.fullmatch(address):
        return (f"{content[1]}/{content[2]}/index.html",)
    if notes := _NOTES_FILE.fullmatch(address):
        return (f"{notes[1]}/index.html",)
    if address == ".":
        return ("index.html",)
    return (address,) if "." in address.rsplit("/", 1)[-1] else (f"{address}/index.html",)
