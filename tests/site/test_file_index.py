"""The index of files' digests: it saves reading, and never says what a file does not hold."""

import hashlib
import json
import os
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from basefog.site import file_index as file_index_module
from basefog.site.digest import digest_of_file
from basefog.site.file_index import FileIndex

SECOND = 1_000_000_000
NOON = 1_800_000_000 * SECOND
LONG_AGO = NOON - 1000 * SECOND


class Disk:
    """A folder whose files' times are put by hand, with a count of the files that were read."""

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch) -> None:
        self.folder = folder
        self.read: list[str] = []
        self.now = NOON
        self.ctime: dict[str, int] = {}
        self.inode: int | None = None
        look = file_index_module._look

        def note(file: Path) -> str:
            self.read.append(file.name)
            return digest_of_file(file)

        def look_by_hand(file: str) -> object:
            # The system lets nobody set the time of change; here it is that of writing, where none was put.
            seen = look(file)
            return file_index_module._Looks(
                size=seen.size,
                mtime_ns=seen.mtime_ns,
                ctime_ns=self.ctime.get(Path(file).name, seen.mtime_ns),
                inode=seen.inode if self.inode is None else self.inode,
            )

        patch.setattr(file_index_module, "digest_of_file", note)
        patch.setattr(file_index_module, "_look", look_by_hand)

    def write(self, name: str, text: str, *, at: int) -> Path:
        """Write a file in its place, as an editor that keeps the file number does."""
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        os.utime(path, ns=(at, at))
        return path

    def index(self, *, afresh: bool = False) -> FileIndex:
        """Load the index of this disk."""
        return FileIndex.load(self.folder / "index" / "files.json", afresh=afresh, clock_ns=lambda: self.now)

    def ask(self, path: Path) -> str:
        """Ask as one run does: load, ask, save."""
        index = self.index()
        found = index.digest(path)
        assert index.save()
        return found


@pytest.fixture
def disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Disk:
    return Disk(tmp_path, monkeypatch)


