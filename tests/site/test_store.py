"""The store: what comes back is what was put, or nothing; whatever others do to the folder meanwhile."""

import hashlib
import os
import shutil
import stat
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

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


@given(st.dictionaries(st.text(), st.binary(max_size=50)))
def test_what_is_put_comes_back(files: dict[str, bytes]) -> None:
    """An entry gives back its files: names, bytes and their order."""
    found = store_module._unpack(A, store_module._pack(A, files))

    assert list(found.items()) == list(files.items())


def test_an_entry_is_had_by_its_key_alone(tmp_path: Path) -> None:
    """Another store of the same folder has it; another key has nothing; a blob is an entry of one file."""
    store = Store(tmp_path / "cache")

    assert store.put(A, {"view/a.png": b"a", "b": b""})
    assert store.put_blob(B, b"blob")

    assert Store(tmp_path / "cache").get(A) == {"view/a.png": b"a", "b": b""}
    assert store.get_blob(B) == b"blob"
    assert store.get(C) is None
    assert store.get_blob(A) is None


def test_a_later_put_replaces_an_earlier_one(tmp_path: Path) -> None:
    """The last one stands, and nothing lies beside it."""
    store = Store(tmp_path)
    store.put_blob(A, b"first")
    store.put_blob(A, b"second")

    assert store.get_blob(A) == b"second"
    assert files_in(tmp_path) == [entry(tmp_path, A)]


@pytest.mark.parametrize("wrong", ["", "../../etc", "A" * 64, "a" * 63, "a" * 65, f"{'a' * 62}/b"])
def test_only_a_digest_is_a_key(tmp_path: Path, wrong: str) -> None:
    """Nothing else can name a file, in the folder or out of it."""
    with pytest.raises(ValueError, match="is not a sha256"):
        Store(tmp_path).put_blob(wrong, b"")
    with pytest.raises(ValueError, match="is not a sha256"):
        Store(tmp_path).get(wrong)


# Damage.


def test_any_damage_is_noticed_told_and_removed(tmp_path: Path) -> None:
    """Whichever byte is another, and wherever it is cut, an entry is missing afterwards, and one line says so."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    store.put(A, {"a": b"content", "b": b"more"})
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
    assert store.get(A) == {"a": b"content", "b": b"more"}


def test_an_entry_in_anothers_place_is_noticed(tmp_path: Path) -> None:
    """A whole entry that was moved under another key is not taken for that one's."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    store.put_blob(A, b"a")
    entry(tmp_path, B).parent.mkdir(exist_ok=True)
    shutil.copy(entry(tmp_path, A), entry(tmp_path, B))

    assert store.get_blob(B) is None
    assert told == [
        f"{entry(tmp_path, B).name}: an entry of the cache is damaged (it is another entry's) and is made again"
    ]
    assert store.get_blob(A) == b"a"


def test_a_damaged_entry_is_made_again(tmp_path: Path) -> None:
    """After it was noticed it can be put and had as any."""
    store = Store(tmp_path)
    store.put_blob(A, b"a")
    entry(tmp_path, A).write_bytes(b"")

    assert store.get_blob(A) is None
    assert store.put_blob(A, b"a")
    assert store.get_blob(A) == b"a"


def test_the_folder_may_go_at_any_time(tmp_path: Path) -> None:
    """Deleted between any two calls, it is empty and not broken."""
    told: list[str] = []
    store = Store(tmp_path / "cache", report=told.append)
    for _ in range(2):
        assert store.get(A) is None
        assert store.trim() == 0
        assert store.put_blob(A, b"a")
        assert store.get_blob(A) == b"a"
        shutil.rmtree(tmp_path / "cache")

    assert told == []


