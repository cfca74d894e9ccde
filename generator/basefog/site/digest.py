"""One digest of what goes into a job, and one of the code that does it: the same in every process, on every machine.

What has no meaning of its own (a path, whose file may change) or none that holds in another process (an open file, a
lambda) has no digest: it is refused. Every value is written with its type and its length before it, so that no two
values that can be told apart are written alike.
"""

import enum
import hashlib
import os
import platform
import re
import struct
import sys
import types
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path, PurePath
from typing import Any, Final

_FORMAT: Final = b"basefog digest 1\n"
_PACKAGE: Final = Path(__file__).resolve().parents[1]
_LONGEST_NAME: Final = 40
_MOST_KNOWN: Final = 8192
_NO_SOURCE: Final = frozenset({".pyc", ".pyo", ".pyi"})

_Writer = Callable[[Any, bytearray], None]
_length: Final = struct.Struct("<Q").pack
_double: Final = struct.Struct("<d").pack
_NAN: Final = b"f" + _double(float("nan"))


class DigestError(TypeError):
    """A value that has no digest: says what it is and where it stands."""

    def __init__(self, reason: str, place: str = "") -> None:
        super().__init__(f"{place or 'the value'}: {reason}")
        self.reason = reason
        self.place = place

    def inside(self, outer: str) -> "DigestError":
        """Return the same error as seen from what holds the value."""
        return DigestError(self.reason, outer + self.place)


def digest_of(value: object) -> str:
    """Return the sha256, in hexadecimal, of a value by its types and contents.

    None, bool, int, float, str, bytes, date, enum members, tuples, lists, frozensets, mappings, frozen dataclasses,
    numpy arrays, classes and named functions have one. Types are told apart (1, 1.0, True and "1" differ), lists from
    tuples too. -0.0 is not 0.0, for it divides and prints otherwise; every NaN is one NaN, in arrays too. The order of
    a mapping does not count. A numpy scalar counts as the Python value that it holds; a record's every field counts
    that counts in comparing, and the name of its class; a function is its module and its name, see `digest_of_code`
    for what it does. A class of records that says `DIGEST_ONCE` is digested by itself, once a record: large ones that
    stand in many values.

    Raises DigestError, naming the place, for anything else: a path (give the digest of what the file holds), a
    dataclass that can be changed, a function within a function, an array of objects.

    >>> digest_of((1, "a")) == digest_of((1, "a")), digest_of(1) == digest_of(1.0), digest_of({}) == digest_of(())
    (True, False, False)
    >>> digest_of({"scan": PurePath("a.tif")})
    Traceback (most recent call last):
    ...
    basefog.site.digest.DigestError: ['scan']: a path names a file and not what it holds; give the file's digest
    """
    out = bytearray(_FORMAT)
    try:
        _write(value, out)
    except RecursionError:
        raise DigestError("it is nested too deep, or holds itself") from None
    return hashlib.sha256(out).hexdigest()


