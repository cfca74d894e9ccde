"""Records to bytes and back: exactly as they were, or one error."""

import enum
import struct
import types
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, make_dataclass
from datetime import date
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from basefog.judge import find, find_findings
from basefog.measure import measure_series
from basefog.read import read_series
from basefog.records.content import Scan, Series
from basefog.records.findings import Findings, MeasuredTest, Quantity, TestFindings
from basefog.records.registration import Alignment, Refusal
from basefog.records.scan_figures import TestFigures
from basefog.site.codec import CodecError, decode, encode
from basefog.site.digest import digest_of

ROOT = Path(__file__).resolve().parents[2]


class Tone(enum.Enum):
    """Two tones of one value's kind."""

    LIGHT = 1
    DARK = 2


@dataclass(frozen=True, kw_only=True, slots=True)
class Inner:
    """A record within another."""

    name: str
    value: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Other:
    """A record of the same fields."""

    name: str
    value: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Everything:
    """One field for each kind of hint."""

    nothing: None
    flag: bool
    whole: int
    real: float
    text: str
    raw: bytes
    day: date
    tone: Tone
    word: Literal["a", "b", 1, True] | None
    maybe: float | None
    either: bool | str | int | float | None
    which: Inner | Other | tuple[Inner, ...] | None
    row: tuple[float, ...]
    pair: tuple[int, str]
    by_name: Mapping[str, tuple[Inner, ...]]
    by_number: Mapping[int, float] = field(default_factory=dict)
    curve: NDArray[np.float64]
    codes: NDArray[np.uint16]


def values_of(hint: Any) -> st.SearchStrategy[Any]:  # noqa: PLR0911 - one line a kind of hint
    """Return a strategy of values of a hint, by a reading of hints of its own."""
    plain: dict[Any, st.SearchStrategy[Any]] = {
        type(None): st.none(),
        bool: st.booleans(),
        int: st.integers(),
        float: st.floats(),
        str: st.text(max_size=5),
        bytes: st.binary(max_size=5),
        date: st.dates(),
    }
    origin, args = get_origin(hint), get_args(hint)
    if hint in plain:
        return plain[hint]
    if origin is Literal:
        return st.sampled_from(args)
    if origin in {Union, types.UnionType}:
        return st.one_of([values_of(arg) for arg in args])
    if origin is tuple and args[-1] is ...:
        return st.lists(values_of(args[0]), max_size=2).map(tuple)
    if origin is tuple:
        return st.tuples(*map(values_of, args))
    if origin is Mapping:
        return st.dictionaries(values_of(args[0]), values_of(args[1]), max_size=2)
    if origin is np.ndarray:
        number = np.dtype(get_args(args[1])[0])
        return st.lists(st.floats() if number.kind == "f" else st.integers(0, 65535), max_size=4).map(
            lambda row: np.array(row, dtype=number)
        )
    if isinstance(hint, type) and issubclass(hint, enum.Enum):
        return st.sampled_from(list(hint))
    return st.builds(hint, **{field.name: values_of(get_type_hints(hint)[field.name]) for field in fields(hint)})


def exactly(value: Any) -> Any:
    """Return a value in a form that equals another's only where types, order and every bit of floats are the same."""
    if isinstance(value, np.ndarray):
        return ("array", value.dtype.str, value.shape, value.tobytes())
    if is_dataclass(value):
        return (type(value), [exactly(getattr(value, of_field.name)) for of_field in fields(value)])
    if isinstance(value, Mapping):
        return ("mapping", [(exactly(key), exactly(item)) for key, item in value.items()])
    if isinstance(value, tuple):
        return ("tuple", [exactly(item) for item in value])
    return (type(value), struct.pack("<d", value) if isinstance(value, float) else value)


def round_trip(kind: type[Any], value: Any) -> Any:
    return decode(kind, encode(kind, value))


@pytest.mark.parametrize("kind", [Everything, Quantity, MeasuredTest, TestFigures, TestFindings, Scan, Alignment])
def test_what_comes_back_is_what_was_kept(kind: type[Any]) -> None:
    """Whatever a record holds, it comes back to the bit, with its types and the order of its mappings."""

    @settings(max_examples=30)
    @given(values_of(kind))
    def holds(value: Any) -> None:
        assert exactly(round_trip(kind, value)) == exactly(value)

    holds()


