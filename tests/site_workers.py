"""What other processes do in the tests of `site/`.

A spawned process imports what it runs by the name of its module. The folder of those tests is called as a module of
Python's own, so this stands beside it.
"""

import hashlib
import multiprocessing
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from multiprocessing.connection import Client, Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

from basefog.site.job import InputPath
from basefog.site.lock import hold_lock
from basefog.site.pool import Pool, Task
from basefog.site.steps import WithFiles
from basefog.site.stops import FaultySite, PublishError
from basefog.site.store import Store

LONG_S = 60.0
"""Longest that any process waits for another."""


def double(value: int) -> int:
    return 2 * value


def own_process(_: int) -> int:
    return os.getpid()


def loaded(names: tuple[str, ...]) -> tuple[str, ...]:
    """Return which of these modules this process has imported."""
    return tuple(name for name in names if name in sys.modules)


class CarriedError(Exception):
    """An error that goes from one process to another by itself."""


class UncarriedError(Exception):
    """An error whose constructor wants more than its text, so that it can't be put together again elsewhere."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__(f"{first} and {second}")


def fail(text: str) -> int:
    raise CarriedError(text)


def fail_uncarried(first: str, second: str) -> int:
    raise UncarriedError(first, second)


def die() -> int:
    os._exit(3)


def report_and_wait(address: str, key: bytes, name: str) -> str:
    """Tell the test that this task has begun, and end when it is told to, or when the test is gone."""
    with Client(address, authkey=key) as line:
        line.send((name, os.getpid()))
        return str(line.recv())


def run_pool_and_wait(address: str, key: bytes) -> None:
    """Be a parent of two workers, that have two tasks first, and then one."""
    with Pool(workers=2, memory_bytes=1) as pool:
        for names in (("one", "two"), ("three",)):
            arguments = {"address": address, "key": key}
            list(pool.run([Task(name=n, call=report_and_wait, arguments={**arguments, "name": n}) for n in names]))


def put_many(folder: str, key: str, blob: bytes, times: int) -> int:
    """Put one result and one file again and again, and read them between: return how often both were whole."""
    store = Store(Path(folder))
    whole = 0
    for _ in range(times):
        store.put(key, blob)
        sha256 = store.put_file(blob)
        whole += sha256 is not None and store.get(key) == blob == store.get_file(sha256)
    return whole


def put_and_read_in_little_room(folder: str, keys: tuple[str, ...], size: int, limit_bytes: int) -> tuple[str, ...]:
    """Put, read and trim away; return what was told and what came back wrong."""
    told: list[str] = []
    store = Store(Path(folder), limit_bytes=limit_bytes, report=told.append)
    for key in keys * 3:
        blob = key.encode() * (size // len(key))
        found = store.get(key)
        if found is None:
            store.put(key, blob)
        elif found != blob:
            told.append(f"{key}: came back as something else")
        store.trim()
    return tuple(told)


@contextmanager
def held_elsewhere(path: Path) -> Iterator[BaseProcess]:
    """Give a process that holds the lock at `path`, until it is killed or the block ends."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    other = context.Process(target=_hold, args=(path, there))
    other.start()
    # With the only other end in the holder, one that dies is heard of at once.
    there.close()
    with here:
        assert here.poll(LONG_S), "the holder never had the lock"
        assert here.recv() == "held"
        yield other
    other.join(LONG_S)


def _hold(path: Path, starter: Connection) -> None:
    with hold_lock(path, wait_s=5, busy="busy"):
        starter.send("held")
        starter.poll(LONG_S)


# Steps.


@dataclass(frozen=True, kw_only=True, slots=True)
class Doubled:
    """What a step makes of a number."""

    value: int
    files: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Halved:
    """A result of another layout."""

    half: float


def count_and_double(value: int, diary: InputPath) -> Doubled:
    """Double a number and note in the diary, whose place is no input, that it was done, and by whom."""
    with Path(diary.path).open("a", encoding="utf-8") as file:
        file.write(f"{value} {os.getpid()}\n")
    return Doubled(value=2 * value)


def count_and_halve(value: int, diary: InputPath) -> Halved:
    count_and_double(value, diary)
    return Halved(half=value / 2)


def double_unless_zero(value: int, diary: InputPath) -> Doubled:
    """Stop at 0, as a pure step may for an input that is faulty."""
    doubled = count_and_double(value, diary)
    if value == 0:
        raise CarriedError("nothing to double")
    return doubled


def draw(value: int, diary: InputPath) -> WithFiles[Doubled]:
    """Make two files of a number, and speak of them by their digests."""
    files = tuple(f"{value} {name}".encode() for name in ("sketch", "card"))
    doubled = count_and_double(value, diary)
    names = tuple(hashlib.sha256(data).hexdigest() for data in files)
    return WithFiles(result=replace(doubled, files=names), files=files)


def make_nothing(value: int, diary: InputPath) -> Doubled | None:
    count_and_double(value, diary)
    return None


def make_other(value: int, diary: InputPath) -> Doubled:
    """Give back something else than its hint says."""
    count_and_double(value, diary)
    return "text"  # type: ignore[return-value] # that is the fault


def stop(kind: type[PublishError], lines: tuple[str, ...]) -> int:
    raise kind(lines) if kind is FaultySite else kind(*lines)
