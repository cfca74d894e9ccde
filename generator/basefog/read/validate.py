"""A tree of YAML against its model: every fault becomes a problem at the line and column of the key that has it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from basefog.read.problem_list import TOLD_PER_FILE, ProblemList, nearest, shown
from basefog.read.yaml_nodes import Node
from basefog.records.problem import Place

Keys = TypeVar("Keys", bound=BaseModel)


@dataclass(frozen=True, kw_only=True, slots=True)
class Checked(Generic[Keys]):
    """The keys of a file. Those top-level keys in `broken` had a problem; they hold a stand-in or their default."""

    keys: Keys
    node: Node
    broken: frozenset[str]

    def place(self, *keys: str | int) -> Place:
        """Return where a key stands in the file."""
        return self.node.place_of(*keys)


def check_keys(model: type[Keys], node: Node, problems: ProblemList, stand_ins: Mapping[str, Any]) -> Checked[Keys]:
    """Return the keys of a file, with problems for all that is wrong in it.

    A top-level key that had a problem is left out, or taken from `stand_ins` where it is required, so that the rest
    of the file can still be checked against the rest of the series; nothing made from a stand-in is ever published,
    since the problem already stops that.
    """
    plain = node.plain()
    try:
        return Checked(keys=model.model_validate(plain), node=node, broken=frozenset())
    except ValidationError as fault:
        errors = fault.errors(include_url=False)
    # One more than is told of a file, so that the list knows that it is not whole.
    for error in errors[: TOLD_PER_FILE + 1]:
        _tell(error, model, node, problems)
    broken = {str(error["loc"][0]) for error in errors}
    rest = {key: value for key, value in plain.items() if key not in broken}
    rest |= {key: value for key, value in stand_ins.items() if key not in rest}
    return Checked(keys=model.model_validate(rest), node=node, broken=frozenset(broken))


def _tell(error: ErrorDetails, model: type[BaseModel], node: Node, problems: ProblemList) -> None:
    # pydantic marks a fault in a mapping's key by a last element of its own.
    in_key = error["loc"][-1] == "[key]"
    keys = error["loc"][:-1] if in_key else error["loc"]
    place = node.place_of(*keys)
    name = _name_of(keys)
    if error["type"] == "extra_forbidden":
        _tell_unknown(str(keys[-1]), sorted(_model_at(model, keys[:-1]).model_fields), place, problems)
    elif error["type"] == "missing":
        example = (_model_at(model, keys[:-1]).model_fields[str(keys[-1])].examples or ["..."])[0]
        problems.problem(place, f"{name} is missing", f"Add a line such as `{keys[-1]}: {example}`.")
    elif in_key:
        problems.problem(place, f"found the key {shown(keys[-1])}, expected {_expected(error)}", "Rename the key.")
    else:
        found = error["input"]
        mend = error.get("ctx", {}).get("mend", "").format(name=keys[-1]) or _mend(found, keys)
        problems.problem(place, f"{name}: found {shown(found)}, expected {_expected(error)}", mend)


def _tell_unknown(key: str, known: list[str], place: Place, problems: ProblemList) -> None:
    match = nearest(key, known)
    if match is not None:
        problems.problem(
            place, f"unknown key `{key}`; did you mean `{match}`?", f"Write `{match}`, or take the key out."
        )
    else:
        problems.problem(place, f"unknown key {shown(key)}", f"Take it out; known here: {', '.join(known)}.")


def _expected(error: ErrorDetails) -> str:
    if error["type"] == "expected":
        return str(error["msg"])
    return "a list such as [a, b]" if error["type"] == "tuple_type" else "keys with values"


def _mend(found: object, keys: tuple[str | int, ...]) -> str:
    name = next(key for key in reversed(keys) if isinstance(key, str))
    if isinstance(found, str) and found.count(",") == 1 and found.replace(",", "").strip().isdigit():
        return f"Write `{name}: {found.strip().replace(',', '.')}`, with a decimal point."
    return f"Correct `{name}`."


def _name_of(keys: tuple[str | int, ...]) -> str:
    """Return a key's name as a message tells it: the key itself, and which item of its list."""
    last = keys[-1]
    return last if isinstance(last, str) else f"{_name_of(keys[:-1])}, item {last + 1}"


def _model_at(model: type[BaseModel], keys: tuple[str | int, ...]) -> type[BaseModel]:
    """Return the model that describes the mapping at these keys."""
    for key in keys:
        if isinstance(key, str):
            model = _inner_model(model.model_fields[key].annotation) or model
    return model


def _inner_model(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for part in get_args(annotation) if (found := _inner_model(part))), None)
