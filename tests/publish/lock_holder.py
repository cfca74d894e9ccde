"""Another process that holds a lock.

A spawned process imports what it runs by the name of its module, from the same places as the process that started it.
Test files have no name there unless pytest is started as a module, so what such a process runs stands in a file of its
own.
"""

import multiprocessing
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

from basefog.publish.lock import hold_lock

LONG_S = 30.0
"""Longest that either process waits for the other."""


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
