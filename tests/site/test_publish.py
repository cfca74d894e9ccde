"""A publish replaces the site whole or not at all."""

import errno
import os
import sys
import threading
from pathlib import Path

import pytest

from basefog.site import swap as swap_module
from basefog.site.job import Job
from basefog.site.marker import MARKER_NAME, read_marker
from basefog.site.publish import PublishReport, publish_site, room_of
from basefog.site.stops import FaultySite, PublishError, TargetBusy, UnsafeTarget
from basefog.site.swap import exchange_folders
from site_workers import held_elsewhere
from small_sites import plan, read_tree, small_site


@pytest.fixture
def series(tmp_path: Path) -> Path:
    (tmp_path / "content").mkdir()
    return tmp_path / "content"


def publish(words: str, target: Path, series: Path) -> PublishReport:
    return publish_site(plan(small_site(words)), target, series_folder=series)


def encoded(files: dict[str, str]) -> dict[str, bytes]:
    return {name: text.encode() for name, text in files.items()}


@pytest.fixture(params=["exchange", "renames"])
def swap_way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Publish with the system's exchange, then as where there is none."""
    if request.param == "renames":
        monkeypatch.setattr(swap_module, "exchange_folders", lambda *_: False)
    return str(request.param)


def test_a_site_is_made_replaced_and_replaced_again(tmp_path: Path, series: Path, swap_way: str) -> None:
    """Each publish leaves its own files and nothing else, nor anything beside the target."""
    target = tmp_path / "deep" / "site"

    first = publish("one", target, series)
    second = publish_site(plan(small_site("two") | {"new.html": "x"}), target, series_folder=series)
    third = publish("two", target, series)

    everything = tuple(sorted(small_site("")))
    assert (first.files, first.added, first.changed, first.removed) == (3, everything, (), ())
    assert (second.added, second.changed, second.removed) == (("new.html",), everything, ())
    assert (third.added, third.changed, third.removed) == ((), (), ("new.html",))
    assert read_tree(target) == encoded(small_site("two"))
    assert sorted(path.name for path in target.parent.iterdir()) == ["site"]
    assert swap_way in {"exchange", "renames"}


def test_a_marker_lists_what_was_written(tmp_path: Path, series: Path) -> None:
    """By path, with digests; the same site gives the same marker in another folder."""
    publish("one", tmp_path / "a", series)
    publish("two", tmp_path / "b", series)
    publish("one", tmp_path / "b", series)

    marker = read_marker(tmp_path / "a")
    assert marker is not None
    assert list(marker.files) == sorted(small_site(""))
    assert (tmp_path / "a" / MARKER_NAME).read_bytes() == (tmp_path / "b" / MARKER_NAME).read_bytes()


def test_files_of_ones_own_are_kept_and_told(tmp_path: Path, series: Path, swap_way: str) -> None:
    """They are there after the next publish, with their content and their age."""
    target = tmp_path / "site"
    publish("one", target, series)
    (target / ".git").mkdir()
    (target / ".git" / "HEAD").write_text("ref")
    (target / "stocks" / "mine.txt").write_text("mine")
    os.utime(target / "stocks" / "mine.txt", (10**9, 10**9))

    report = publish("two", target, series)

    assert report.kept == (".git/", "stocks/mine.txt"), swap_way
    assert (target / ".git" / "HEAD").read_text() == "ref"
    assert (target / "stocks" / "mine.txt").stat().st_mtime == 10**9
    assert (target / "stocks" / "a.png").read_text() == "two"
    assert publish("two", target, series).kept == report.kept


def test_a_faulty_site_changes_nothing(tmp_path: Path, series: Path) -> None:
    """Every fault is told at once, and the old site stands, with nothing left beside it."""
    target = tmp_path / "site"
    publish("one", target, series)

    with pytest.raises(FaultySite) as stop:
        publish_site(plan({"a.html": "<a href=b.html>\n<a href=#c>"}), target, series_folder=series)

    assert stop.value.lines == (
        "a.html:1: b.html: there is no b.html in the site",
        "a.html:2: #c: there is no anchor c in a.html",
    )
    assert read_tree(target) == encoded(small_site("one"))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["content", "site"]


def test_two_jobs_for_one_file_change_nothing(tmp_path: Path, series: Path) -> None:
    """Nothing is even begun."""
    with pytest.raises(FaultySite, match="is to be made twice"):
        publish_site([*plan({"a.html": "x"}), *plan({"a.html": "y"})], tmp_path / "site", series_folder=series)

    assert sorted(path.name for path in tmp_path.iterdir()) == ["content"]


def test_an_unsafe_target_changes_nothing(tmp_path: Path, series: Path) -> None:
    """Nor is anything left beside it."""
    (series / "notes.md").write_text("x")

    for target in (series, series / "site", tmp_path):
        with pytest.raises(UnsafeTarget):
            publish("one", target, series)

    assert read_tree(tmp_path) == {"content/notes.md": b"x"}


