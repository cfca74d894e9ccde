"""How a value of each type hint is put into a row of numbers, strings and floats, and taken out again."""

import enum
import math
import operator
import types
from array import array
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from functools import lru_cache
from itertools import islice
from typing import Any, Final, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np


class Sink:
    """Where values are put: strings once each, whole numbers, floats, and chunks of bytes, in order."""

    __slots__ = ("chunks", "floats", "numbers", "strings")

    def __init__(self) -> None:
        self.strings: dict[str, int] = {}
        self.numbers: list[int] = []
        self.floats: array[float] = array("d")
        self.chunks: list[bytes] = []

    def put_string(self, text: str) -> None:
        """Put a string, as its place among the distinct ones."""
        self.numbers.append(self.strings.setdefault(text, len(self.strings)))

    def put_floats_by_name(self, floats: Mapping[str, float]) -> bool:
        """Put strings and floats in one go, as one by one would; return False, with nothing put, where some are not."""
        if not set(map(type, floats)) <= {str} or not set(map(type, floats.values())) <= {float}:
            return False
        strings = self.strings
        self.numbers += [strings.setdefault(name, len(strings)) for name in floats]
        self.floats.extend(floats.values())
        return True


class Source:
    """Where values are taken from, in the order in which they were put."""

    __slots__ = ("_chunks", "_floats", "_numbers", "_strings", "_used_bytes", "number", "real")

    def __init__(self, strings: list[str], numbers: list[int], floats: "array[float]", chunks: memoryview) -> None:
        self._strings = strings
        self._numbers: Iterator[int] = iter(numbers)
        self._floats: Iterator[float] = iter(floats)
        self._chunks = chunks
        self._used_bytes = 0
        self.number: Callable[[], int] = self._numbers.__next__
        self.real: Callable[[], float] = self._floats.__next__

    def string(self) -> str:
        """Take a string."""
        return self._strings[self.place()]

    def floats_by_name(self, count: int) -> dict[str, float]:
        """Take so many strings, and a float for each."""
        names = [self._strings[place] for place in islice(self._numbers, count) if place >= 0]
        return dict(zip(names, islice(self._floats, count), strict=True))

    def place(self) -> int:
        """Take a place in a list, or a length; a negative one would count from the end."""
        place = self.number()
        if place < 0:
            raise ValueError("a place is negative")
        return place

    def chunk(self, size: int) -> bytes:
        """Take so many bytes, as a copy: what is kept of them shall not keep the rest alive."""
        start, self._used_bytes = self._used_bytes, self._used_bytes + size
        if self._used_bytes > len(self._chunks):
            raise ValueError("there are not so many bytes")
        return bytes(self._chunks[start : self._used_bytes])

    def is_used_up(self) -> bool:
        """Tell whether nothing is left."""
        nothing = object()
        rest = (next(self._numbers, nothing), next(self._floats, nothing))
        return rest == (nothing, nothing) and self._used_bytes == len(self._chunks)


@dataclass(frozen=True, kw_only=True, slots=True)
class Shape:
    """What is done with values of one hint.

    `text` tells the whole hint, with every field of every class within it; `fits` whether a value is one of them, as
    far as a union must know.
    """

    text: str
    fits: Callable[[Any], bool]
    put: Callable[[Any, Sink], None]
    take: Callable[[Source], Any]


def shape_of(hint: Any) -> Shape:
    """Return the shape of a hint. Raises TypeError where values of it can't be kept."""
    return _shape_of(hint, ())


