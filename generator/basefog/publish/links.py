"""Checks that every link, anchor and file reference of the finished site leads somewhere inside it."""

import posixpath
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import parse_qsl, unquote, urlsplit

from basefog.publish.addresses import ANY_TWO
from basefog.publish.page_facts import Link, PageFacts

NOT_FOUND_PAGE = "404.html"
"""The one page that links absolutely: it is shown at addresses that are not its own."""

_OUTWARD_SCHEMES = {"http", "https", "mailto"}


def check_links(facts: Mapping[str, PageFacts], addresses: Iterable[str], site_address: str | None) -> tuple[str, ...]:
    """Return every fault of a site's links, sorted by file and line.

    `facts` are those of its pages, drawings and style sheets by address; `addresses` all its files; `site_address`
    the canonical address, so that links that name it in full are checked like the others.
    """
    site = _Site(facts=facts, addresses=frozenset(addresses), site_address=site_address)
    faults: list[tuple[str, int, str]] = []
    for address, page in sorted(facts.items()):
        faults.extend((address, 0, fault) for fault in page.faults)
        for link in page.links:
            wrong = site.judge(address, link)
            if wrong:
                faults.append((address, link.line, f"{address}:{link.line}: {wrong}"))
    return tuple(text for _, _, text in sorted(faults))


@dataclass(frozen=True, kw_only=True, slots=True)
class _Site:
    facts: Mapping[str, PageFacts]
    addresses: frozenset[str]
    site_address: str | None

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
        # A fragment with "=" is a state that the page's own script reads: which order, which tests.
        if "=" in fragment:
            return self._judge_two_tests(fragment, to) if address == ANY_TWO else None
        target = self.facts.get(address)
        if target is None or unquote(fragment) not in target.anchors:
            return f"{to}: there is no anchor {unquote(fragment)} in {address}"
        return None

    def _judge_two_tests(self, fragment: str, to: str) -> str | None:
        named = dict(parse_qsl(fragment, keep_blank_values=True))
        for side in ("a", "b"):
            name = named.get(side)
            if name is None:
                continue
            # A stock's slug alone stands for its figure, over all its repeats.
            if (f"data/{name}.json" if "/" in name else f"stocks/{name}/index.html") not in self.addresses:
                return f"{to}: there is no stock or test {name or 'without a name'} in the site"
        if "a" not in named and "b" not in named:
            return f"{to}: names no test; write #a=stock&b=stock, or #a=stock/test&b=stock/test"
        page = self.facts.get(ANY_TWO)
        row = named.get("at")
        if row is not None and (page is None or f"at-{row}" not in page.anchors):
            return f"{to}: there is no row {row or 'without a name'} in {ANY_TWO}"
        return None
