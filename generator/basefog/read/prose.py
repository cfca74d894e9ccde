"""Markdown of the series, checked before anything is published: calls, links and pictures.

Links and pictures are taken from the tree that the Markdown library builds, so that what is checked is what would be
rendered. Raw HTML is no concern here: it is cleaned when a page is made.
"""

import html
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

from basefog.read.folder import Entry, SeriesFolder
from basefog.read.problem_list import ProblemList, did_you_mean, shown
from basefog.read.text import check_characters, decode_utf8
from basefog.records.content import Prose
from basefog.records.problem import Place
from basefog.records.prose_calls import ProseCall, find_calls, render_markdown
from basefog.records.vocabulary import CHARTS, MEASURE_BY_ID

MARKDOWN_LIMIT: Final = 2_000_000
"""Largest Markdown file, in bytes (contract)."""

_HEADING = re.compile(r"<h([1-6])\b[^>]*>(.*?)</h\1>", re.DOTALL)
_TAG = re.compile(r"<[^>]*>")
_SCHEME = re.compile(r"([a-z][a-z0-9+.-]*):", re.IGNORECASE)
_SCHEMES: Final = {"http", "https", "mailto"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Names:
    """What calls may name. `views` is None where a fault in them was told already; stocks map to their tests.

    `unmeasured` are stocks without a current test, and tests (`stock/test`) that are under way.
    """

    tests_by_stock: Mapping[str, frozenset[str]]
    views: Collection[str] | None
    unmeasured: Collection[str] = frozenset()


@dataclass(frozen=True, kw_only=True, slots=True)
class Tree:
    """What Markdown makes of a text: link addresses, picture addresses, and the first heading."""

    links: tuple[str, ...]
    pictures: tuple[str, ...]
    heading: str | None


def read_prose(folder: SeriesFolder, entry: Entry, problems: ProblemList) -> Prose | None:
    """Return a Markdown file as typed; a problem and None where it can't be text, None where it is blank."""
    file = folder.read_file(entry, MARKDOWN_LIMIT, "a Markdown file")
    text = decode_utf8(file.data, entry.path, problems) if file else None
    if text is None or not check_characters(text, Place(path=entry.path), problems) or not text.strip():
        return None
    return Prose(text=text, place=Place(path=entry.path))


def check_prose(prose: Prose, names: Names, problems: ProblemList) -> Tree | None:
    """Tell what is wrong in Markdown: calls that name nothing, remote pictures, links of another scheme."""
    tree = read_tree(prose.text)
    if tree is None:
        problems.problem(
            prose.place, "can't be read as Markdown: raw HTML in it is broken, or it is nested too deep", "Simplify it."
        )
        return None
    for call in find_calls(prose.text):
        place = Place(path=prose.place.path, line=prose.place.line + call.line - 1, column=call.column)
        if call.error is not None:
            problems.problem(place, call.error, call.mend or "")
        else:
            _check_call(call, place, names, problems)
    for address in tree.links:
        _check_link(address, prose, problems)
    for address in tree.pictures:
        problems.problem(
            _place_of(address, prose),
            f"found the picture {shown(address)}, expected a view of a scan",
            'Show a view, such as {{ view("marl-400", "whole") }}, or link to the picture.',
        )
    return tree


def read_tree(text: str) -> Tree | None:
    """Return the links, pictures and first heading of Markdown, or None where it can't be parsed."""
    elements: list[Element] = []
    try:
        page = render_markdown(text, lambda root: elements.extend(root.iter()))
    except ValueError:
        return None
    heading = _HEADING.search(page)
    return Tree(
        links=tuple(_address(element, "href") for element in elements if element.tag == "a"),
        pictures=tuple(_address(element, "src") for element in elements if element.tag == "img"),
        # From the page, where entities and raw HTML are put back into the heading.
        heading=" ".join(html.unescape(_TAG.sub("", heading[2])).split()) if heading else None,
    )


def _address(element: Element, attribute: str) -> str:
    # The library hides the ampersands of entities from its own serialiser; a browser resolves the entities.
    return html.unescape(element.get(attribute, "").replace("\x02amp\x03", "&"))


def _check_call(call: ProseCall, place: Place, names: Names, problems: ProblemList) -> None:
    for named in dict.fromkeys(call.named):
        _check_named(call.name, named, place, names, problems)
    if len(call.named) > len(set(call.named)):
        problems.problem(place, f"{call.name}: `{call.named[0]}` is set against itself", "Name two stocks or tests.")
    what = call.what
    known_names: Collection[str] | None = MEASURE_BY_ID
    kind = "measure"
    if call.name in {"chart", "view"}:
        kind, known_names = call.name, CHARTS if call.name == "chart" else names.views
    if known_names is not None and what not in known_names:
        problems.problem(
            place,
            f"{call.name}: no {kind} is named `{what}`{did_you_mean(what, known_names)}",
            f"Name a {kind}: {', '.join(sorted(known_names)) or 'none is declared'}.",
        )


def _check_named(name: str, named: str, place: Place, names: Names, problems: ProblemList) -> None:
    """Check a stock or test that a call names."""
    stock, mark, test = named.partition("/")
    tests = names.tests_by_stock.get(stock)
    if tests is None:
        problems.problem(
            place,
            f"{name}: no stock is named `{stock}`{did_you_mean(stock, names.tests_by_stock)}",
            "Name a stock by its folder.",
        )
    elif mark and test not in tests:
        known = ", ".join(sorted(tests)) or "there is none"
        problems.problem(place, f"{name}: {stock} has no test `{test}`", f"Name one of its tests: {known}.")
    elif named in names.unmeasured:
        published = sorted(test for test in tests if f"{stock}/{test}" not in names.unmeasured)
        why = "is under way" if mark else "has no current test"
        mend = f"Name a test, such as `{stock}/{published[-1]}`" if published and not mark else "Wait for its readings"
        problems.remark(
            place, f'{name}: {named} {why}, so that the page says "not measured"', f"{mend}, or take it out."
        )


def _check_link(address: str, prose: Prose, problems: ProblemList) -> None:
    # Browsers drop these before they look for a scheme.
    bare = re.sub(r"[\x00-\x20]", "", address)
    scheme = _SCHEME.match(bare)
    if not bare.startswith(("//", "\\", "/\\")) and (scheme is None or scheme[1].lower() in _SCHEMES):
        return
    problems.problem(
        _place_of(address, prose),
        f"found a link to {shown(address)}, expected http, https, mailto or a link to a page of the series",
        "Write the whole address with http or https, or take the link out.",
    )


def _place_of(address: str, prose: Prose) -> Place:
    """Return where an address was typed; the tree does not keep places, so the text is searched for it."""
    at = prose.text.find(address) if address else -1
    if at < 0:
        # Typed otherwise than it is read, such as with entities: its line is told, as well as can be.
        wanted = "".join(address.split())
        for number, text in enumerate(prose.text.splitlines()):
            if wanted in "".join(html.unescape(text).split()):
                return Place(path=prose.place.path, line=prose.place.line + number)
        return prose.place
    line = prose.text.count("\n", 0, at)
    return Place(path=prose.place.path, line=prose.place.line + line, column=at - prose.text.rfind("\n", 0, at))
