"""Checks that every link, anchor and file reference of the finished site leads somewhere inside it."""

import posixpath
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final
from urllib.parse import unquote, urlsplit

from basefog.site.page_facts import Link, PageFacts

NOT_FOUND_PAGE = "404.html"
"""The one page that links absolutely: it is shown at addresses that are not its own."""

StateCheck = Callable[[str, frozenset[str], frozenset[str]], str | None]
"""Returns what is wrong with a state that a page's own script reads, or None.

It is given the fragment, the addresses of the site and the anchors of the page.
"""

NO_STATES: Final[Mapping[str, StateCheck]] = MappingProxyType({})

_OUTWARD_SCHEMES = {"http", "https", "mailto"}


def check_links(
    facts: Mapping[str, PageFacts],
    addresses: Iterable[str],
    site_address: str | None,
    states: Mapping[str, StateCheck] = NO_STATES,
) -> tuple[str, ...]:
    """Return every fault of a site's links, sorted by file and line.

    `facts` are those of its pages, drawings and style sheets by address; `addresses` all its files; `site_address`
    the canonical address, so that links that name it in full are checked like the others; `states` the checks of
    states by the address of the page that reads them.
    """
    site = _Site(facts=facts, addresses=frozenset(addresses), site_address=site_address, states=states)
    faults: list[tuple[str, int, str]] = []
    sound: set[tuple[str, str, bool]] = set()
    for address, page in sorted(facts.items()):
        faults.extend((address, 0, fault) for fault in page.faults)
        # Most links of a page stand on its neighbours too, and lead to the same from there.
        folder = address if address == NOT_FOUND_PAGE else posixpath.dirname(address)
        for link in page.links:
            place = (folder, link.to, link.fetched)
            if place in sound:
                continue
            wrong = site.judge(address, link)
            if wrong is None and (link.to.startswith("../") or link.to[:1].isalnum()):
                sound.add(place)
            if wrong:
                faults.append((address, link.line, f"{address}:{link.line}: {wrong}"))
    return tuple(text for _, _, text in sorted(faults))


@dataclass(frozen=True, kw_only=True, slots=True)
class _Site:
    facts: Mapping[str, PageFacts]
    addresses: frozenset[str]
    site_address: str | None
    states: Mapping[str, StateCheck]

    def judge(self, page: str, link: Link) -> str | None:
        """Return what is wrong with one link of a page, or None."""
        to = link.to.strip()
        try:
            parts = urlsplit(to)
        except ValueError:
            return f"{to}: is no address"
        if not to:
            return "a link is empty"
        if parts.scheme or parts.netloc:
            return self._judge_absolute(link, to)
        if not parts.path.startswith("/"):
            start = "" if page == NOT_FOUND_PAGE else posixpath.dirname(page)
            path = posixpath.join(start, parts.path) if parts.path else page
            return self._judge_path(path, parts.fragment, to, names_file=True)
        if page != NOT_FOUND_PAGE:
            return f"{to}: begins at the host's root, so it fails below a sub-path or from disk"
        return self._judge_path(parts.path[1:], parts.fragment, to, names_file=False)

    def _judge_absolute(self, link: Link, to: str) -> str | None:
        below = self._below_site(to)
        if below is not None:
            parts = urlsplit(below)
            return self._judge_path(parts.path, parts.fragment, to, names_file=False)
        scheme = urlsplit(to).scheme
        if link.fetched:
            return None if scheme == "data" else f"{to}: a page fetches nothing from elsewhere"
        return None if scheme in _OUTWARD_SCHEMES else f"{to[:60]}: a link may be http, https or mailto"

    def _below_site(self, to: str) -> str | None:
        if self.site_address is None:
            return None
        base = self.site_address.rstrip("/")
        if to == base:
            return ""
        return to[len(base) + 1 :] if to.startswith((base + "/",)) else None

    def _judge_path(self, path: str, fragment: str, to: str, *, names_file: bool) -> str | None:
        address = posixpath.normpath(unquote(path)) if path else "."
        if address.startswith(".."):
            return f"{to}: leaves the site"
        if not names_file and (path.endswith("/") or address == "."):
            address = posixpath.normpath(posixpath.join(address, "index.html"))
        elif names_file and path.endswith("/"):
            return f"{to}: names a folder; name the file, so that it opens from disk"
        if address not in self.addresses:
            return f"{to}: there is no {address} in the site"
        return self._judge_anchor(address, fragment, to)

    def _judge_anchor(self, address: str, fragment: str, to: str) -> str | None:
        if not fragment:
            return None
        target = self.facts.get(address, PageFacts())
        # A fragment with "=" is a state that the page's own script reads: which order, which tests.
        if "=" in fragment:
            check = self.states.get(address)
            wrong = check(fragment, self.addresses, target.anchors) if check else None
            return wrong and f"{to}: {wrong}"
        if unquote(fragment) not in target.anchors:
            return f"{to}: there is no anchor {unquote(fragment)} in {address}"
        return None
