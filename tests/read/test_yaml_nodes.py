"""The tree of a YAML file knows where everything stands, also what is not there."""

import pytest
import yaml

from basefog.read.problem_list import ProblemList
from basefog.read.yaml_nodes import parse_yaml
from basefog.records.problem import Place

TEXT = b"# a comment\na: x\nlist:\n  - one\n  - {key: 'two'}\n"


def test_places_of_keys_and_items() -> None:
    """A key's place is its own, an item's that of its value; what is missing is told at what holds it."""
    node = parse_yaml(TEXT, "a.yaml", ProblemList())
    assert node is not None

    places = [
        node.place_of(*keys)
        for keys in (("a",), ("list", 0), ("list", 1, "key"), ("list", 1, "gone"), ("list", 7), ("a", "b", "c"), ("z",))
    ]

    assert [(place.line, place.column) for place in places] == [(2, 1), (4, 5), (5, 6), (5, 5), (3, 1), (2, 1), (2, 1)]
    assert node.plain() == {"a": "x", "list": ["one", {"key": "two"}]}


def test_a_fault_without_a_place_is_told_at_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    """A parser that does not say where it failed is believed all the same."""

    def fail(*_: object, **__: object) -> None:
        raise yaml.MarkedYAMLError(problem="it broke")

    monkeypatch.setattr(yaml, "parse", fail)
    problems = ProblemList()

    assert parse_yaml(TEXT, "a.yaml", problems) is None
    assert [(entry.line, entry.column, entry.message) for entry in problems.in_order()] == [
        (1, 1, "is not YAML: it broke")
    ]


def test_the_plain_parser_alone_gives_the_same_tree(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine without the fast parser reads the same values at the same places."""
    fast = parse_yaml(TEXT, "a.yaml", ProblemList())
    monkeypatch.setattr("basefog.read.yaml_nodes._FAST_LOADER", yaml.SafeLoader)

    assert parse_yaml(TEXT, "a.yaml", ProblemList()) == fast
    assert fast is not None
    assert fast.place == Place(path="a.yaml", line=2, column=1)
