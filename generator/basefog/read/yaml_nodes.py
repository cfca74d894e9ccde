"""YAML as a tree that remembers where everything was typed, and in which scalars are still text.

`no`, `12:30`, `1e3` and `0417` stay what the tester typed until a field's type converts them; `null`, `~` and nothing
are None. Anchors, aliases, tags, duplicate keys, further documents and nesting deeper than 20 are problems.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import yaml

from basefog.read.problem_list import ProblemList, shown
from basefog.read.text import check_characters, decode_utf8
from basefog.records.problem import Place

DEPTH_LIMIT: Final = 20
SIZE_LIMIT: Final = 2_000_000
"""Largest YAML file, in bytes: far beyond any hand-written one."""

_NULLS: Final = {"", "~", "null", "Null", "NULL"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Node:
    """A value of a YAML file. `place` is where it is named: its key in a mapping, else the value itself."""

    value: "str | None | Mapping[str, Node] | Sequence[Node]"
    place: Place

    def at(self, *keys: str | int) -> "Node | None":
        """Return the node below these keys and list positions, or None where there is none."""
        node: Node | None = self
        for key in keys:
            if isinstance(node, Node) and isinstance(node.value, Mapping) and isinstance(key, str):
                node = node.value.get(key)
            elif isinstance(node, Node) and isinstance(node.value, list) and isinstance(key, int):
                node = node.value[key] if key < len(node.value) else None
            else:
                return None
        return node

    def place_of(self, *keys: str | int) -> Place:
        """Return where these keys stand, or the nearest thing above them that is there."""
        for end in range(len(keys), -1, -1):
            node = self.at(*keys[:end])
            if node is not None:
                return node.place
        return self.place

    def plain(self) -> Any:
        """Return texts, dicts and lists; a key whose value is None is left out, as if it had not been typed."""
        if isinstance(self.value, Mapping):
            return {key: node.plain() for key, node in self.value.items() if node.value is not None}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value


class _YamlFaultError(Exception):
    """A fault that ends the reading of a file, with its place."""

    def __init__(self, line: int, column: int, message: str, mend: str) -> None:
        super().__init__(message)
        self.line, self.column, self.message, self.mend = line, column, message, mend


def parse_yaml(data: bytes, path: str, problems: ProblemList) -> Node | None:
    """Return the tree of a YAML file that holds keys with values; problems and None where it can't be read."""
    text = decode_utf8(data, path, problems)
    if text is None:
        return None
    return parse_yaml_text(text, Place(path=path), problems)


def parse_yaml_text(text: str, start: Place, problems: ProblemList) -> Node | None:
    """Return the tree of YAML text whose first line stands at `start`; problems and None where it can't be read."""
    if not check_characters(text, start, problems):
        return None
    builder = _Builder(start, problems)
    try:
        root = builder.build(iter(yaml.parse(text, Loader=yaml.SafeLoader)))
    except yaml.MarkedYAMLError as fault:
        mark = fault.problem_mark or fault.context_mark
        line, column = (mark.line, mark.column) if mark else (0, 0)
        what = fault.problem or fault.context or "it can't be understood"
        builder.tell(line, column, f"is not YAML: {what}", "Put this line right: keys end in a colon and a space.")
        return None
    except ValueError:
        # PyYAML trips over escapes beyond the last character there is, such as "\\UFFFFFFFF".
        problems.problem(start, "is not YAML: an escape names no character", "Type the character itself.")
        return None
    except _YamlFaultError as fault:
        builder.tell(fault.line, fault.column, fault.message, fault.mend)
        return None
    if root is None or not isinstance(root.value, Mapping):
        problems.problem(
            root.place if root else start,
            f"found {shown(root.plain()) if root else 'nothing'}, expected keys with values",
            "Write lines such as `title: ...`.",
        )
        return None
    return root


class _Builder:
    """Turns the events of PyYAML's parser into nodes; it keeps its own stack, so that depth can't hurt it."""

    def __init__(self, start: Place, problems: ProblemList) -> None:
        self._start = start
        self._problems = problems

    def place(self, line: int, column: int) -> Place:
        return Place(path=self._start.path, line=self._start.line + line, column=column + 1)

    def tell(self, line: int, column: int, message: str, mend: str) -> None:
        self._problems.problem(self.place(line, column), message, mend)

    def build(self, events: Iterator[yaml.Event]) -> Node | None:
        root: Node | None = None
        documents = 0
        for event in events:
            mark = event.start_mark
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    raise _YamlFaultError(
                        mark.line, mark.column, "a second document begins here", "Take the line `---` out."
                    )
            elif isinstance(event, yaml.NodeEvent):
                root = self._node(event, events, 1)
        return root

    def _node(
        self, event: yaml.Event, events: Iterator[yaml.Event], depth: int, key_place: Place | None = None
    ) -> Node:
        mark = event.start_mark
        self._refuse_extras(event)
        if depth > DEPTH_LIMIT:
            raise _YamlFaultError(
                mark.line, mark.column, f"is nested more than {DEPTH_LIMIT} deep", "Take the inner levels out."
            )
        place = key_place or self.place(mark.line, mark.column)
        if isinstance(event, yaml.ScalarEvent):
            plain = event.implicit[0] and event.value in _NULLS
            return Node(value=None if plain else event.value, place=place)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Node] = []
            while not isinstance(inner := next(events), yaml.SequenceEndEvent):
                items.append(self._node(inner, events, depth + 1))
            return Node(value=items, place=place)
        return Node(value=self._mapping(events, depth), place=place)

    def _mapping(self, events: Iterator[yaml.Event], depth: int) -> dict[str, Node]:
        entries: dict[str, Node] = {}
        while not isinstance(event := next(events), yaml.MappingEndEvent):
            mark = event.start_mark
            self._refuse_extras(event)
            if not isinstance(event, yaml.ScalarEvent):
                raise _YamlFaultError(mark.line, mark.column, "a key is no plain word", "Write the key as a word.")
            key = event.value
            place = self.place(mark.line, mark.column)
            value = self._node(next(events), events, depth + 1, key_place=place)
            if key in entries:
                first = entries[key].place.line
                self._problems.problem(
                    place, f"key `{key}` is there twice (first in line {first})", "Keep one of the two."
                )
            else:
                entries[key] = value
        return entries

    @staticmethod
    def _refuse_extras(event: yaml.Event) -> None:
        mark = event.start_mark
        mend = "Write the value itself, in quotes if it begins with `&`, `*` or `!`."
        if isinstance(event, yaml.AliasEvent):
            raise _YamlFaultError(mark.line, mark.column, f"found the alias `*{event.anchor}`", mend)
        if getattr(event, "anchor", None) is not None:
            raise _YamlFaultError(mark.line, mark.column, f"found the anchor `&{event.anchor}`", mend)
        if getattr(event, "tag", None) is not None:
            raise _YamlFaultError(mark.line, mark.column, f"found the tag `{event.tag}`", mend)
