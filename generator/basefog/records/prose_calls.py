"""The calls that Markdown may make: `{{ value("marl-400", "gamma") }}` and its few sisters, found and parsed.

Checking the content and rendering it share this grammar. A call is data: a name of `PROSE_CALLS` and two literal
strings, or three where any two are compared; nothing is ever evaluated.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

from basefog.records.vocabulary import COMPARING_CALLS, PROSE_CALLS

MARKDOWN_EXTENSIONS: Final = ("fenced_code", "footnotes", "sane_lists", "tables")
"""How Markdown is read, everywhere alike: what counts as code depends on it."""

_OPENING = re.compile(r"\{\{|\{%")
_SPACE = r"[^\S\n]*(?:\n[^\S\n]*)?"
_STRING = r"(?:\"[^\"\n]*\"|'[^'\n]*')"
_CALL = re.compile(
    rf"\{{\{{{_SPACE}(?P<name>[A-Za-z_]\w*){_SPACE}\({_SPACE}"
    rf"(?P<args>{_STRING}(?:{_SPACE},{_SPACE}{_STRING})*)?{_SPACE}\){_SPACE}\}}\}}"
)
_TAG_OR_TEXT = re.compile(r"<[^<>]*>|[^<]+|<")
_CODE_TAG = re.compile(r"<(/?)(?:code|pre)\b", re.IGNORECASE)
_BRACKET = re.compile(r"[\[\]()]|\n[^\S\n]*\n")
_BRACKET_LIMIT: Final = 100
_BLANK_LINE = re.compile(r"\n[^\S\n]*(?:\n|\Z)")


@dataclass(frozen=True, kw_only=True, slots=True)
class ProseCall:
    """One call, or what stands where a call should: `text[start:end]`, at a line and column counting from 1.

    `named` are the stocks or tests that it names: one, or two where the first is set against the second; `what` is the
    measure, chart or view. `error` says what is wrong with it and `mend` how to put it right; both are None where the
    call holds.
    """

    start: int
    end: int
    line: int
    column: int
    name: str = ""
    args: tuple[str, ...] = ()
    error: str | None = None
    mend: str | None = None

    @property
    def named(self) -> tuple[str, ...]:
        """The stocks or tests."""
        return self.args[:-1]

    @property
    def what(self) -> str:
        """The measure, chart or view."""
        return self.args[-1]


def find_calls(text: str) -> tuple[ProseCall, ...]:
    """Return every call outside code spans and code blocks, in order, the faulty ones with their error.

    Args:
        text: Markdown as typed.

    >>> [(call.name, call.args, call.line) for call in find_calls('Gamma is {{ value("tern-100", "gamma") }}.')]
    [('value', ('tern-100', 'gamma'), 1)]
    >>> find_calls('Write `{{ value("tern-100", "gamma") }}` for it.')
    ()
    >>> [call.error for call in find_calls("{% for %}")]
    ["found '{% for %}', expected no template commands"]
    """
    openings = [match.start() for match in _OPENING.finditer(text)]
    if not openings:
        return ()
    in_code, in_tag = _sort_openings(text, openings)
    calls: list[ProseCall] = []
    for index, start in enumerate(openings):
        if index in in_code or (calls and start < calls[-1].end):
            continue
        calls.append(_parse_call(text, start, in_tag=index in in_tag))
    return tuple(calls)


def render_markdown(text: str, see_tree: Callable[[Element], None] | None = None) -> str:
    """Return Markdown as HTML, uncleaned.

    Args:
        text: Markdown as typed.
        see_tree: called with the finished tree, from which raw HTML is kept apart.

    Raises ValueError where the text is nested too deep or too broken to read.
    """
    # Imported here, since a command that meets no prose should not pay for it.
    from markdown import Markdown
    from markdown.treeprocessors import Treeprocessor

    class Show(Treeprocessor):
        def run(self, root: Element) -> None:
            if see_tree is not None:
                see_tree(root)

    reader = Markdown(extensions=list(MARKDOWN_EXTENSIONS))
    # Below every other number, so that the tree is shown when all else is done with it.
    reader.treeprocessors.register(Show(reader), "show", -100)
    too_deep = "it can't be read as Markdown: raw HTML in it is broken, or it is nested too deep"
    # The library's time grows with the square of brackets that are open at once, and more.
    if _bracket_depth(text) > _BRACKET_LIMIT:
        raise ValueError(too_deep)
    try:
        return reader.convert(text)
    except (RecursionError, AssertionError, LookupError, AttributeError) as fault:
        # The library trips over some broken raw HTML and very deep nesting; neither is worth publishing.
        raise ValueError(too_deep) from fault


def _bracket_depth(text: str) -> int:
    """Return how many brackets are open at once at most, in any one paragraph."""
    deepest = depth = 0
    for bracket in _BRACKET.findall(text):
        depth = depth + 1 if bracket in "[(" else 0 if bracket.startswith("\n") else max(0, depth - 1)
        deepest = max(deepest, depth)
    return deepest


def _sort_openings(text: str, openings: list[int]) -> tuple[set[int], set[int]]:
    """Return which openings stand in code, and which in a tag's attributes, by letting Markdown render marks."""
    mark = "zqmark"
    while mark in text:
        mark += "q"
    pieces: list[str] = []
    at = 0
    for index, start in enumerate(openings):
        pieces += [text[at:start], f"{mark}{index}x"]
        at = start + 2
    try:
        html = render_markdown("".join([*pieces, text[at:]]))
    except ValueError:
        return set(), set()  # told where the text itself is checked
    found = re.compile(mark + r"(\d+)x")
    in_code: set[int] = set()
    in_tag: set[int] = set()
    depth = 0
    for piece in _TAG_OR_TEXT.findall(html):
        numbers = {int(number) for number in found.findall(piece)}
        if piece.startswith("<") and len(piece) > 1:
            in_tag |= numbers
            if code := _CODE_TAG.match(piece):
                depth = max(0, depth + (-1 if code[1] else 1))
        elif depth:
            in_code |= numbers
    return in_code, in_tag


