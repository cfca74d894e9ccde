"""Frozen dataclasses to bytes and back by their type hints, so that what was computed once can be kept.

Nothing in the bytes is ever run or looked up by name: the reader says what it expects, and the hints of that class
lead. Floats are kept to the bit. The bytes carry the layout of the class that they were made from and a checksum, so
that those of another class, of an older layout of it, or damaged ones are known as such.

Layout: magic, digest of the hints, checksum, then lengths, a JSON text, floats, and the rest. The JSON text holds the
distinct strings, then whole numbers that say all else in the order of the fields: lengths, places of strings, which
kind of a union follows. Floats (little-endian, 64 bits) stand together in the same order; so do arrays and bytes.
"""

import hashlib
import json
import struct
import sys
from array import array
from collections.abc import Hashable
from functools import lru_cache
from typing import Final, TypeVar, cast

from basefog.site.shapes import Shape, Sink, Source, shape_of

T = TypeVar("T")

_MAGIC: Final = b"bfkept 1"
_CHECKED: Final = struct.Struct("<8s16s16s")
_LENGTHS: Final = struct.Struct("<QQ")
_DIGEST_BYTES: Final = 16
_FLOAT_BYTES: Final = 8


class CodecError(ValueError):
    """Bytes that are not a whole, undamaged record of the class that was asked for, as it is today."""


def encode(kind: type[T], value: T) -> bytes:
    """Return a value as bytes, the same for the same value.

    Args:
        kind: what the value is, as its hint would say: a frozen dataclass, or `tuple[Some, ...]`, `dict[str, Some]`.
            Hints may name None, bool, int, float, str, bytes, date, enums, literals, unions, tuples, frozensets of
            what can be sorted, mappings, frozen dataclasses, and numpy arrays of numbers.
        value: what to keep. An int where a float is hinted at comes back as a float, a numpy scalar as the Python value
            that it holds, a mapping as a dict in the same order; all else comes back as it was.

    Raises TypeError, naming class and field, where a value is not what its hint says or a hint is none of these.
    """
    shape, layout = _shape_and_layout(cast(Hashable, kind))
    sink = Sink()
    shape.put(value, sink)
    floats = sink.floats
    if sys.byteorder == "big":
        floats.byteswap()
    text = json.dumps([list(sink.strings), sink.numbers], separators=(",", ":")).encode()
    body = b"".join((_LENGTHS.pack(len(text), len(floats)), text, floats.tobytes(), *sink.chunks))
    return _CHECKED.pack(_MAGIC, layout, _checksum(body)) + body


def decode(kind: type[T], data: bytes) -> T:
    """Return the value that `encode` made these bytes from, its arrays read-only.

    Raises CodecError where the bytes are damaged, cut short, or not of this class as it is today.
    """
    shape, layout = _shape_and_layout(cast(Hashable, kind))
    if len(data) < _CHECKED.size + _LENGTHS.size:
        raise CodecError("the bytes are cut short")
    magic, kept_layout, kept_sum = _CHECKED.unpack_from(data)
    body = memoryview(data)[_CHECKED.size :]
    if magic != _MAGIC:
        raise CodecError("the bytes are something else")
    if kept_sum != _checksum(body):
        raise CodecError("the bytes are damaged")
    if kept_layout != layout:
        raise CodecError(f"the bytes are not of {shape.text.partition('(')[0]} as it is today")
    try:
        source = _open(body)
        value: T = shape.take(source)
    except (ValueError, TypeError, LookupError, StopIteration, OverflowError) as fault:
        # Whole bytes of the right layout that say nonsense: made by hand, or by a program that was at fault.
        raise CodecError("the bytes contradict themselves") from fault
    if not source.is_used_up():
        raise CodecError("the bytes hold more than the value")
    return value


def _open(body: memoryview) -> Source:
    text_bytes, count = _LENGTHS.unpack_from(body)
    floats_at = _LENGTHS.size + text_bytes
    rest_at = floats_at + count * _FLOAT_BYTES
    if rest_at > len(body):
        raise ValueError("cut short")
    strings, numbers = json.loads(bytes(body[_LENGTHS.size : floats_at]))
    if not set(map(type, strings)) <= {str} or not set(map(type, numbers)) <= {int}:
        raise TypeError("neither strings nor whole numbers")
    floats = array("d")
    floats.frombytes(body[floats_at:rest_at])
    if sys.byteorder == "big":
        floats.byteswap()
    return Source(strings, numbers, floats, body[rest_at:])


def _checksum(body: bytes | memoryview) -> bytes:
    return hashlib.blake2b(body, digest_size=_DIGEST_BYTES).digest()


@lru_cache(maxsize=256)
def _shape_and_layout(kind: Hashable) -> tuple[Shape, bytes]:
    shape = shape_of(kind)
    return shape, hashlib.blake2b(shape.text.encode(), digest_size=_DIGEST_BYTES).digest()