def test_every_float_comes_back_to_the_bit() -> None:
    """Signs of zero, the smallest and the largest float, infinities, and NaN with its sign and payload come back."""
    bits = [0, 1 << 63, 1, 0x7FEF_FFFF_FFFF_FFFF, 0x7FF0 << 48, 0xFFF0 << 48, 0x7FF8 << 48, 0xFFF8_0000_0000_0BAD]
    row = tuple(struct.unpack("<d", struct.pack("<Q", one))[0] for one in bits)

    found = round_trip(tuple[float, ...], row)

    assert [struct.unpack("<Q", struct.pack("<d", one))[0] for one in found] == bits


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3), (0, 4)])
def test_an_array_comes_back_by_its_shape_and_read_only(shape: tuple[int, ...]) -> None:
    """An array of any shape and order of memory comes back equal, of this machine's byte order, and read-only."""
    array = np.array(np.arange(float(np.prod(shape, dtype=int))).reshape(shape), order="F")

    found = round_trip(NDArray[np.float64], array)

    assert found.dtype.isnative
    assert found.shape == shape
    assert np.array_equal(found, array)
    assert not found.flags.writeable


def test_what_is_taken_for_another_type_comes_back_plain() -> None:
    """An int where a float is hinted at, and numpy's scalars, come back as the Python values that they are worth."""
    found = round_trip(Inner, Inner(name="a", value=3))
    of_numpy = round_trip(tuple[int, float, bool], (np.int64(3), np.float64(0.1), np.bool_(True)))

    assert exactly(found) == exactly(Inner(name="a", value=3.0))
    assert exactly(of_numpy) == exactly((3, 0.1, True))


def test_a_mapping_of_mixed_numbers_comes_back_in_floats() -> None:
    """One int among floats, which are otherwise kept in one go, changes neither the others nor the order."""
    mixed = {"b": 1.5, "a": 2, "c": np.float64(0.1)}
    plain = {"b": 1.5, "a": 2.0, "c": 0.1}

    assert exactly(round_trip(dict[str, float], mixed)) == exactly(plain)
    assert encode(dict[str, float], mixed) == encode(dict[str, float], plain)


def test_equal_values_give_equal_bytes() -> None:
    """Two values made apart give the same bytes, though their strings are other objects."""
    made = [Inner(name="".join(letters), value=0.5) for letters in (["a", "b"], ["ab"])]

    assert encode(Inner, made[0]) == encode(Inner, made[1])


@dataclass(frozen=True)
class Mixed:
    """A record of two choices, to be kept by its hint."""

    one: int | str
    other: Alignment | Refusal | None


def test_the_order_of_a_union_does_not_count() -> None:
    """Python takes two unions that differ in order alone for one hint, so the bytes may not depend on it."""
    one = make_dataclass("Same", [("a", int | str)], frozen=True)
    other = make_dataclass("Same", [("a", str | int)], frozen=True)

    assert encode(one, one("x")) == encode(other, other("x"))


def test_a_union_tells_its_members_apart() -> None:
    """A refusal does not come back as an alignment, nor a number as text."""
    refusal = Mixed(one="1", other=Refusal(message="m"))

    assert round_trip(Mixed, refusal) == refusal


# What is not sound.

SOUND = encode(Inner, Inner(name="step 1", value=0.25))


@pytest.mark.parametrize("place", range(len(SOUND)))
def test_any_changed_byte_is_noticed(place: int) -> None:
    """Wherever one bit is another, the bytes are refused."""
    damaged = bytearray(SOUND)
    damaged[place] ^= 0x10

    with pytest.raises(CodecError):
        decode(Inner, bytes(damaged))


@pytest.mark.parametrize("size", range(len(SOUND)))
def test_any_cut_is_noticed(size: int) -> None:
    """However much of them is missing, the bytes are refused."""
    with pytest.raises(CodecError):
        decode(Inner, SOUND[:size])


@given(st.binary(max_size=200))
def test_what_is_not_ours_is_refused(data: bytes) -> None:
    """Any bytes at all end in the one error."""
    with pytest.raises(CodecError):
        decode(Inner, data)


@given(st.binary(max_size=60))
def test_nonsense_under_a_right_checksum_is_refused(body: bytes) -> None:
    """Bytes made by hand, with checksum and layout as they should be, end in the one error too."""
    from basefog.site import codec

    head = codec._CHECKED.pack(SOUND[:8], SOUND[8:24], codec._checksum(body))

    with pytest.raises(CodecError):
        decode(Inner, head + body)


@pytest.mark.parametrize(
    "text",
    [
        b"[[],[0]]",
        b'[["a"],[-1]]',
        b'[["a"],[]]',
        b'[["a"],[0,0]]',
        b'[["a"],["b"]]',
        b'[["a"],0]',
        b"{}",
        b"[",
        b"[[1e999],[0]]",
        b"[[3],[0]]",
        b'[["a"],[0.0]]',
        b'[["a"],[false]]',
    ],
)
def test_numbers_that_lead_nowhere_are_refused(text: bytes) -> None:
    """Places that are not there, too few, too many: one error, and never a record of something else."""
    from basefog.site import codec

    body = codec._LENGTHS.pack(len(text), 1) + text + struct.pack("<d", 0.5)
    head = codec._CHECKED.pack(SOUND[:8], SOUND[8:24], codec._checksum(body))

    with pytest.raises(CodecError):
        decode(Inner, head + body)