def test_a_folder_deleted_under_a_writer_loses_that_entry_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where all is deleted between the writing of an entry and its being moved into place, it is told as not kept."""
    told: list[str] = []
    store = Store(tmp_path / "cache", report=told.append)
    write = store_module._write_new

    def write_and_lose(path: Path, data: bytes) -> None:
        write(path, data)
        shutil.rmtree(tmp_path / "cache")

    monkeypatch.setattr(store_module, "_write_new", write_and_lose)

    assert not store.put_blob(A, b"a")
    assert len(told) == 1
    assert "can't be kept" in told[0]


def test_an_interrupted_write_leaves_no_entry(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the disk is full half-way, there is no entry, nothing beside it, one line, and no error."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)

    def write_half(path: Path, data: bytes) -> None:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data[: len(data) // 2])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(store_module, "_write_new", write_half)

    assert not store.put_blob(A, b"a" * 100)
    assert told == [f"{entry(tmp_path, A).name}: an entry of the cache can't be kept: No space left on device"]
    assert files_in(tmp_path) == []


def test_a_place_that_is_taken_by_a_folder_is_no_error(tmp_path: Path) -> None:
    """A folder where an entry should be, or a file where a shelf should be, is told and passed by."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    entry(tmp_path, A).mkdir(parents=True)
    (tmp_path / B[:2]).write_bytes(b"")

    for taken in (A, B):
        assert store.get(taken) is None
        assert not store.put_blob(taken, b"a")
    assert len(told) == 4
    assert entry(tmp_path, A).is_dir()


def test_an_entry_that_is_being_read_elsewhere_counts_as_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows doesn't replace an open file: what is there under that key is the same."""
    told: list[str] = []
    store = Store(tmp_path, report=told.append)
    store.put_blob(A, b"a")

    def refuse(_: Path, target: Path) -> None:
        raise PermissionError(13, "Access is denied", str(target))

    monkeypatch.setattr(Path, "replace", refuse)

    assert store.put_blob(A, b"a")
    assert not store.put_blob(B, b"b")
    assert len(told) == 1
    assert files_in(tmp_path) == [entry(tmp_path, A)]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such bits")
def test_entries_are_as_open_as_the_user_wants(tmp_path: Path) -> None:
    """A cache that others share can be read by them: modes are those of any new file."""
    (tmp_path / "plain").write_bytes(b"")
    Store(tmp_path).put_blob(A, b"a")

    assert stat.S_IMODE(entry(tmp_path, A).stat().st_mode) == stat.S_IMODE((tmp_path / "plain").stat().st_mode)


# Several processes.


def test_processes_that_write_one_key_never_see_half_of_it(tmp_path: Path) -> None:
    """Two processes put and read one large entry again and again: each time, all of it is there."""
    blob = os.urandom(300_000)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as workers:
        whole = [workers.submit(put_many, str(tmp_path), A, blob, 60) for _ in range(2)]

        assert [one.result() for one in whole] == [60, 60]
    assert Store(tmp_path).get_blob(A) == blob
    assert files_in(tmp_path) == [entry(tmp_path, A)]


def test_eviction_in_one_process_breaks_no_reader_in_another(tmp_path: Path) -> None:
    """Three processes put, read and evict in too little room: what comes back is right or missing, without a word."""
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
    assert store.put_blob(of, b"x" * size)
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
        store.put_blob(one, b"x" * 300)
    size = sum(path.stat().st_size for path in files_in(tmp_path))

    assert Store(tmp_path, limit_bytes=size).trim() == size
    assert kept(tmp_path) == {A, B}


def test_a_run_that_writes_much_keeps_the_bound_by_itself(tmp_path: Path) -> None:
    """Without anyone calling for it, the entries never take more than the limit and a sixteenth."""
    store = Store(tmp_path, limit_bytes=64_000)
    most = 0
    for number in range(120):
        store.put_blob(key(str(number)), b"x" * 1000)
        most = max(most, sum(path.stat().st_size for path in files_in(tmp_path)))

    assert 48_000 < most <= 64_000 * 17 // 16 + 1200


def test_an_entry_larger_than_all_room_is_not_kept(tmp_path: Path) -> None:
    """It is not written at all, and what there is stays."""
    store = Store(tmp_path, limit_bytes=1000)
    store.put_blob(A, b"a")

    assert not store.put_blob(B, b"x" * 1000)
    assert kept(tmp_path) == {A}


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
    store.put_blob(A, b"a")
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
        f"{A[:2]}/deep/{A[2:]}.kept",
        "ab/face.new",
        "ab/face.kept",
        f"ab/{A}.kept",
    ]
    for name in others:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"x" * 1000)
        os.utime(tmp_path / name, (1, 1))
    Store(tmp_path).put_blob(A, b"a" * 500)

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