def _parse_call(text: str, start: int, *, in_tag: bool) -> ProseCall:
    line = text.count("\n", 0, start) + 1
    column = start - (text.rfind("\n", 0, start) + 1) + 1
    mend = 'Write a call such as {{ value("marl-400", "average_gradient") }}, or put the text between backticks.'

    def fault(end: int, error: str, mend: str = mend) -> ProseCall:
        return ProseCall(start=start, end=end, line=line, column=column, error=error, mend=mend)

    close = "}}" if text.startswith("{{", start) else "%}"
    blank = _BLANK_LINE.search(text, start)
    limit = blank.start() if blank else len(text)
    stop = text.find(close, start + 2, limit)
    if stop < 0:
        end_of_line = text.find("\n", start)
        end = end_of_line if end_of_line >= 0 else len(text)
        return fault(
            end, f"'{text[start : start + 2]}' is never closed", f"Close it with '{close}' in the same paragraph."
        )
    end = stop + 2
    shown = " ".join(text[start:end].split())
    if len(shown) > 80:
        shown = shown[:77] + "..."
    if close == "%}":
        return fault(
            end, f"found '{shown}', expected no template commands", "Take it out, or put it between backticks."
        )
    if in_tag:
        return fault(end, f"found '{shown}' inside a link, picture or tag", "Move the call into the text.")
    call = _CALL.match(text, start)
    if call is None or call["name"] not in PROSE_CALLS:
        return fault(end, f"found '{shown}', expected one of {', '.join(PROSE_CALLS)} with quoted names", mend)
    args = tuple(argument[1:-1] for argument in re.findall(_STRING, call["args"] or ""))
    compares = call["name"] in COMPARING_CALLS
    if len(args) != 2 and not (compares and len(args) == 3):
        count = "two quoted names, or three" if compares else "two quoted names"
        return fault(call.end(), f"{call['name']}: expected {count}, found {len(args)}")
    return ProseCall(start=start, end=call.end(), line=line, column=column, name=call["name"], args=args)