def _shape_of(hint: Any, within: tuple[type, ...]) -> Shape:
    if hint in _PLAIN:
        return _PLAIN[hint]
    if isinstance(hint, type) and issubclass(hint, enum.Enum):
        return _shape_of_enum(hint)
    if isinstance(hint, type) and is_dataclass(hint):
        return _shape_of_record(hint, within)
    origin, args = get_origin(hint), get_args(hint)
    if origin is Literal:
        return _shape_of_choice(args)
    if origin is np.ndarray:
        return _shape_of_array(get_args(args[1])[0])
    make = _MADE_OF_OTHERS.get(origin)
    if make is None:
        raise TypeError(f"{hint} can't be kept")
    return make([_ANY_NUMBER if arg is Ellipsis else _shape_of(arg, within) for arg in args])


def _wrong(value: object, expected: str) -> TypeError:
    return TypeError(f"found {type(value).__name__}, expected {expected}")


def _exactly(kind: type) -> Callable[[Any], bool]:
    return lambda value: type(value) is kind


# The plain ones.


def _put_none(value: None, _: Sink) -> None:
    if value is not None:
        raise _wrong(value, "None")


def _put_bool(value: bool, sink: Sink) -> None:
    if not isinstance(value, (bool, np.bool_)):
        raise _wrong(value, "bool")
    sink.numbers.append(int(value))


def _is_int(value: object) -> bool:
    return type(value) is int or isinstance(value, np.integer)


def _put_int(value: int, sink: Sink) -> None:
    if not _is_int(value):
        raise _wrong(value, "int")
    sink.numbers.append(operator.index(value))


def _is_float(value: object) -> bool:
    return isinstance(value, (float, np.floating))


def _put_float(value: float, sink: Sink) -> None:
    if type(value) is not float and not _is_float(value) and not _is_int(value):
        raise _wrong(value, "float")
    sink.floats.append(value)


def _put_str(value: str, sink: Sink) -> None:
    if type(value) is not str:
        raise _wrong(value, "str")
    sink.put_string(value)


def _put_bytes(value: bytes, sink: Sink) -> None:
    if type(value) is not bytes:
        raise _wrong(value, "bytes")
    sink.numbers.append(len(value))
    sink.chunks.append(value)


def _put_date(value: date, sink: Sink) -> None:
    if type(value) is not date:
        raise _wrong(value, "date")
    sink.numbers.append(value.toordinal())


_PLAIN: Final[dict[Any, Shape]] = {
    type(None): Shape(text="None", fits=_exactly(type(None)), put=_put_none, take=lambda _: None),
    bool: Shape(text="bool", fits=_exactly(bool), put=_put_bool, take=lambda source: bool(source.number())),
    int: Shape(text="int", fits=_is_int, put=_put_int, take=lambda source: source.number()),
    float: Shape(text="float", fits=_is_float, put=_put_float, take=lambda source: source.real()),
    str: Shape(text="str", fits=_exactly(str), put=_put_str, take=lambda source: source.string()),
    bytes: Shape(text="bytes", fits=_exactly(bytes), put=_put_bytes, take=lambda source: source.chunk(source.place())),
    date: Shape(text="date", fits=_exactly(date), put=_put_date, take=lambda source: date.fromordinal(source.number())),
}


# Those that are made of others.


def _shape_of_choice(choices: tuple[Any, ...]) -> Shape:
    places = {(type(choice), choice): place for place, choice in enumerate(choices)}

    def fits(value: Any) -> bool:
        return type(value).__hash__ is not None and (type(value), value) in places

    def put(value: Any, sink: Sink) -> None:
        if not fits(value):
            raise TypeError(f"found {value!r}, expected one of {choices}")
        sink.numbers.append(places[type(value), value])

    return Shape(text=f"one of {choices!r}", fits=fits, put=put, take=lambda source: choices[source.place()])


def _shape_of_union(members: list[Shape]) -> Shape:
    # Two unions that differ in order alone are one hint to Python.
    ordered = tuple(sorted(members, key=lambda member: member.text))
    if len(ordered) == 2 and _PLAIN[type(None)] in ordered:
        return _shape_of_optional(next(member for member in ordered if member.text != "None"))
    numbered = tuple(enumerate(ordered))
    text = " | ".join(member.text for member in ordered)

    def put(value: Any, sink: Sink) -> None:
        for place, member in numbered:
            if member.fits(value):
                sink.numbers.append(place)
                member.put(value, sink)
                return
        raise _wrong(value, text)

    return Shape(
        text=f"({text})",
        fits=lambda value: any(member.fits(value) for member in ordered),
        put=put,
        take=lambda source: ordered[source.place()].take(source),
    )