@pytest.mark.parametrize(
    "text", [b'[["a"],[2,0,-1]]', b'[["a"],[2,0,0]]', b'[["a","b"],[3,0,1]]', b'[["a","b"],[1,0,1]]']
)
def test_names_that_lead_nowhere_are_refused(text: bytes) -> None:
    """In a mapping of floats too: a negative place, a name twice, more and fewer names than there should be."""
    from basefog.site import codec

    kind = dict[str, float]
    body = codec._LENGTHS.pack(len(text), 2) + text + struct.pack("<dd", 0.5, 0.25)
    head = codec._CHECKED.pack(SOUND[:8], encode(kind, {})[8:24], codec._checksum(body))

    with pytest.raises(CodecError):
        decode(kind, head + body)


def test_another_class_is_refused() -> None:
    """A record of the same fields under another name is another."""
    with pytest.raises(CodecError, match=r"not of .*Other as it is today"):
        decode(Other, SOUND)


def test_an_older_layout_is_refused() -> None:
    """A class that has gained a field, changed one's hint deep within, or has them in another order, is another."""
    layouts: list[list[tuple[str, Any]]] = [
        [("a", int), ("b", str)],
        [("b", str), ("a", int)],
        [("a", int), ("b", str), ("c", int)],
        [("a", int), ("b", str | None)],
        [("a", int), ("b", tuple[str, ...])],
    ]
    kinds = [make_dataclass("Same", layout, frozen=True) for layout in layouts]
    kept = encode(kinds[0], kinds[0](1, "x"))

    assert decode(kinds[0], kept) == kinds[0](1, "x")
    for kind in kinds[1:]:
        with pytest.raises(CodecError):
            decode(kind, kept)


@pytest.mark.parametrize(
    ("kind", "value", "told"),
    [
        (Inner, Inner(name=3, value=1.0), "Inner.name: found int, expected str"),  # type: ignore[arg-type]
        (Inner, Inner(name="a", value="1"), "Inner.value: found str, expected float"),  # type: ignore[arg-type]
        (Inner, Inner(name="a", value=True), "Inner.value: found bool, expected float"),
        (Inner, Other(name="a", value=1.0), "found Other, expected Inner"),
        (Mixed, Mixed(one=[], other=None), "Mixed.one: found list, expected int | str"),  # type: ignore[arg-type]
        (tuple[int, ...], [1], "found list, expected tuple"),
        (dict[str, int], {"a": "b"}, "found str, expected int"),
    ],
)
def test_a_value_against_its_hint_is_refused(kind: type[Any], value: object, told: str) -> None:
    """What would not come back as it was is not kept; the error names class and field."""
    with pytest.raises(TypeError) as error:
        encode(kind, value)

    assert str(error.value).replace(f"{__name__}.", "") == told


@dataclass
class Loose:
    """One that can be changed."""

    x: float


@pytest.mark.parametrize(
    ("hint", "told"),
    [
        (Loose, "Loose is not frozen"),
        (make_dataclass("Has", [("a", list[int])], frozen=True), "Has.a: list[int] can't be kept"),
        (make_dataclass("Has", [("a", object)], frozen=True), "Has.a: <class 'object'> can't be kept"),
        (make_dataclass("Has", [("a", NDArray[np.str_])], frozen=True), "an array of <class 'numpy.str_'>"),
    ],
)
def test_a_hint_that_says_too_little_is_refused(hint: type[Any], told: str) -> None:
    """A list, any object and an array of no numbers can't be kept; the error names class and field."""
    with pytest.raises(TypeError) as error:
        encode(hint, None)

    assert told in str(error.value)


# The demo.


@pytest.fixture(scope="module")
def demo() -> tuple[Series, dict[str, MeasuredTest], Findings]:
    series = read_series(ROOT / "content").series
    assert series is not None
    measured: dict[str, MeasuredTest] = {}

    def note(*args: Any, **options: Any) -> dict[str, MeasuredTest]:
        measured.update(measure_series(*args, **options))
        return measured

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(find, "measure_series", note)
        return series, measured, find_findings(series, {})


def test_the_demo_comes_back_as_it_was(demo: tuple[Series, dict[str, MeasuredTest], Findings]) -> None:
    """The demo's series, the quantities of each of its tests and all its findings come back exactly, type by type."""
    series, measured, findings = demo

    assert len(measured) > 10
    assert exactly(round_trip(Series, series)) == exactly(series)
    assert exactly(round_trip(Findings, findings)) == exactly(findings)
    for test in measured.values():
        found = round_trip(MeasuredTest, test)
        assert exactly(found) == exactly(test)
        assert digest_of(found) == digest_of(test)
