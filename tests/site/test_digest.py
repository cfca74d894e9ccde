"""The digest of what goes into a job: equal for equal values, in any process; different for any that differ."""

import enum
import hashlib
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field, make_dataclass, replace
from datetime import date, datetime
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup

from basefog.site import digest as digest_module
from basefog.site.digest import DigestError, digest_of, digest_of_code, digest_of_file
from basefog.site.job import InputPath


class Colour(enum.Enum):
    """Two colours, one of them valued as `Shade`'s."""

    RED = 1
    CRIMSON = 1.5


class Shade(enum.Enum):
    """One of another name."""

    RED = 1


@dataclass(frozen=True)
class Point:
    """A record."""

    x: float
    y: float


@dataclass(frozen=True)
class Place:
    """A record of the same fields."""

    x: float
    y: float


@dataclass
class Loose:
    """One that can be changed."""

    x: float


def shift(value: float) -> float:
    return value


ALL_DIFFERENT: list[object] = [
    None,
    False,
    True,
    0,
    1,
    -1,
    255,
    -256,
    256,
    2**64,
    0.0,
    -0.0,
    1.0,
    float("nan"),
    float("inf"),
    5e-324,
    "",
    "1",
    "True",
    "é",
    "e\u0301",
    "\udc80",
    b"",
    b"1",
    Markup("1"),
    date(2026, 1, 2),
    date(2026, 1, 2).toordinal(),
    Colour.RED,
    Colour.CRIMSON,
    Shade.RED,
    (),
    [],
    {},
    frozenset(),
    (1,),
    [1],
    (1.0,),
    ((1,), 2),
    ((1, 2),),
    (1, 2),
    ("a", "bc"),
    ("ab", "c"),
    frozenset({1}),
    {"a": 1},
    {"a": 2},
    {"b": 1},
    {1: "a"},
    {"a": {"b": 1}},
    {"a": {}, "b": 1},
    Point(1.0, 2.0),
    Point(2.0, 1.0),
    Place(1.0, 2.0),
    Point,
    Place,
    shift,
    len,
    np.zeros(2),
    np.zeros(3),
    -np.zeros(3),
    np.zeros((3, 1)),
    np.zeros((1, 3)),
    np.zeros(3, dtype=np.float32),
    np.zeros(3, dtype=np.int64),
    np.array(0.0),
    np.array(["a", "b"]),
]


def test_what_differs_is_told_apart() -> None:
    """No two of these values have one digest: types, signs, shapes, names and where one item ends all count."""
    seen: dict[str, object] = {}
    for value in ALL_DIFFERENT:
        assert seen.setdefault(digest_of(value), value) is value, value


_LEAVES = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.binary() | st.dates() | st.just(Colour.RED)
)
_VALUES = st.recursive(
    _LEAVES,
    lambda inner: st.lists(inner) | st.lists(inner).map(tuple) | st.dictionaries(st.text() | st.integers(), inner),
    max_leaves=12,
)


def _told(value: object) -> object:
    """Return a value in a form in which Python's own equality tells types and signs apart."""
    if isinstance(value, float):
        return ("float", "nan" if value != value else value.hex())  # noqa: PLR0124
    if isinstance(value, (list, tuple)):
        return (type(value).__name__, [_told(item) for item in value])
    if isinstance(value, dict):
        return ("dict", {(type(key).__name__, key): _told(item) for key, item in value.items()})
    return (type(value).__name__, value)


@given(_VALUES, _VALUES)
def test_digests_are_equal_exactly_where_values_are(one: object, other: object) -> None:
    """Two values have one digest exactly where Python, told to mind types and signs, finds them equal."""
    assert (digest_of(one) == digest_of(other)) == (_told(one) == _told(other))


