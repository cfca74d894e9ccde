"""YAML as a tree that remembers where everything was typed, and in which scalars are still text.

`no`, `12:30`, `1e3` and `0417` stay what the tester typed until a field's type converts them; `null`, `~` and nothing
are None. Anchors, aliases, tags, duplicate keys, further documents and nesting deeper than 20 are problems.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import yaml

from basefog.read.problem_list import ProblemList, shown
from basefog.read.text import check_characters, decode_utf8
from basefog.records.problem import Place

DEPTH_LIMIT: Final = 20
SIZE_LIMIT: Final = 2_000_000
"""Largest YAML file, in bytes: far beyond any that is written by hand."""

_TAG_PREFIX: Final = "tag:yaml.org,2002:"
_FAST_LOADER: Final[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NULLS: Final = {"", "~", "null", "Null", "NULL"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Node:
    """A value of a YAML file. `place` is where it is named: its key in a mapping, else the value itself."""

    value: "str | dict[str, Node] | list[Node] | None"
    place: Place

    def at(self, *keys: str | int) -> "Node | None":
        """Return the node below these keys and list positions, or None where there is none."""
        node: Node | None = self
        for key in keys:
            inner = node.value if node is not None else None
            if isinstance(inner, dict):
                node = inner.get(str(key))
            elif isinstance(inner, list) and isinstance(key, int) and key < len(inner):
                node = inner[key]
            else:
                return None
        return node

    def place_of(self, *keys: str | int) -> Place:
        """Return where these keys stand, or the nearest thing above them that is there."""
        for end in range(len(keys), 0, -1):
            node = self.at(*keys[:end])
            if node is not None:
                return node.place
        return self.place

    def plain(self) -> Any:
        """Return texts, dicts and lists; a key whose value is None is left out, as if it had not been typed."""
        if isinstance(self.value, dict):
            return {key: node.plain() for key, node in self.value.items() if node.value is not None}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value


class _YamlFaultError(Exception):
    """A fault that ends the reading of a file."""

    def __init__(self, event: yaml.Event, message: str, mend: str) -> None:
        super().__init__(message)
        self.event, self.message, self.mend = event, message, mend


def parse_yaml(data: bytes, path: str, problems: ProblemList) -> Node | None:
    """Return the tree of a YAML file that holds keys with values; problems and None where it can't be read."""
    text = decode_utf8(data, path, problems)
    return None if text is None else parse_yaml_text(text, Place(path=path), problems)


def parse_yaml_text(text: str, start: Place, problems: ProblemList) -> Node | None:
    """Return the tree of YAML text whose first line stands at `start`; problems and None where it can't be read."""
    if not check_characters(text, start, problems):
        return None
    builder = _Builder(start, problems)
    try:
        root = builder.build_from(text)
    except yaml.MarkedYAMLError as fault:
        what = fault.problem or fault.context or "it can't be understood"
        problems.problem(
            builder.place_of_mark(fault.problem_mark or fault.context_mark),
            f"is not YAML: {what}",
            "Put this line right: a key ends in a colon and a space, and text with signs in it stands in quotes.",
        )
        return None
    except _YamlFaultError as fault:
        problems.problem(builder.place_of_mark(fault.event.start_mark), fault.message, fault.mend)
        return None
    except (ValueError, OverflowError):
        # PyYAML trips over escapes beyond the last character there is.
        problems.problem(start, "is not YAML: an escape names no character", "Type the character itself.")
        return None
    if root is None or not isinstance(root.value, dict):
        found = shown(root.plain()) if root else "nothing"
        problems.problem(
            root.place if root else start,
            f"found {found}, expected keys with values",
            "Write lines such as `key: value`.",
        )
        return None
    return root


class _Builder:
    """Turns the events of PyYAML's parser into nodes."""

    def __init__(self, start: Place, problems: ProblemList) -> None:
        self._start = start
        self._problems = problems

    def place_of_mark(self, mark: Any) -> Place:
        """Return the place of one of PyYAML's marks, which count from 0."""
        if mark is None:
            return self._start
        return Place(path=self._start.path, line=self._start.line + mark.line, column=mark.column + 1)

    def build_from(self, text: str) -> Node | None:
        """Return the tree of a text, None where it is empty.

        The fast parser reads what is right, the plain one tells what is wrong: both come with PyYAML, but the fast one
        words faults otherwise and is not there on every machine.
        """
        try:
            return self._build(yaml.parse(text, Loader=_FAST_LOADER))
        except yaml.YAMLError:
            return self._build(yaml.parse(text, Loader=yaml.SafeLoader))

    def _build(self, events: Iterator[yaml.Event]) -> Node | None:
        root: Node | None = None
        for event in events:
            if isinstance(event, yaml.NodeEvent):
                if root is not None:
                    raise _YamlFaultError(event, "a second document begins here", "Take the line `---` out.")
                root = self._node(event, events, 1)
        return root

    def _node(
        self, event: yaml.Event, events: Iterator[yaml.Event], depth: int, key_place: Place | None = None
    ) -> Node:
        _refuse_extras(event)
        if depth > DEPTH_LIMIT:
            raise _YamlFaultError(event, f"is nested more than {DEPTH_LIMIT} deep", "Take the inner levels out.")
        place = key_place or self.place_of_mark(event.start_mark)
        if isinstance(event, yaml.ScalarEvent):
            is_null = event.implicit[0] and event.value in _NULLS
            return Node(value=None if is_null else event.value, place=place)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Node] = []
            while not isinstance(inner := next(events), yaml.SequenceEndEvent):
                items.append(self._node(inner, events, depth + 1))
            return Node(value=items, place=place)
        return Node(value=self._mapping(events, depth), place=place)

    def _mapping(self, events: Iterator[yaml.Event], depth: int) -> dict[str, Node]:
        entries: dict[str, Node] = {}
        while not isinstance(event := next(events), yaml.MappingEndEvent):
            _refuse_extras(event)
            if not isinstance(event, yaml.ScalarEvent):
                raise _YamlFaultError(event, "a key is no plain word", "Write the key as one word.")
            place = self.place_of_mark(event.start_mark)
            value = self._node(next(events), events, depth + 1, key_place=place)
            if event.value in entries:
                first = entries[event.value].place.line
                self._problems.problem(
                    place, f"key `{event.value}` is there twice (first in line {first})", "Keep one of the two."
                )
            else:
                entries[event.value] = value
        return entries


def _refuse_extras(event: yaml.Event) -> None:
    mend = "Write the value itself, in quotes if it begins with `&`, `*` or `!`."
    anchor, tag = getattr(event, "anchor", None), getattr(event, "tag", None)
    if isinstance(event, yaml.AliasEvent):
        raise _YamlFaultError(event, f"found the alias `*{anchor}`", mend)
    if anchor is not None:
        raise _YamlFaultError(event, f"found the anchor `&{anchor}`", mend)
    if tag is not None:
        raise _YamlFaultError(event, f"found the tag `{tag.replace(_TAG_PREFIX, '!!')}`", mend)
