"""What the link check needs to know of a file: its ids, where it leads, and what is wrong within it."""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Literal

_PAGE_SUFFIXES = (".html", ".svg", ".xml")
_FOLLOWED = {"href", "xlink:href", "cite", "action", "formaction"}
_FETCHED = {"src", "poster", "data"}
_FETCHED_SETS = {"srcset", "imagesrcset"}
_ARIA_REFERENCES = {"activedescendant", "controls", "describedby", "details", "errormessage", "flowto", "labelledby"}
_ID_REFERENCES = {"for", "headers", "list", "popovertarget", "aria-owns"} | {
    f"aria-{name}" for name in _ARIA_REFERENCES
}
_FETCHING_RELATIONS = {"stylesheet", "icon", "apple-touch-icon", "preload", "modulepreload", "manifest", "prefetch"}
_ADDRESS_METAS = {"og:image", "og:url"}
_REFRESH = re.compile(r"^\s*\d+\s*;\s*url\s*=\s*['\"]?([^'\"]+)", re.IGNORECASE)
_STYLE_URL = re.compile(
    r"url\(\s*(?:\"([^\"]*)\"|'([^']*)'|([^)\s]*))\s*\)|@import\s+[\"']([^\"']+)[\"']", re.IGNORECASE
)
_STYLE_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)


@dataclass(frozen=True, kw_only=True, slots=True)
class Link:
    """One reference as written, where in the file, and whether a browser fetches it by itself."""

    to: str
    line: int
    fetched: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class PageFacts:
    """What the check needs to know of one file: its anchors, where it leads, and what is wrong within it."""

    anchors: frozenset[str] = frozenset()
    links: tuple[Link, ...] = ()
    faults: tuple[str, ...] = ()


def read_facts(address: str, data: bytes) -> PageFacts | None:
    """Return the facts of a page, drawing, feed or style sheet; None for a file of another kind.

    A plain function of the bytes; nothing is opened.
    """
    if address.endswith(_PAGE_SUFFIXES):
        parser = _PageParser()
        try:
            parser.feed(data.decode("utf-8"))
        except UnicodeDecodeError as error:
            return PageFacts(faults=(f"{address}: is not UTF-8 at byte {error.start}",))
        parser.close()
        return parser.facts(address)
    if address.endswith(".css"):
        return PageFacts(links=tuple(_style_links(data.decode("utf-8", "replace"), 1)))
    return None


@dataclass(slots=True)
class _Found:
    ids: dict[str, int] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)
    links: list[Link] = field(default_factory=list)
    references: list[tuple[str, str, int]] = field(default_factory=list)
    faults: list[tuple[int, str]] = field(default_factory=list)