@given(st.dictionaries(st.text() | st.integers() | st.booleans(), st.integers()))
def test_the_order_of_a_mapping_does_not_count(mapping: dict[object, int]) -> None:
    """A mapping filled the other way round has the same digest, whatever its keys are; so has a view of it."""
    other_way = dict(reversed(mapping.items()))

    assert digest_of(mapping) == digest_of(other_way) == digest_of(MappingProxyType(mapping))


def test_every_nan_is_one_nan() -> None:
    """A NaN of any sign and any payload has one digest, alone and in an array: nothing that is computed shows which."""
    other_nan = np.array([0xFFF8_0000_0000_0001], dtype=np.uint64).view(np.float64)

    assert digest_of(float(other_nan[0])) == digest_of(float("nan"))
    assert digest_of(other_nan) == digest_of(np.array([np.nan]))


def test_an_array_counts_by_what_it_holds() -> None:
    """Strides, byte order and being read-only don't count: a slice, a transpose and a copy have one digest."""
    grid = np.arange(12.0).reshape(3, 4)
    frozen = grid.copy()
    frozen.flags.writeable = False

    assert digest_of(np.asfortranarray(grid)) == digest_of(frozen) == digest_of(grid.astype(">f8"))
    assert digest_of(grid.T) == digest_of(np.ascontiguousarray(grid.T)) != digest_of(grid)
    assert digest_of(grid[:, ::2]) == digest_of(grid[:, ::2].copy())


def test_a_numpy_scalar_counts_as_what_it_holds() -> None:
    """What a record held before it was kept and what comes back from there have one digest."""
    assert digest_of(np.float64(1.5)) == digest_of(1.5)
    assert digest_of(np.int32(3)) == digest_of(3)
    assert digest_of(np.bool_(True)) == digest_of(True)


def test_a_field_of_a_record_counts() -> None:
    """A record that is replaced in one field has another digest; an equal one made anew has the same."""
    point = Point(1.0, 2.0)

    assert digest_of(replace(point, y=3.0)) != digest_of(point) == digest_of(Point(1.0, 2.0))


def test_the_names_of_fields_count() -> None:
    """A record whose fields were renamed is another, though its class and what it holds are the same."""
    one = make_dataclass("Same", [("time_min", float)], frozen=True)
    other = make_dataclass("Same", [("time_s", float)], frozen=True)

    assert digest_of(one(1.0)) != digest_of(other(1.0))


@dataclass(frozen=True)
class Scan:
    """A record that says where its file lies, which makes no difference."""

    place: Path = field(compare=False)
    sha256: str


@given(st.text(), st.text(), st.text(), st.text())
def test_a_field_that_does_not_count_in_comparing_has_no_part(a: str, b: str, one: str, other: str) -> None:
    """Two records have one digest exactly where they are equal: where the file lies counts in neither."""
    first, second = InputPath(path=a, sha256=one), InputPath(path=b, sha256=other)

    assert (digest_of(first) == digest_of(second)) == (first == second) == (one == other)
    assert (digest_of((first,)) == digest_of((second,))) == (one == other)


def test_a_field_that_does_not_count_needs_no_digest() -> None:
    """It may hold what is refused elsewhere, such as a path, since nobody looks at it."""
    assert digest_of(Scan(Path("a"), "0")) == digest_of(Scan(Path("b"), "0")) != digest_of(Scan(Path("a"), "1"))


def test_whether_a_field_counts_makes_another_record() -> None:
    """A class whose field came to count, or ceased to, is another: what was kept for the one is not taken for it."""
    counting = make_dataclass("Same", [("a", int), ("b", int)], frozen=True)
    not_counting = make_dataclass("Same", [("a", int), ("b", int, field(compare=False))], frozen=True)

    assert digest_of(counting(1, 1)) != digest_of(not_counting(1, 1))


def _made_within() -> Callable[[], None]:
    def inner() -> None:
        pass

    return inner


