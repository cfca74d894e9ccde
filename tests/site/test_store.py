"""The store: what comes back is what was put, or nothing; whatever others do to the folder meanwhile."""

import hashlib
import os
import shutil
import stat
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.site import store as store_module
from basefog.site.store import Store
from site_workers import put_and_read_in_little_room, put_many

DAY_S = 86_400
NOON_S = 1_800_000_000.0


def key(name: str) -> str:
    return hashlib.sha256(name.encode()).hexdigest()


A, B, C, D = map(key, "abcd")


def files_in(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def entry(folder: Path, of: str) -> Path:
    return folder / of[:2] / f"{of[2:]}.kept"


def file_entry(folder: Path, of: str) -> Path:
    return folder / of[:2] / f"{of[2:]}.file"


@given(st.binary(max_size=200))
def test_what_is_put_comes_back(data: bytes) -> None:
    """A result comes back by its key and a file by its sha256, byte for byte, through another store of that folder."""
    with TemporaryDirectory() as folder:
        store = Store(Path(folder) / "cache")
        assert store.put(A, data)
        sha256 = store.put_file(data)
        other = Store(Path(folder) / "cache")

        assert sha256 == hashlib.sha256(data).hexdigest()
        assert other.get(A) == other.get_file(sha256) == data == other.path_of_file(sha256).read_bytes()
        assert other.get(B) is None


def test_results_and_files_are_told_apart(tmp_path: Path) -> None:
    """One digest may be the key of a result and name a file: neither is taken for the other."""
    store = Store(tmp_path)
    store.put(A, b"result")
    sha256 = store.put_file(b"file")
    assert sha256 is not None
    store.put(sha256, b"made of the file")

    assert store.get_file(A) is None
    assert not store.has_file(A)
    assert (store.get(sha256), store.get_file(sha256)) == (b"made of the file", b"file")


def test_a_later_put_replaces_an_earlier_one(tmp_path: Path) -> None:
    """The last one stands, and nothing lies beside it."""
    store = Store(tmp_path)
    store.put(A, b"first")
    store.put(A, b"second")

    assert store.get(A) == b"second"
    assert files_in(tmp_path) == [entry(tmp_path, A)]


@pytest.mark.parametrize("wrong", ["", "../../etc", "A" * 64, "a" * 63, "a" * 65, f"{'a' * 62}/b"])
def test_only_a_digest_is_a_key(tmp_path: Path, wrong: str) -> None:
    """Nothing else can name a file, in the folder or out of it."""
    store = Store(tmp_path)

    for ask in (store.get, store.get_file, store.has_file, store.path_of_file, lambda key: store.put(key, b"")):
        with pytest.raises(ValueError, match="is not a sha256"):
            ask(wrong)


# Damage.


def test_any_damage_is_noticed_told_and_removed(tmp_path: Path) -> None:
    """Whichever byte is another, and wherever it is cut, a result is missing afterwards, and one line says so."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    store.put(A, b"content")
    sound = entry(tmp_path, A).read_bytes()
    damaged = [sound[:place] + bytes([sound[place] ^ 1]) + sound[place + 1 :] for place in range(len(sound))]
    cut = [sound[:size] for size in range(len(sound))]

    for number, data in enumerate([*damaged, *cut, sound + b"x"], 1):
        entry(tmp_path, A).write_bytes(data)
        assert store.get(A) is None
        assert len(told) == number
        assert entry(tmp_path, A).name in told[-1]
        assert not entry(tmp_path, A).exists()
    entry(tmp_path, A).write_bytes(sound)
    assert store.get(A) == b"content"
    assert told[-1] == f"{entry(tmp_path, A).name}: an entry of the cache is damaged and is made again"


def test_a_damaged_file_is_noticed_told_and_removed(tmp_path: Path) -> None:
    """A file that is not what its name says is missing once it was read, and one line says so."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    sha256 = store.put_file(b"picture")
    assert sha256 is not None

    for number, data in enumerate((b"Picture", b"pictur", b"", b"picture\0"), 1):
        file_entry(tmp_path, sha256).write_bytes(data)
        assert store.has_file(sha256)
        assert store.get_file(sha256) is None
        assert not store.has_file(sha256)
        assert (
            told
            == [f"{file_entry(tmp_path, sha256).name}: an entry of the cache is damaged and is made again"] * number
        )


def test_a_file_that_is_put_where_a_damaged_one_lies_replaces_it(tmp_path: Path) -> None:
    """What is put is what is had, and the damage is told; a sound one stays as it is, times and all."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    sha256 = store.put_file(b"picture")
    assert sha256 is not None
    file_entry(tmp_path, sha256).write_bytes(b"damaged")

    assert store.put_file(b"picture") == sha256
    assert store.get_file(sha256) == b"picture"
    assert len(told) == 1

    before = file_entry(tmp_path, sha256).stat()
    assert store.put_file(b"picture") == sha256
    assert file_entry(tmp_path, sha256).stat() == before
    assert len(told) == 1


def test_an_entry_in_anothers_place_is_noticed(tmp_path: Path) -> None:
    """A whole entry that was moved under another key is not taken for that one's."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    store.put(A, b"a")
    entry(tmp_path, B).parent.mkdir(exist_ok=True)
    shutil.copy(entry(tmp_path, A), entry(tmp_path, B))

    assert store.get(B) is None
    assert told == [f"{entry(tmp_path, B).name}: an entry of the cache is damaged and is made again"]
    assert store.get(A) == b"a"


def test_a_damaged_entry_is_made_again(tmp_path: Path) -> None:
    """After it was noticed it can be put and had as any."""
    store = Store(tmp_path)
    store.put(A, b"a")
    entry(tmp_path, A).write_bytes(b"")

    assert store.get(A) is None
    assert store.put(A, b"a")
    assert store.get(A) == b"a"


def test_the_folder_may_go_at_any_time(tmp_path: Path) -> None:
    """Deleted between any two calls, it is empty and not broken."""
    told: list[str] = []
    store = Store(tmp_path / "cache", report=told.append)
    for _ in range(2):
        assert store.get(A) is None
        assert store.trim() == 0
        assert store.put(A, b"a")
        assert store.get(A) == b"a"
        shutil.rmtree(tmp_path / "cache")

    assert told == []


def test_an_interrupted_write_leaves_no_entry(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the disk is full half-way, there is no entry, nothing beside it, one line, and no error."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)

    def write_half(path: Path, *parts: bytes) -> None:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(parts[0])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(store_module, "_write_new", write_half)

    assert store.put_file(b"picture") is None
    assert not store.put(A, b"a" * 100)
    assert told[1:] == [f"{entry(tmp_path, A).name}: an entry of the cache can't be kept: No space left on device"]
    assert files_in(tmp_path) == []


def test_a_place_that_is_taken_by_a_folder_is_no_error(tmp_path: Path) -> None:
    """A folder where an entry should be, or a file where a shelf should be, is told and passed by."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    entry(tmp_path, A).mkdir(parents=True)
    (tmp_path / B[:2]).write_bytes(b"")

    for taken in (A, B):
        assert store.get(taken) is None
        assert not store.put(taken, b"a")
    assert len(told) == 4
    assert entry(tmp_path, A).is_dir()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such bits")
def test_entries_are_as_open_as_the_user_wants(tmp_path: Path) -> None:
    """A cache that others share can be read by them: modes are those of any new file."""
    (tmp_path / "plain").write_bytes(b"")
    Store(tmp_path).put(A, b"a")

    assert stat.S_IMODE(entry(tmp_path, A).stat().st_mode) == stat.S_IMODE((tmp_path / "plain").stat().st_mode)


# Several processes.


def test_processes_that_write_one_key_never_see_half_of_it(tmp_path: Path) -> None:
    """Two processes put and read a large result and a large file again and again: each time, all of it is there."""
    blob = os.urandom(300_000)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as workers:
        whole = [workers.submit(put_many, str(tmp_path), A, blob, 60) for _ in range(2)]

        assert [one.result() for one in whole] == [60, 60]
    sha256 = hashlib.sha256(blob).hexdigest()
    assert Store(tmp_path).get(A) == Store(tmp_path).get_file(sha256) == blob
    assert files_in(tmp_path) == sorted([entry(tmp_path, A), file_entry(tmp_path, sha256)])


def test_trimming_in_one_process_breaks_no_reader_in_another(tmp_path: Path) -> None:
    """Three processes put, read and trim in too little room: what comes back is right or missing, without a word."""
    keys = tuple(map(key, map(str, range(20))))
    with ProcessPoolExecutor(3, mp_context=get_context("spawn")) as workers:
        told = [
            workers.submit(put_and_read_in_little_room, str(tmp_path), keys[turn:] + keys[:turn], 10_000, 60_000)
            for turn in (0, 7, 14)
        ]

        assert [one.result() for one in told] == [(), (), ()]
    assert Store(tmp_path, limit_bytes=60_000).trim() <= 60_000


# Room.


class Clock:
    """A clock that stands where it is put; files that are written get its time."""

    def __init__(self) -> None:
        self.now_s = NOON_S

    def __call__(self) -> float:
        """Return the time."""
        return self.now_s


def put_at(store: Store, folder: Path, of: str, size: int, at_s: float) -> None:
    assert store.put(of, b"x" * size)
    os.utime(entry(folder, of), (at_s, at_s))


def kept(folder: Path) -> set[str]:
    return {path.parent.name + path.stem for path in files_in(folder) if path.suffix == ".kept"}


def test_what_was_not_used_for_longest_goes_first(tmp_path: Path) -> None:
    """Past the limit, entries go by the time they were last had or put, until a tenth of the room is free."""
    clock = Clock()
    store = Store(tmp_path, limit_bytes=10**6, clock=clock)
    for hour, one in enumerate((A, B, C, D)):
        put_at(store, tmp_path, one, 300, NOON_S - 10_000 + 1000 * hour)
    clock.now_s = NOON_S
    assert store.get(A) is not None
    size = entry(tmp_path, A).stat().st_size

    left = Store(tmp_path, limit_bytes=3 * size, clock=clock).trim()

    # Nine tenths of three entries' room hold two.
    assert left == 2 * size
    assert kept(tmp_path) == {A, D}


def test_nothing_goes_while_there_is_room(tmp_path: Path) -> None:
    """Exactly at the limit all stays."""
    store = Store(tmp_path)
    for one in (A, B):
        store.put(one, b"x" * 300)
    size = sum(path.stat().st_size for path in files_in(tmp_path))

    assert Store(tmp_path, limit_bytes=size).trim() == size
    assert kept(tmp_path) == {A, B}


def test_to_ask_for_a_file_counts_as_use(tmp_path: Path) -> None:
    """Of files, too, those go that were not asked for longest, be it only whether they are there."""
    clock = Clock()
    store = Store(tmp_path, clock=clock)
    files = [store.put_file(letter * 300) for letter in (b"a", b"b", b"c")]
    old, asked, had = (one for one in files if one is not None)
    for age_s, one in ((1000, old), (2000, asked), (3000, had)):
        os.utime(file_entry(tmp_path, one), (NOON_S - age_s, NOON_S - age_s))
    assert store.has_file(asked)
    assert store.get_file(had) is not None

    assert Store(tmp_path, limit_bytes=700, clock=clock).trim() == 600
    assert [store.has_file(one) for one in (old, asked, had)] == [False, True, True]


def test_an_entry_just_used_is_not_touched_again(tmp_path: Path) -> None:
    """To have an entry writes to the disk once a minute at most."""
    clock = Clock()
    store = Store(tmp_path, clock=clock)
    put_at(store, tmp_path, A, 10, NOON_S - 59)
    store.get(A)
    soon = entry(tmp_path, A).stat().st_mtime
    put_at(store, tmp_path, A, 10, NOON_S - 61)
    store.get(A)

    assert soon == NOON_S - 59
    assert entry(tmp_path, A).stat().st_mtime == NOON_S


def test_a_clock_set_back_loses_nothing_but_order(tmp_path: Path) -> None:
    """An entry used in what is now the future is had, and counts as used now."""
    clock = Clock()
    store = Store(tmp_path, clock=clock)
    put_at(store, tmp_path, A, 10, NOON_S + 10 * DAY_S)

    assert store.get(A) is not None
    assert entry(tmp_path, A).stat().st_mtime == NOON_S


def test_what_dead_writers_left_goes_after_a_day(tmp_path: Path) -> None:
    """A file that a killed process was writing is removed once it is a day old, and not before: it may be alive."""
    store = Store(tmp_path, clock=Clock())
    store.put(A, b"a")
    old, young = (entry(tmp_path, A).with_name(f"{A[2:]}.{pid}-0.new") for pid in (1, 2))
    for path, age_s in ((old, DAY_S + 1), (young, DAY_S - 1)):
        path.write_bytes(b"half")
        os.utime(path, (NOON_S - age_s, NOON_S - age_s))

    store.trim()

    assert files_in(tmp_path) == sorted([entry(tmp_path, A), young])


def test_files_of_others_are_left_alone(tmp_path: Path) -> None:
    """Where a folder with other things in it was named by mistake, full or not, none of them goes or counts."""
    others = [
        "notes.txt",
        "ab/notes.txt",
        "ab/notes.kept",
        "abc/1.kept",
        f"abc/{A[2:]}.kept",
        f"ab/{B[2:]}.kept/notes.txt",
        f"ab/{C[2:]}.old.kept",
        f"ab/{C[2:]}.new",
        f"{A[:2]}/deep/{A[2:]}.kept",
        "ab/face.new",
        "ab/face.kept",
        f"ab/{A}.kept",
    ]
    for name in others:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"x" * 1000)
        os.utime(tmp_path / name, (1, 1))
    Store(tmp_path).put(A, b"a" * 500)

    assert Store(tmp_path, limit_bytes=100, clock=Clock()).trim() == 0
    assert files_in(tmp_path) == sorted(tmp_path / name for name in others)


def test_an_entry_that_can_not_be_removed_is_passed_by(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows keeps a file that another process is reading: the next oldest goes in its stead."""
    store = Store(tmp_path)
    for hour, one in enumerate((A, B, C)):
        put_at(store, tmp_path, one, 300, NOON_S + 1000 * hour)
    size = entry(tmp_path, A).stat().st_size
    unlink = Path.unlink

    def refuse_one(path: Path, missing_ok: bool = False) -> None:
        if path == entry(tmp_path, A):
            raise PermissionError(13, "The process cannot access the file")
        unlink(path, missing_ok)

    monkeypatch.setattr(Path, "unlink", refuse_one)

    assert Store(tmp_path, limit_bytes=2 * size, clock=Clock()).trim() == size
    assert kept(tmp_path) == {A}


# Where the system refuses for a moment, or for good.


def lose_after_writing(monkeypatch: pytest.MonkeyPatch, folder: Path, times: int) -> None:
    """Delete all between the writing of an entry and its being moved into place, so many times."""
    write = store_module._write_new
    left = iter(range(times))

    def write_and_lose(path: Path, *parts: bytes) -> None:
        write(path, *parts)
        if next(left, None) is not None:
            shutil.rmtree(folder)

    monkeypatch.setattr(store_module, "_write_new", write_and_lose)


@pytest.mark.parametrize("times", [1, 2])
def test_a_folder_deleted_under_a_writer_is_made_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, times: int
) -> None:
    """What was being written is kept all the same, without a word: a file that is lost would stop a publish."""
    told: list[str] = []
    store = Store(tmp_path / "cache", report=told.append)
    lose_after_writing(monkeypatch, tmp_path / "cache", times)

    assert store.put(A, b"a")
    assert store.get(A) == b"a"
    assert told == []


def test_a_folder_deleted_again_and_again_loses_that_entry_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After three times it is told as not kept."""
    told: list[str] = []
    store = Store(tmp_path / "cache", report=told.append)
    lose_after_writing(monkeypatch, tmp_path / "cache", 3)

    assert not store.put(A, b"a")
    assert len(told) == 1
    assert "can't be kept" in told[0]
    assert store.put(A, b"a")


def refuse_to_replace(monkeypatch: pytest.MonkeyPatch, times: int) -> None:
    """Be a system that does not replace a file, so many times, since another process has it open."""
    replace = Path.replace
    left = iter(range(times))

    def refuse(path: Path, target: Path) -> Path:
        if next(left, None) is not None:
            raise PermissionError(13, "Access is denied", str(target))
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", refuse)


def test_an_entry_that_is_being_read_elsewhere_counts_as_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows doesn't replace an open file: where the very same is there under that key, nothing is amiss."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    store.put(A, b"a")
    refuse_to_replace(monkeypatch, 10**6)

    assert store.put(A, b"a")
    assert told == []
    assert files_in(tmp_path) == [entry(tmp_path, A)]


def test_what_can_not_be_replaced_is_not_taken_for_what_was_put(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another result, or a damaged file, that stays where it lies is no success."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    store.put(A, b"a")
    sha256 = store.put_file(b"picture")
    assert sha256 is not None
    file_entry(tmp_path, sha256).write_bytes(b"damaged")
    refuse_to_replace(monkeypatch, 10**6)
    monkeypatch.setattr(Path, "unlink", refuse_to_remove)

    assert not store.put(A, b"b")
    assert store.put_file(b"picture") is None
    assert [line.partition(": ")[2] for line in told] == [
        "an entry of the cache can't be kept: Access is denied",
        "an entry of the cache is damaged and is made again",
        "an entry of the cache can't be kept: Access is denied",
    ]


def refuse_to_remove(path: Path, **_: bool) -> None:
    raise PermissionError(13, "Access is denied", str(path))


@pytest.mark.parametrize("times", [1, 2])
def test_a_file_that_is_looked_at_for_a_moment_is_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, times: int
) -> None:
    """A virus scanner opens each new file at once: what is refused once or twice is tried again, without a word."""
    told: list[str] = []
    refuse_to_replace(monkeypatch, times)

    assert Store(tmp_path, report=told.append).put(A, b"a")
    assert told == []
    assert files_in(tmp_path) == [entry(tmp_path, A)]


def test_a_full_disk_is_not_waited_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What does not pass by itself is tried once."""
    tried: list[Path] = []

    def refuse(path: Path, *_: bytes) -> None:
        tried.append(path)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(store_module, "_write_new", refuse)

    assert not Store(tmp_path).put(A, b"a")
    assert len(tried) == 1


def test_a_folder_in_a_files_place_is_no_file(tmp_path: Path) -> None:
    """It is not there, whoever asks."""
    sha256 = hashlib.sha256(b"picture").hexdigest()
    file_entry(tmp_path, sha256).mkdir(parents=True)

    assert not Store(tmp_path).has_file(sha256)
    assert Store(tmp_path).get_file(sha256) is None


def test_a_folder_that_can_be_written_is_left_as_it_was(tmp_path: Path) -> None:
    """To try it makes the folder and leaves nothing in it that would be kept."""
    assert Store(tmp_path / "deep" / "cache").why_not_writable() is None
    assert files_in(tmp_path) == []


def test_why_a_folder_can_not_be_written_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the system's words; also where a file can be made but what it should hold has no room."""
    (tmp_path / "file").write_bytes(b"")
    assert Store(tmp_path / "file").why_not_writable()

    def write_half(path: Path, *parts: bytes) -> None:
        path.parent.mkdir(parents=True)
        path.touch()
        if any(parts):
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(store_module, "_write_new", write_half)

    assert Store(tmp_path / "full").why_not_writable() == "No space left on device"
    assert files_in(tmp_path) == [tmp_path / "file"]


def test_all_files_are_checked_at_once(tmp_path: Path) -> None:
    """Damaged ones are removed and told of, sound ones and results stay."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    sound, damaged = store.put_file(b"sound"), store.put_file(b"damaged")
    assert sound is not None
    assert damaged is not None
    store.put(A, b"result")
    store.path_of_file(damaged).write_bytes(b"damage")

    store.check_files()

    assert [store.has_file(sound), store.has_file(damaged), store.get(A)] == [True, False, b"result"]
    assert len(told) == 1