def _shape_of_optional(member: Shape) -> Shape:
    """Return the shape of the commonest union by far, written in the same way as any."""
    put_member, take_member = member.put, member.take

    def put(value: Any, sink: Sink) -> None:
        if value is None:
            sink.numbers.append(0)
        else:
            sink.numbers.append(1)
            put_member(value, sink)

    return Shape(
        text=f"(None | {member.text})",
        fits=lambda value: value is None or member.fits(value),
        put=put,
        take=lambda source: take_member(source) if source.number() else None,
    )


def _shape_of_tuple(items: list[Shape]) -> Shape:
    return _shape_of_row(items[0]) if items[-1:] == [_ANY_NUMBER] else _shape_of_fixed(items)


def _shape_of_row(item: Shape) -> Shape:
    put_item, take_item = item.put, item.take

    def put(value: tuple[Any, ...], sink: Sink) -> None:
        if type(value) is not tuple:
            raise _wrong(value, "tuple")
        sink.numbers.append(len(value))
        for one in value:
            put_item(one, sink)

    def take(source: Source) -> tuple[Any, ...]:
        return tuple([take_item(source) for _ in range(source.place())])

    return Shape(
        text=f"tuple[{item.text}, ...]",
        fits=lambda value: type(value) is tuple and all(map(item.fits, value)),
        put=put,
        take=take,
    )


def _shape_of_fixed(items: list[Shape]) -> Shape:
    def put(value: tuple[Any, ...], sink: Sink) -> None:
        if type(value) is not tuple or len(value) != len(items):
            raise _wrong(value, f"a tuple of {len(items)}")
        for item, one in zip(items, value, strict=True):
            item.put(one, sink)

    def fits(value: Any) -> bool:
        return type(value) is tuple and len(value) == len(items) and all(map(_fits, items, value))

    return Shape(
        text=f"tuple[{', '.join(item.text for item in items)}]",
        fits=fits,
        put=put,
        take=lambda source: tuple([item.take(source) for item in items]),
    )


def _fits(shape: Shape, value: Any) -> bool:
    return shape.fits(value)


def _shape_of_mapping(items: list[Shape]) -> Shape:
    key, item = items
    put_key, put_item, take_key, take_item = key.put, item.put, key.take, item.take
    # Most of what is kept are mappings of this kind.
    holds_floats = key is _PLAIN[str] and item is _PLAIN[float]

    def put(value: Mapping[Any, Any], sink: Sink) -> None:
        if not isinstance(value, Mapping):
            raise _wrong(value, "a mapping")
        sink.numbers.append(len(value))
        if holds_floats and sink.put_floats_by_name(value):
            return
        for one, held in value.items():
            put_key(one, sink)
            put_item(held, sink)

    def take(source: Source) -> dict[Any, Any]:
        count = source.place()
        found = (
            source.floats_by_name(count)
            if holds_floats
            else {take_key(source): take_item(source) for _ in range(count)}
        )
        if len(found) != count:
            raise ValueError("a key stands twice")
        return found

    return Shape(
        text=f"mapping[{key.text}, {item.text}]", fits=lambda value: isinstance(value, Mapping), put=put, take=take
    )


