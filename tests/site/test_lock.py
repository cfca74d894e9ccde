"""One publish at a time, and a holder that dies leaves no lock behind."""

import os
import signal
import threading
from pathlib import Path

import pytest

from basefog.site import lock as lock_module
from basefog.site.lock import hold_lock
from basefog.site.stops import TargetBusy
from site_workers import held_elsewhere


def test_a_lock_leaves_nothing_behind(tmp_path: Path) -> None:
    """Its file and the folder that it made are gone afterwards."""
    path = tmp_path / "room" / "lock"

    with hold_lock(path, wait_s=0, busy="busy"):
        assert path.exists()

    assert list(tmp_path.iterdir()) == []


def test_a_lock_leaves_what_else_is_in_its_folder(tmp_path: Path) -> None:
    """A folder that holds more than the lock stays."""
    (tmp_path / "room").mkdir()
    (tmp_path / "room" / "new").mkdir()

    with hold_lock(tmp_path / "room" / "lock", wait_s=0, busy="busy"):
        pass

    assert [path.name for path in (tmp_path / "room").iterdir()] == ["new"]


def test_a_held_lock_is_refused_then_waited_for(tmp_path: Path) -> None:
    """Without time to wait it is refused; with time, it is had as soon as the holder lets go."""
    path = tmp_path / "room" / "lock"
    had = threading.Event()

    def wait() -> None:
        with hold_lock(path, wait_s=30, busy="busy"):
            had.set()

    with hold_lock(path, wait_s=0, busy="busy"):
        with pytest.raises(TargetBusy, match="busy"), hold_lock(path, wait_s=0, busy="busy"):
            pass
        waiting = threading.Thread(target=wait)
        waiting.start()
        assert not had.wait(0.3)
    waiting.join(30)

    assert had.is_set()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a system with SIGKILL")
def test_a_killed_holder_leaves_no_lock(tmp_path: Path) -> None:
    """Its file stays, the system has let the lock go: the next one has it at once."""
    path = tmp_path / "room" / "lock"
    with held_elsewhere(path) as other:
        assert other.pid is not None
        os.kill(other.pid, signal.SIGKILL)
    left = path.exists()

    with hold_lock(path, wait_s=0, busy="busy"):
        pass

    assert left
    assert list(tmp_path.iterdir()) == []


def test_many_in_turn_never_meet(tmp_path: Path) -> None:
    """Threads that take the lock one after another, each removing its file, never hold it together."""
    path = tmp_path / "room" / "lock"
    inside: list[int] = []
    together: list[int] = []

    def work() -> None:
        for _ in range(15):
            with hold_lock(path, wait_s=30, busy="busy"):
                inside.append(1)
                together.append(len(inside))
                inside.pop()

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    assert len(together) == 60
    assert set(together) == {1}


def test_a_lock_on_a_file_that_lost_its_name_does_not_count(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the last holder removes the file between another's opening and locking it, that one asks again."""
    path = tmp_path / "room" / "lock"
    opened: list[int | None] = []
    open_once = lock_module._open

    def open_and_lose(place: Path) -> int | None:
        opened.append(open_once(place))
        if len(opened) == 1:
            place.unlink()
        return opened[-1]

    monkeypatch.setattr(lock_module, "_open", open_and_lose)

    with hold_lock(path, wait_s=30, busy="busy"):
        assert path.exists()

    assert len(opened) == 2
