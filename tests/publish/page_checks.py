"""What every page of every series keeps, checked from its bytes alone."""

from collections.abc import Iterable
from functools import lru_cache
from xml.etree.ElementTree import Element

import html5lib

MAX_PAGE_BYTES = 120_000
DATA_TYPES = ("application/ld+json", "application/json")
_REFERENCES = {"aria-labelledby", "aria-describedby", "aria-controls", "aria-owns", "aria-details", "for", "headers"}
"""Attributes that name other elements of the page by their ids."""


@lru_cache(maxsize=128)
def parse_strictly(data: bytes) -> Element:
    """Parse a page as HTML; any parse error raises. The tree is kept, for many tests look at one page."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    tree: Element = parser.parse(data.decode("utf-8"))
    return tree


def elements(tree: Element, tag: str) -> list[Element]:
    """Return every element of a tag, in order."""
    return [element for element in tree.iter() if element.tag == tag]


def text_of(element: Element) -> str:
    """Return all text of an element, its white space folded."""
    return " ".join("".join(element.itertext()).split())


def faults_of_page(address: str, data: bytes, language: str = "en") -> list[str]:
    """Return what a page lacks of what every page has."""
    tree = parse_strictly(data)
    faults: list[str] = []

    def expect(*, holds: bool, words: str) -> None:
        if not holds:
            faults.append(f"{address}: {words}")

    metas = {meta.get("name", ""): meta.get("content", "") for meta in elements(tree, "meta")}
    policy = [meta for meta in elements(tree, "meta") if meta.get("http-equiv") == "Content-Security-Policy"]
    titles = [title for title in elements(tree, "title") if text_of(title)]
    expect(holds=tree.get("lang") == language, words="its language is not told")
    expect(holds=bool(titles), words="it has no title")
    expect(holds=3 < len(metas.get("description", "")) <= 160, words="it has no description, or a long one")
    expect(holds="width=device-width" in metas.get("viewport", ""), words="it does not fit a phone")
    expect(holds=len(policy) == 1, words="it has no content security policy")
    faults += [f"{address}: {fault}" for meta in policy for fault in _faults_of_policy(meta.get("content", ""))]
    expect(holds=len(elements(tree, "h1")) == 1, words="it has not one h1")
    expect(holds=len(elements(tree, "main")) == 1, words="it has not one main")
    expect(holds=len(elements(tree, "footer")) >= 1, words="it has no footer")
    faults += [f"{address}: {fault}" for fault in _faults_of_elements(tree)]
    expect(holds=len(data) < MAX_PAGE_BYTES, words=f"it weighs {len(data)} bytes")
    shown = text_of(elements(tree, "body")[0])
    for stray in ("None", "Undefined", "{{", "{%", " nan ", "<built-in"):
        expect(holds=stray not in shown.replace("{{ value", ""), words=f"it says {stray!r}")
    return faults


def _faults_of_elements(tree: Element) -> Iterable[str]:
    ids = [element.get("id", "") for element in tree.iter() if element.get("id")]
    yield from (f"id {name} is used twice" for name in sorted({name for name in ids if ids.count(name) > 1}))
    for element in tree.iter():
        if element.get("style") is not None:
            yield f"{element.tag} has an inline style"
        yield from (f"{element.tag} has an inline {name}" for name in element.attrib if name.startswith("on"))
        if element.tag == "img" and not (element.get("alt") and element.get("src")):
            yield "a picture has no alt text"
        if element.tag == "img" and not (element.get("width") and element.get("height")):
            yield f"the picture {element.get('src')} keeps no place"
        for name in _REFERENCES & set(element.attrib):
            missing = [other for other in str(element.get(name)).split() if other not in ids]
            yield from (f"{element.tag} names {other} in {name}, which is not there" for other in missing)
        if element.tag == "script" and not element.get("src") and element.get("type") not in DATA_TYPES:
            yield "a script stands in the page"
        if element.tag == "a" and not text_of(element):
            yield f"a link to {element.get('href')} has no words"
    yield from _faults_of_headings(tree)


def _faults_of_policy(policy: str) -> Iterable[str]:
    """Return what a policy allows that no page needs: anything but the site itself, or a style named by its digest."""
    if not policy.startswith("default-src 'none';"):
        yield "its policy does not begin by forbidding everything"
    for source in (word for part in policy.split(";") for word in part.split()[1:]):
        if source not in ("'none'", "'self'") and not source.startswith("'sha256-"):
            yield f"its policy allows {source}"


def _faults_of_headings(tree: Element) -> Iterable[str]:
    last = 0
    for element in tree.iter():
        if (
            isinstance(element.tag, str)
            and len(element.tag) == 2
            and element.tag[0] == "h"
            and element.tag[1].isdigit()
        ):
            level = int(element.tag[1])
            if level > last + 1:
                yield f"heading {text_of(element)!r} skips from h{last} to h{level}"
            last = level