class NamedText(str):
    """Text that may carry more than its letters."""


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ({"scan": (Path("a.tif"),)}, "['scan'][0]: a path names a file and not what it holds; give the file's digest"),
        (Loose(1.0), "the value: Loose is not frozen: it may have changed by the time it is used"),
        (Point(1.0, Loose(2.0)), ".y: Loose is not frozen: it may have changed by the time it is used"),  # type: ignore[arg-type]
        ([1, {2}], "[1]: builtins.set has no digest"),
        (datetime(2026, 1, 2), "the value: datetime.datetime has no digest"),  # noqa: DTZ001 - none is told apart
        (np.array([object()]), "the value: an array of object has no digest"),
        (np.ma.masked_array([1.0, 2.0], [True, False]), "the value: numpy.ma.MaskedArray has no digest"),
        (NamedText("a"), "the value: NamedText has no digest"),
        (lambda: None, "the value: <lambda> is within a function, or has no name, and means nothing elsewhere"),
        (
            _made_within(),
            "the value: _made_within.<locals>.inner is within a function, or has no name, and means nothing elsewhere",
        ),
    ],
    ids=["path", "loose", "loose within", "set", "datetime", "objects", "masked", "named text", "lambda", "inner"],
)
def test_what_has_no_digest_is_refused_by_its_place(value: object, told: str) -> None:
    """What can't be told by its contents is refused, and the error says where in the value it stands."""
    with pytest.raises(DigestError) as error:
        digest_of(value)

    assert str(error.value).replace(f"{__name__}.", "") == told


def test_a_value_that_holds_itself_is_refused() -> None:
    """A list within itself is a plain error and not a deep one."""
    loop: list[object] = []
    loop.append(loop)

    with pytest.raises(DigestError, match="nested too deep"):
        digest_of(loop)


_SAMPLE = {"a": (1, 2.5, None, True), "b": frozenset({"x", "y", "z"}), 3: b"raw", "d": date(2026, 1, 2), "n": np.eye(2)}
_PROGRAM = """
import sys
from datetime import date
import numpy as np
from basefog.site.digest import digest_of
print(digest_of({"n": np.eye(2), "d": date(2026, 1, 2), 3: b"raw", "b": frozenset(["z", "y", "x"]),
                 "a": (1, 2.5, None, True)}))
"""


@pytest.mark.parametrize("seed", ["0", "1", "4000"])
def test_another_process_finds_the_same_digest(seed: str) -> None:
    """With another hash seed, and sets and mappings filled in another order, the digest is the same."""
    told = subprocess.run(
        [sys.executable, "-c", _PROGRAM],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
    )

    assert told.stdout.strip() == digest_of(_SAMPLE)


def test_a_value_is_written_by_type_length_and_content() -> None:
    """The bytes written out by hand have the digest: whoever changes them also changes the format's number."""
    written = b"".join(
        [
            b"basefog digest 1\n",
            b"(" + (3).to_bytes(8, "little"),
            b"i" + (1).to_bytes(8, "little") + b"\x01",
            b"s" + (2).to_bytes(8, "little") + b"ab",
            # IEEE 754: 1.0 is sign 0, exponent 1023, fraction 0.
            b"f" + b"\x00\x00\x00\x00\x00\x00\xf0\x3f",
        ]
    )

    assert digest_of((1, "ab", 1.0)) == hashlib.sha256(written).hexdigest()


def test_plain_values_need_no_numpy() -> None:
    """Who has no array does not pay for numpy."""
    program = (
        "import sys; from basefog.site.digest import digest_of; digest_of((1, 'a')); print('numpy' in sys.modules)"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    told = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True, env=environment)

    assert told.stdout.strip() == "False"


# The digest of code.


@pytest.fixture
def package(tmp_path: Path) -> Path:
    for name, text in {
        "measure/curve.py": "a = 1\n",
        "measure/deep/schema.json": "{}\n",
        "judge/one.py": "b\n",
    }.items():
        path = tmp_path / "program" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return tmp_path / "program"