def _shape_of_set(items: list[Shape]) -> Shape:
    row = _shape_of_row(items[0])

    def put(value: frozenset[Any], sink: Sink) -> None:
        if type(value) is not frozenset:
            raise _wrong(value, "frozenset")
        row.put(tuple(sorted(value)), sink)

    def take(source: Source) -> frozenset[Any]:
        found = row.take(source)
        if len(kept := frozenset(found)) != len(found):
            raise ValueError("an item stands twice")
        return kept

    return Shape(
        text=f"set[{items[0].text}]",
        fits=lambda value: type(value) is frozenset and all(map(items[0].fits, value)),
        put=put,
        take=take,
    )


_ANY_NUMBER: Final = Shape(text="...", fits=lambda _: False, put=_put_none, take=lambda _: None)
"""Stands for the three dots of a hint; no value has it."""

_MADE_OF_OTHERS: Final[dict[Any, Callable[[list[Shape]], Shape]]] = {
    Union: _shape_of_union,
    types.UnionType: _shape_of_union,
    tuple: _shape_of_tuple,
    frozenset: _shape_of_set,
    Mapping: _shape_of_mapping,
    dict: _shape_of_mapping,
}


def _shape_of_array(number: Any) -> Shape:
    kind = np.dtype(number)
    if kind.kind not in "biufc":
        raise TypeError(f"an array of {number} can't be kept")
    kept = kind.newbyteorder("<")

    def fits(value: Any) -> bool:
        return type(value) is np.ndarray and value.dtype == kind

    def put(value: Any, sink: Sink) -> None:
        if not fits(value):
            raise _wrong(value, f"an array of {kind}")
        data = value.astype(kept, copy=False).tobytes()
        sink.numbers += (value.ndim, *value.shape)
        sink.chunks.append(data)

    def take(source: Source) -> Any:
        shape = tuple([source.place() for _ in range(source.number())])
        data = source.chunk(kept.itemsize * math.prod(shape))
        found = np.frombuffer(data, dtype=kept).astype(kind, copy=False).reshape(shape)
        found.flags.writeable = False
        return found

    return Shape(text=f"array[{kept.str}]", fits=fits, put=put, take=take)


def _shape_of_enum(kind: type[enum.Enum]) -> Shape:
    def put(value: enum.Enum, sink: Sink) -> None:
        if type(value) is not kind:
            raise _wrong(value, kind.__qualname__)
        sink.put_string(value.name)

    return Shape(
        text=f"{kind.__module__}.{kind.__qualname__}{sorted(kind.__members__)}",
        fits=_exactly(kind),
        put=put,
        take=lambda source: kind[source.string()],
    )


@lru_cache(maxsize=256)
def _hints_of(kind: type) -> tuple[tuple[str, Any], ...]:
    hints = get_type_hints(kind)
    return tuple((field.name, hints[field.name]) for field in fields(kind))


def _shape_of_record(kind: Any, within: tuple[type, ...]) -> Shape:
    name = f"{kind.__module__}.{kind.__qualname__}"
    if not kind.__dataclass_params__.frozen:
        raise TypeError(f"{name} is not frozen")
    if kind in within:
        raise TypeError(f"{name} holds records of its own kind")
    members: list[tuple[str, Shape]] = []
    for field, hint in _hints_of(kind):
        try:
            members.append((field, _shape_of(hint, (*within, kind))))
        except TypeError as error:
            raise TypeError(f"{kind.__qualname__}.{field}: {error}") from None
    puts = tuple((field, member.put) for field, member in members)
    takes = tuple((field, member.take) for field, member in members)

    def put(value: Any, sink: Sink) -> None:
        if type(value) is not kind:
            raise _wrong(value, name)
        field = ""
        try:
            for field, put_member in puts:
                put_member(getattr(value, field), sink)
        except TypeError as error:
            raise TypeError(f"{kind.__qualname__}.{field}: {error}") from None

    def take(source: Source) -> Any:
        return kind(**{field: take_member(source) for field, take_member in takes})

    text = ", ".join(f"{field}: {member.text}" for field, member in members)
    return Shape(text=f"{name}({text})", fits=_exactly(kind), put=put, take=take)