def test_a_kept_file_in_the_way_changes_nothing(tmp_path: Path, series: Path) -> None:
    """The old site stands with the file that was put into it."""
    target = tmp_path / "site"
    publish_site(plan({"index.html": "old"}), target, series_folder=series)
    (target / "stocks").write_text("mine")

    with pytest.raises(UnsafeTarget, match="stands where the site has a file; move it away"):
        publish("new", target, series)

    assert read_tree(target) == {"index.html": b"old", "stocks": b"mine"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["content", "site"]


def test_the_folder_keeps_its_permissions(tmp_path: Path, series: Path) -> None:
    """A site that a web server may read stays readable; a new one is as any new folder."""
    target, usual = tmp_path / "site", tmp_path / "usual"
    usual.mkdir()
    publish("one", target, series)

    assert target.stat().st_mode == usual.stat().st_mode

    target.chmod(0o711)
    publish("two", target, series)

    assert target.stat().st_mode & 0o777 == 0o711


def test_a_second_publish_ends_with_one_line(tmp_path: Path, series: Path) -> None:
    """While another process holds the lock, nothing is changed; once it is gone, the next publish works."""
    target = tmp_path / "site"
    publish("one", target, series)
    with held_elsewhere(room_of(target).lock), pytest.raises(TargetBusy) as stop:
        publish_site(plan(small_site("two")), target, series_folder=series, wait_s=0.2)

    assert stop.value.lines == (f"{target}: another publish is writing it; try again later",)
    assert read_tree(target) == encoded(small_site("one"))
    assert publish("two", target, series).files == 3


def test_an_interrupted_publish_changes_nothing(tmp_path: Path, series: Path) -> None:
    """Ctrl-C while files are being made leaves the old site and nothing beside it."""
    target = tmp_path / "site"
    publish("one", target, series)
    stopped = Job(outputs=("x.html",), make=interrupt, inputs={})

    with pytest.raises(KeyboardInterrupt):
        publish_site([*plan(small_site("two")), stopped], target, series_folder=series)

    assert read_tree(target) == encoded(small_site("one"))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["content", "site"]


def interrupt() -> dict[str, bytes]:
    raise KeyboardInterrupt


def test_publishes_at_once_come_one_after_another(tmp_path: Path, series: Path) -> None:
    """Each waits its turn; the last one's site stands whole, and every one found the site of the one before it."""
    target = tmp_path / "site"
    reports: list[PublishReport] = []
    threads = [
        threading.Thread(target=lambda words=words: reports.append(publish(words, target, series)))
        for words in ("one", "two", "three", "four")
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    assert sorted(len(report.changed) for report in reports) == [0, 3, 3, 3]
    assert read_tree(target) in [encoded(small_site(words)) for words in ("one", "two", "three", "four")]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["content", "site"]


@pytest.mark.skipif(sys.platform == "win32", reason="locks are another module's there")
def test_a_system_without_locks_is_told_as_such(tmp_path: Path, series: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is not taken for another publish that never ends."""
    import fcntl

    def refuse(*_: int) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(fcntl, "flock", refuse)

    with pytest.raises(PublishError, match="No locks available; nothing was published"):
        publish("one", tmp_path / "site", series)


def test_a_full_disk_is_told_in_a_line(tmp_path: Path, series: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An error of the system names the file and leaves the old site."""
    target = tmp_path / "site"
    publish("one", target, series)

    def refuse(self: Path, _: bytes) -> int:
        raise OSError(28, "No space left on device", str(self))

    with monkeypatch.context() as patched:
        patched.setattr(Path, "write_bytes", refuse)
        with pytest.raises(PublishError, match="No space left on device; nothing was published"):
            publish("two", target, series)

    assert read_tree(target) == encoded(small_site("one"))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["content", "site"]


def test_a_refused_rename_puts_the_old_site_back(tmp_path: Path, series: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the second of the two renames fails, the first is undone."""
    target = tmp_path / "site"
    publish("one", target, series)
    rename = Path.rename

    def refuse(self: Path, place: Path) -> Path:
        if self.name == "new":
            raise PermissionError(13, "Permission denied", str(self))
        return rename(self, place)

    with monkeypatch.context() as patched:
        patched.setattr(swap_module, "exchange_folders", lambda *_: False)
        patched.setattr(Path, "rename", refuse)
        with pytest.raises(PublishError, match="Permission denied"):
            publish("two", target, series)

    assert read_tree(target) == encoded(small_site("one"))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["content", "site"]


def test_this_system_exchanges_folders_in_one_act(tmp_path: Path) -> None:
    """On Linux both folders stand under each other's name afterwards; elsewhere nothing has changed."""
    one, other = tmp_path / "one", tmp_path / "other"
    for folder in (one, other):
        folder.mkdir()
        (folder / "name").write_text(folder.name)

    done = exchange_folders(one, other)

    names = ((one / "name").read_text(), (other / "name").read_text())
    assert names == (("other", "one") if done else ("one", "other"))
    assert exchange_folders(one, tmp_path / "missing") is False