def _code(package: Path, *rooms: str, libraries: tuple[str, ...] = ()) -> str:
    """Ask as a new process would."""
    digest_of_code.cache_clear()
    digest_module._sources_of_room.cache_clear()
    digest_module._version_of.cache_clear()
    return digest_of_code(rooms, libraries, package=package)


def test_code_counts_by_what_its_files_hold(package: Path) -> None:
    """A changed module, a changed schema, a new and a renamed module of a named room each give another digest."""
    found = [_code(package, "measure")]
    (package / "measure" / "curve.py").write_text("a = 2\n", encoding="utf-8")
    found.append(_code(package, "measure"))
    (package / "measure" / "deep" / "schema.json").write_text("[]\n", encoding="utf-8")
    found.append(_code(package, "measure"))
    (package / "measure" / "more.py").write_text("", encoding="utf-8")
    found.append(_code(package, "measure"))
    (package / "measure" / "more.py").rename(package / "measure" / "fewer.py")
    found.append(_code(package, "measure"))

    assert len(set(found)) == 5


def test_code_of_other_rooms_does_not_count(package: Path) -> None:
    """A change in a room that is not named, what Python compiled, and file times leave the digest as it was."""
    before = _code(package, "measure")
    (package / "judge" / "one.py").write_text("c\n", encoding="utf-8")
    (package / "measure" / "__pycache__").mkdir()
    (package / "measure" / "__pycache__" / "curve.cpython-311.pyc").write_bytes(b"compiled")
    os.utime(package / "measure" / "curve.py", (1, 1))

    assert _code(package, "measure") == before
    assert _code(package, "measure", "judge") != before


def test_a_room_that_is_not_there_is_an_error(package: Path) -> None:
    """A digest that misses code would keep what that code no longer makes."""
    with pytest.raises(ValueError, match="mesure: there is no such room in program"):
        _code(package, "mesure")


def test_one_module_may_be_named(package: Path) -> None:
    """A module alone is a room too."""
    before = _code(package, "measure/curve.py")
    (package / "measure" / "more.py").write_text("", encoding="utf-8")

    assert _code(package, "measure/curve.py") == before != _code(package, "measure")


def test_a_library_counts_by_its_version(package: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another version, and none, of a named library give another digest."""
    installed = tmp_path / "installed"
    monkeypatch.syspath_prepend(str(installed))
    found = [_code(package, "measure", libraries=("basefogs_invented",))]
    for version in ("1.0", "1.1"):
        folder = installed / f"basefogs_invented-{version}.dist-info"
        folder.mkdir(parents=True)
        text = f"Metadata-Version: 2.1\nName: basefogs-invented\nVersion: {version}\n\nVersion: 9\n"
        (folder / "METADATA").write_text(text, encoding="utf-8")
        found.append(_code(package, "measure", libraries=("basefogs_invented",)))
        assert digest_module._version_of("basefogs_invented") == version
        folder.rename(tmp_path / version)

    assert len(set(found)) == 3


def test_the_order_of_rooms_does_not_count(package: Path) -> None:
    """Rooms and libraries are a set."""
    assert _code(package, "measure", "judge", libraries=("numpy", "scipy")) == _code(
        package, "judge", "measure", "judge", libraries=("scipy", "numpy")
    )


def test_the_program_has_a_digest_of_its_own_rooms() -> None:
    """Without a package it is asked of this program, and a room that shares no code with another differs from it."""
    assert digest_of_code(("records",)) != digest_of_code(("site",))


def test_a_file_is_told_by_sha256(tmp_path: Path) -> None:
    """The digest of a file is what hashlib makes of its bytes."""
    (tmp_path / "a").write_bytes(b"abc")

    # FIPS 180-2, appendix B.1: the digest of "abc".
    assert digest_of_file(tmp_path / "a") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert digest_of_file(tmp_path / "a") == hashlib.sha256(b"abc").hexdigest()