class _PageParser(HTMLParser):
    """Gathers ids and references of one page or drawing."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found = _Found()
        self.holds: Literal["style", "data"] | None = None
        self.held: list[str] = []
        self.held_line = 1

    def facts(self, address: str) -> PageFacts:
        """Return what was gathered."""
        found = self.found
        faults = list(found.faults)
        faults += [
            (line, f"{attribute}={target}: there is no such id in the page")
            for attribute, target, line in found.references
            if target not in found.ids
        ]
        return PageFacts(
            anchors=frozenset(found.ids) | frozenset(found.names),
            links=tuple(found.links),
            faults=tuple(f"{address}:{line}: {text}" for line, text in sorted(faults)),
        )

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take an element's id and references."""
        line = self.getpos()[0]
        given = {name: value or "" for name, value in attrs}
        self._hold(tag, given)
        self._take_id(given.get("id"), line)
        if tag == "a" and given.get("name"):
            self.found.names.add(given["name"])
        if tag == "base":
            self.found.faults.append((line, "a base element would move every relative link"))
        if tag == "meta":
            self._take_meta(given, line)
        for name, value in given.items():
            self._take_attribute(tag, name, value, given, line)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take an empty element."""
        self.handle_starttag(tag, attrs)
        self.holds = None

    def handle_data(self, data: str) -> None:
        """Keep the text of an inner style sheet or of data for machines."""
        if self.holds:
            self.held.append(data)

    def handle_endtag(self, tag: str) -> None:
        """Take the references of what was kept."""
        if tag == "style" and self.holds == "style":
            self.found.links.extend(_style_links("".join(self.held), self.held_line))
        elif tag == "script" and self.holds == "data":
            self._take_data("".join(self.held))
        self.holds = None

    def _hold(self, tag: str, given: Mapping[str, str]) -> None:
        is_data = tag == "script" and given.get("type") == "application/ld+json"
        self.holds = "style" if tag == "style" else "data" if is_data else None
        self.held, self.held_line = [], self.getpos()[0]

    def _take_data(self, text: str) -> None:
        try:
            data = json.loads(text)
        except ValueError:
            self.found.faults.append((self.held_line, "the data for machines are no JSON"))
            return
        self.found.links.extend(Link(to=to, line=self.held_line, fetched=False) for to in _addresses_in(data))

    def _take_id(self, value: str | None, line: int) -> None:
        if value is None:
            return
        if not value or any(mark.isspace() for mark in value):
            self.found.faults.append((line, f"id={value!r}: an id is a word without spaces"))
        elif value in self.found.ids:
            self.found.faults.append((line, f"id={value}: stands on line {self.found.ids[value]} already"))
        self.found.ids.setdefault(value, line)

    def _take_attribute(self, tag: str, name: str, value: str, given: Mapping[str, str], line: int) -> None:
        add = self.found.links.append
        if name in _FOLLOWED:
            add(Link(to=value, line=line, fetched=_is_fetched(tag, given)))
        elif name in _FETCHED and not (name == "data" and tag != "object"):
            add(Link(to=value, line=line, fetched=True))
        elif name in _FETCHED_SETS:
            for to in split_srcset(value):
                add(Link(to=to, line=line, fetched=True))
        elif name == "style" or (value.startswith("url(") and not name.startswith("data-")):
            self.found.links.extend(_style_links(value, line))
        elif name in _ID_REFERENCES:
            self.found.references.extend((name, target, line) for target in value.split())

    def _take_meta(self, given: Mapping[str, str], line: int) -> None:
        content = given.get("content", "")
        if given.get("http-equiv", "").casefold() == "refresh":
            to = _REFRESH.match(content)
            if to:
                self.found.links.append(Link(to=to.group(1).strip(), line=line, fetched=False))
        elif (given.get("property") or given.get("name") or "") in _ADDRESS_METAS:
            self.found.links.append(Link(to=content, line=line, fetched=False))


def _addresses_in(data: object) -> Iterator[str]:
    """Yield every address that schema.org data name by `url` or `contentUrl`."""
    if isinstance(data, dict):
        for name, value in data.items():
            if name in {"url", "contentUrl"} and isinstance(value, str):
                yield value
            else:
                yield from _addresses_in(value)
    elif isinstance(data, list):
        for item in data:
            yield from _addresses_in(item)


def split_srcset(value: str) -> tuple[str, ...]:
    """Return the addresses of a `srcset`.

    >>> split_srcset("a-960.webp 960w, a-480.webp 480w")
    ('a-960.webp', 'a-480.webp')
    """
    return tuple(candidate.split()[0] for candidate in re.split(r",\s+|,$", value.strip()) if candidate.strip())


def _is_fetched(tag: str, given: Mapping[str, str]) -> bool:
    if tag == "link":
        return bool(_FETCHING_RELATIONS & set(given.get("rel", "").casefold().split()))
    return tag in {"image", "use", "feimage"}


def _style_links(style: str, first_line: int) -> Iterable[Link]:
    bare = _STYLE_COMMENT.sub(lambda match: "\n" * match.group().count("\n"), style)
    for match in _STYLE_URL.finditer(bare):
        to = next((part for part in match.groups() if part is not None), "")
        yield Link(to=to, line=first_line + bare.count("\n", 0, match.start()), fetched=True)