def sha(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def test_a_file_is_read_once(disk: Disk) -> None:
    """Asked again, by the same run or the next, a file that looks as it did is not read."""
    path = disk.write("a", "one", at=LONG_AGO)
    index = disk.index()

    assert [index.digest(path), index.digest(path)] == [sha("one")] * 2
    index.save()
    assert disk.ask(path) == sha("one")
    assert disk.read == ["a"]


@pytest.mark.parametrize("text", ["longer", "two"])
def test_a_changed_file_is_read_again(disk: Disk, text: str) -> None:
    """Another size, or the same size at another time, and the digest is asked of the file."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    disk.write("a", text, at=LONG_AGO + 1)

    assert disk.ask(path) == sha(text)


def test_a_time_that_was_put_back_does_not_hide_a_change(disk: Disk) -> None:
    """A program that keeps the time of writing, as copying does, still changes the time of change."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ctime["a"] = LONG_AGO
    disk.ask(path)
    disk.write("a", "two", at=LONG_AGO)
    disk.ctime["a"] = LONG_AGO + 5

    assert disk.ask(path) == sha("two")


def test_a_file_put_in_anothers_place_is_read(disk: Disk) -> None:
    """One of the same size and times is told by its number."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    disk.write("b", "two", at=LONG_AGO).replace(path)

    assert disk.ask(path) == sha("two")


def test_without_file_numbers_size_and_times_decide(disk: Disk) -> None:
    """Where every number is 0, what looks alike is not read, and what does not is."""
    disk.inode = 0
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    disk.ask(path)
    disk.write("a", "two", at=LONG_AGO + 1)

    assert disk.ask(path) == sha("two")
    assert disk.read == ["a", "a"]


@pytest.mark.parametrize(
    ("written", "times_read"),
    [(NOON, 2), (NOON - 2 * SECOND, 2), (NOON - 2 * SECOND - 1, 1), (NOON + 500 * SECOND, 2)],
)
def test_times_too_near_to_the_look_are_not_believed(disk: Disk, written: int, times_read: int) -> None:
    """A file written within two seconds of the look, or after it by its own clock, is read again by the next run."""
    path = disk.write("a", "one", at=written)
    disk.ask(path)
    disk.now += 1000 * SECOND
    disk.ask(path)

    assert disk.read == ["a"] * times_read


def test_a_change_within_one_tick_is_found(disk: Disk) -> None:
    """A file changed just after it was read, of the same size, within the same tick of its clock, is found changed."""
    path = disk.write("a", "one", at=NOON - SECOND)
    disk.ask(path)
    disk.write("a", "two", at=NOON - SECOND)
    disk.now += 1000 * SECOND

    assert disk.ask(path) == sha("two")


def test_a_young_file_is_believed_once_it_was_seen_to_be_old(disk: Disk) -> None:
    """The run after the one that was too near reads it once more, and then none does."""
    path = disk.write("a", "one", at=NOON)
    for _ in range(4):
        disk.ask(path)
        disk.now += 10 * SECOND

    assert disk.read == ["a", "a"]


def test_a_young_time_of_change_is_not_believed_either(disk: Disk) -> None:
    """An old file that was just put here has an old time of writing and a young one of change."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ctime["a"] = NOON
    disk.ask(path)
    disk.ask(path)

    assert disk.read == ["a", "a"]


def test_after_the_clock_was_set_back_earlier_looks_are_not_believed(disk: Disk) -> None:
    """A file changed when the clock showed the old time once more looks as it did, and is read all the same."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    disk.now = LONG_AGO
    disk.write("a", "two", at=LONG_AGO)

    assert disk.ask(path) == sha("two")


def test_a_file_that_changes_while_it_is_read_is_not_noted(disk: Disk, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was read last is told, and the next run reads again."""
    path = disk.write("a", "0", at=LONG_AGO)
    read: Callable[[Path], str] = vars(file_index_module)["digest_of_file"]

    def read_and_change(file: Path) -> str:
        found = read(file)
        disk.write("a", "x" * len(disk.read), at=LONG_AGO + len(disk.read))
        return found

    with monkeypatch.context() as patch:
        patch.setattr(file_index_module, "digest_of_file", read_and_change)
        assert disk.ask(path) == sha("x" * (len(disk.read) - 1))
    reads = len(disk.read)

    assert disk.ask(path) == sha(path.read_text(encoding="utf-8"))
    assert len(disk.read) == reads + 1


def test_afresh_reads_all(disk: Disk) -> None:
    """Nothing of the index is believed, and what is found is noted anew."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    index = disk.index(afresh=True)
    index.digest(path)
    index.save()
    disk.ask(path)

    assert disk.read == ["a", "a"]


def test_a_missing_file_is_the_systems_error(disk: Disk) -> None:
    """Whether it was ever known or not."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    path.unlink()

    with pytest.raises(FileNotFoundError):
        disk.ask(path)


def test_a_file_is_known_by_every_way_to_it(disk: Disk, monkeypatch: pytest.MonkeyPatch) -> None:
    """A path from the current folder and one from the root are one file."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    monkeypatch.chdir(disk.folder)
    disk.ask(Path("a"))

    assert disk.read == ["a"]


# The index itself.


def test_damage_anywhere_makes_an_index_empty(disk: Disk) -> None:
    """Whichever byte is another and wherever it is cut, nothing wrong is told: the file is read."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    place = disk.folder / "index" / "files.json"
    sound = place.read_bytes()
    damaged = [sound[:at] + bytes([sound[at] ^ 1]) + sound[at + 1 :] for at in range(len(sound) - 1)]
    cut = [sound[:size] for size in range(len(sound) - 1)]

    for data in [*damaged, *cut]:
        place.write_bytes(data)
        reads = len(disk.read)
        assert disk.index().digest(path) == sha("one")
        assert len(disk.read) == reads + 1, data


@pytest.mark.parametrize(
    "files",
    [
        {"row": [1, 2, 3, 4, 5]},
        {"row": [1, 2, 3, 4, 5, "x"]},
        {"row": [1, 2, 3, 4, "5", "a" * 64]},
        {"row": [1, 2, 3, 4, 5.0, "a" * 64]},
        {"row": None},
        [1],
        None,
    ],
)
def test_rows_that_are_none_make_an_index_empty(disk: Disk, files: object) -> None:
    """An index whose own digest is right and whose rows are not is an empty one."""
    place = disk.folder / "files.json"
    text = json.dumps(files, separators=(",", ":"))
    place.write_text(json.dumps({"format": 1, "sha256": sha(text), "files": files}), encoding="utf-8")

    assert file_index_module._read(place) == {}


def test_an_index_of_another_format_is_an_empty_one(disk: Disk) -> None:
    """A later version of the program may mean something else by it."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    place = disk.folder / "index" / "files.json"
    place.write_bytes(place.read_bytes().replace(b'"format":1', b'"format":2'))
    disk.ask(path)

    assert disk.read == ["a", "a"]


def test_an_index_is_json_with_its_format(disk: Disk) -> None:
    """It can be read by anyone, and says what it is."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)

    content = json.loads((disk.folder / "index" / "files.json").read_text(encoding="utf-8"))

    assert content["format"] == 1
    assert [row[-1] for row in content["files"].values()] == [sha("one")]


def test_files_that_are_gone_are_forgotten(disk: Disk) -> None:
    """They are left out when the index is next written; those that are there, asked for by this run or not, stay."""
    gone, stays, new = (disk.write(name, name, at=LONG_AGO) for name in ("gone", "stays", "new"))
    disk.ask(gone)
    disk.ask(stays)
    gone.unlink()
    disk.ask(new)
    content = json.loads((disk.folder / "index" / "files.json").read_text(encoding="utf-8"))

    assert [Path(key).name for key in content["files"]] == ["new", "stays"]


def test_an_index_without_news_is_not_written(disk: Disk) -> None:
    """A run that read nothing writes nothing."""
    path = disk.write("a", "one", at=LONG_AGO)
    disk.ask(path)
    place = disk.folder / "index" / "files.json"
    os.utime(place, ns=(1, 1))
    disk.ask(path)

    assert place.stat().st_mtime_ns == 1


def test_an_index_that_can_not_be_written_is_no_fault(disk: Disk) -> None:
    """A file where its folder should be: all is read again the next time."""
    path = disk.write("a", "one", at=LONG_AGO)
    (disk.folder / "index").write_bytes(b"")
    index = disk.index()

    assert index.digest(path) == sha("one")
    assert not index.save()


def test_what_is_looked_at_is_what_the_system_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Size, both times and the file's number are those of the file, links followed."""
    status = SimpleNamespace(st_size=1, st_mtime_ns=2, st_ctime_ns=3, st_ino=4)
    monkeypatch.setattr(os, "stat", lambda _: status)

    looks = file_index_module._look(str(tmp_path / "a"))
    monkeypatch.undo()

    assert (looks.size, looks.mtime_ns, looks.ctime_ns, looks.inode) == (1, 2, 3, 4)