def digest_of_file(path: Path) -> str:
    """Return the sha256, in hexadecimal, of what a file holds. Raises OSError where it can't be read."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


@lru_cache(maxsize=256)
def digest_of_code(
    rooms: tuple[str, ...],
    libraries: tuple[str, ...] = (),
    *,
    package: Path = _PACKAGE,
    digest_file: Callable[[Path], str] = digest_of_file,
) -> str:
    """Return the sha256, in hexadecimal, of the code that makes a kind of thing; asked of the disk once a process.

    Args:
        rooms: folders or modules of the package, such as `("records", "picture/charts", "build.py")`.
        libraries: names of installed distributions, such as `("numpy", "scipy")`; one that is not installed counts as
            such.
        package: the folder that the rooms are in.
        digest_file: what is asked for a file's digest: an index that need not read what it has seen is quicker.

    The Python release and the kind of machine count too, since the last bits of a sum hang on them. Raises ValueError
    where there is no such room: a digest that misses code would keep what that code no longer makes.
    """
    sources = {source for room in rooms for source in _sources_of_room(package, room)}
    lines = [f"python {platform.python_version()} {platform.machine()} {platform.system()}"]
    lines += [f"library {library} {_version_of(library)}" for library in sorted(set(libraries))]
    lines += sorted(f"source {source.relative_to(package).as_posix()} {digest_file(source)}" for source in sources)
    return digest_of(tuple(lines))


@lru_cache(maxsize=256)
def _version_of(library: str) -> str:
    from importlib.metadata import PackageNotFoundError, distribution

    try:
        found = distribution(library)
    except PackageNotFoundError:
        return "is not installed"
    # To parse all that a library says of itself takes many times longer than to find the one line.
    said = re.search(r"^Version: *(\S+)", found.read_text("METADATA") or "", re.MULTILINE)
    return said[1] if said else found.version


@lru_cache(maxsize=256)
def _sources_of_room(package: Path, room: str) -> tuple[Path, ...]:
    """Return every file of a room; data files among the modules, such as schemas, are code as well."""
    place = package / room
    found = (
        [place] if place.is_file() else [Path(folder, name) for folder, _, names in os.walk(place) for name in names]
    )
    sources = tuple(source for source in found if source.suffix not in _NO_SOURCE)
    if not sources:
        raise ValueError(f"{room}: there is no such room in {package.name}")
    return sources


def _write(value: object, out: bytearray) -> None:
    kind = type(value)
    writer = _WRITERS.get(kind)
    if writer is None:
        # Kept by type: to find out how a class is written costs more than to write one of it.
        writer = _WRITERS[kind] = _find_writer(kind)
    writer(value, out)


def _find_writer(kind: type) -> _Writer:
    """Return how values of a class are written that is none of the plain ones."""
    numpy = sys.modules.get("numpy")
    if is_dataclass(kind):
        return _record_writer(kind)
    if issubclass(kind, enum.Enum):
        return _enum_writer(kind)
    if numpy is not None and (kind is numpy.ndarray or issubclass(kind, numpy.generic)):
        return _write_array if kind is numpy.ndarray else _write_numpy_scalar
    if issubclass(kind, str) and kind.__dictoffset__ == 0 and kind.__basicsize__ == str.__basicsize__:
        return _text_writer(kind)
    if issubclass(kind, (Mapping, type)):
        return _write_mapping if issubclass(kind, Mapping) else _write_named
    raise DigestError(_why_not(kind))


def _why_not(kind: type) -> str:
    if issubclass(kind, PurePath):
        return "a path names a file and not what it holds; give the file's digest"
    return f"{_name_of(kind)} has no digest"


def _name_of(kind: Any) -> str:
    return f"{kind.__module__}.{kind.__qualname__}"


def _framed(data: bytes) -> bytes:
    return _length(len(data)) + data


def _framed_text(text: str) -> bytes:
    # Half of a surrogate pair may stand in a file's name.
    return _framed(text.encode("utf-8", "surrogatepass"))


def _write_none(_: None, out: bytearray) -> None:
    out += b"0"


def _write_bool(value: bool, out: bytearray) -> None:
    out += b"T" if value else b"F"


def _write_int(value: int, out: bytearray) -> None:
    out += b"i" + _framed(value.to_bytes(value.bit_length() // 8 + 1, "little", signed=True))


def _write_float(value: float, out: bytearray) -> None:
    out += b"f" + _double(value) if value == value else _NAN  # noqa: PLR0124 - only NaN is not itself


def _write_str(value: str, out: bytearray) -> None:
    out += _written_name(value) if len(value) <= _LONGEST_NAME else b"s" + _framed_text(value)


@lru_cache(maxsize=8192)
def _written_name(value: str) -> bytes:
    """Return how a short text is written: ids and units come again and again."""
    return b"s" + _framed_text(value)


def _write_bytes(value: bytes, out: bytearray) -> None:
    out += b"b" + _framed(value)


def _write_date(value: date, out: bytearray) -> None:
    out += b"d" + _length(value.toordinal())


def _write_named(value: Any, out: bytearray) -> None:
    name = _name_of(value)
    if "<" in name:
        raise DigestError(f"{name} is within a function, or has no name, and means nothing elsewhere")
    out += b"n" + _framed_text(name)


def _write_tuple(value: tuple[object, ...], out: bytearray) -> None:
    out += b"("
    _write_items(value, out)


def _write_list(value: list[object], out: bytearray) -> None:
    out += b"["
    _write_items(value, out)


def _write_items(value: Sequence[object], out: bytearray) -> None:
    out += _length(len(value))
    place = 0
    try:
        for item in value:
            _write(item, out)
            place += 1
    except DigestError as error:
        raise error.inside(f"[{place}]") from None


def _write_set(value: frozenset[object], out: bytearray) -> None:
    out += b"{" + _length(len(value))
    out += b"".join(sorted(map(_written, value)))


def _write_mapping(value: Mapping[Any, object], out: bytearray) -> None:
    out += b"m" + _length(len(value))
    key: object = None
    try:
        # Keys of several types have no order among them but that of what is written of them.
        keys = sorted(value) if set(map(type, value)) == {str} else sorted(value, key=_written)
        for key in keys:
            _write(key, out)
            _write(value[key], out)
    except DigestError as error:
        raise error.inside(f"[{key!r}]") from None


def _written(value: object) -> bytes:
    out = bytearray()
    _write(value, out)
    return bytes(out)


_known_records: Final[OrderedDict[int, tuple[object, bytes]]] = OrderedDict()
"""Digests of records that are asked for again and again, by identity; the record is held, so that none takes its place.
"""


def _once(write: _Writer) -> _Writer:
    """Return a writer that puts down a record's digest in the record's stead, found once a record."""

    def write_once(record: object, out: bytearray) -> None:
        known = _known_records.get(id(record))
        if known is None:
            whole = bytearray()
            write(record, whole)
            known = _known_records[id(record)] = (record, b"o" + hashlib.sha256(whole).digest())
            if len(_known_records) > _MOST_KNOWN:
                _known_records.popitem(last=False)
        out += known[1]

    return write_once


def _record_writer(kind: type) -> _Writer:
    if not kind.__dataclass_params__.frozen:  # type: ignore[attr-defined] # set by dataclass, in no stub
        raise DigestError(f"{_name_of(kind)} is not frozen: it may have changed by the time it is used")
    names = tuple(field.name for field in fields(kind) if field.compare)
    head = b"r" + _framed_text(_name_of(kind)) + _length(len(names)) + b"".join(map(_framed_text, names))

    def write(record: object, out: bytearray) -> None:
        out += head
        name = ""
        try:
            for name in names:
                _write(getattr(record, name), out)
        except DigestError as error:
            raise error.inside(f".{name}") from None

    return _once(write) if getattr(kind, "DIGEST_ONCE", False) else write


def _enum_writer(kind: type[enum.Enum]) -> _Writer:
    head = b"e" + _framed_text(_name_of(kind))

    def write(member: enum.Enum, out: bytearray) -> None:
        out += head + _framed_text(member.name)

    return write


def _text_writer(kind: type[str]) -> _Writer:
    """Return how a kind of text without anything more to it is written, such as text that is safe to stand in HTML."""
    head = b"S" + _framed_text(_name_of(kind))

    def write(value: str, out: bytearray) -> None:
        out += head + _framed_text(str.__str__(value))

    return write


def _write_numpy_scalar(value: Any, out: bytearray) -> None:
    held = value.item()
    if type(held) is type(value):
        raise DigestError(_why_not(type(value)))
    _write(held, out)


def _write_array(value: Any, out: bytearray) -> None:
    # Only who holds an array has imported numpy; this room need not.
    numpy = sys.modules["numpy"]
    if value.dtype.kind not in "biufcUS":
        raise DigestError(f"an array of {value.dtype} has no digest")
    settled = value.astype(value.dtype.newbyteorder("<"), copy=False)
    if value.dtype.kind == "f" and numpy.isnan(settled).any():
        settled = numpy.where(numpy.isnan(settled), numpy.array(numpy.nan, settled.dtype), settled)
    out += b"a" + _framed_text(value.dtype.newbyteorder("<").str) + _length(value.ndim)
    out += b"".join(map(_length, value.shape)) + _framed(settled.astype(settled.dtype.newbyteorder("<")).tobytes())


_WRITERS: Final[dict[type, _Writer]] = {
    type(None): _write_none,
    bool: _write_bool,
    int: _write_int,
    float: _write_float,
    str: _write_str,
    bytes: _write_bytes,
    date: _write_date,
    tuple: _write_tuple,
    list: _write_list,
    frozenset: _write_set,
    dict: _write_mapping,
    types.FunctionType: _write_named,
    types.BuiltinFunctionType: _write_named,
}
