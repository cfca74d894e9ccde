"""The pool: the same results in the same order for any number of workers, whatever goes wrong."""

import concurrent.futures
import os
import secrets
import signal
import subprocess
import sys
import threading
from collections.abc import Collection, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from multiprocessing.connection import Connection, Listener, wait
from pathlib import Path
from random import Random
from typing import Any, Self

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.site import pool as pool_module
from basefog.site.pool import Pool, Task, TaskFailed, WorkerLost, count_cores
from site_workers import (
    LONG_S,
    CarriedError,
    UncarriedError,
    die,
    double,
    fail,
    fail_uncarried,
    own_process,
    report_and_wait,
)

ROOMY = 10**9


def doubles(count: int) -> list[Task[int]]:
    return [Task(name=f"double {value}", call=double, arguments={"value": value}) for value in range(count)]


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_results_come_in_the_order_of_the_tasks(workers: int) -> None:
    """However many do it, more tasks than are ever taken ahead give the same row of results."""
    with Pool(workers=workers, memory_bytes=ROOMY) as pool:
        assert list(pool.run(doubles(100))) == [2 * value for value in range(100)]


def test_one_worker_is_this_process() -> None:
    """Nothing is started for it."""
    with Pool(workers=1, memory_bytes=ROOMY) as pool:
        assert list(pool.run([Task(name="who", call=own_process, arguments={"_": 0})])) == [os.getpid()]


def test_workers_serve_more_than_one_run() -> None:
    """They are started once, and are other processes than this."""
    with Pool(workers=2, memory_bytes=ROOMY) as pool:
        runs = [set(pool.run([Task(name="who", call=own_process, arguments={"_": 0})] * 20)) for _ in range(2)]

    assert os.getpid() not in runs[0] | runs[1]
    assert len(runs[0] | runs[1]) <= 2


def test_a_pool_without_tasks_starts_nothing() -> None:
    """No tasks, no results."""
    with Pool(workers=2, memory_bytes=ROOMY) as pool:
        assert list(pool.run([])) == []
        assert pool._executor is None


def test_tasks_are_taken_as_they_are_needed() -> None:
    """Of an endless row of tasks only a bounded number is taken ahead of the results that were asked for."""
    taken: list[int] = []

    def endless() -> Iterator[Task[int]]:
        while True:
            taken.append(len(taken))
            yield Task(name="double", call=double, arguments={"value": taken[-1]})

    with Pool(workers=2, memory_bytes=ROOMY) as pool:
        run = pool.run(endless())
        results = [next(run) for _ in range(5)]
        run.close()  # type: ignore[attr-defined] # it is a generator

    assert results == [0, 2, 4, 6, 8]
    assert len(taken) <= 5 + 32


def test_a_worker_imports_nothing_that_its_task_does_not() -> None:
    """No worker has drawn, solved or aligned anything before a task asks for it."""
    heavy = ("matplotlib", "scipy", "cv2", "PIL", "tifffile", "pydantic", "basefog.read", "basefog.measure")
    program = (
        "from basefog.site.pool import Pool, Task\n"
        "from site_workers import loaded\n"
        "if __name__ == '__main__':\n"
        "    with Pool(workers=2, memory_bytes=1) as pool:\n"
        f"        print(list(pool.run([Task(name='l', call=loaded, arguments={{'names': {heavy}}})])))\n"
    )

    told = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True, env=_environment()
    )

    assert told.stdout.strip() == "[()]"


# Errors.


@pytest.mark.parametrize("workers", [1, 2])
def test_the_first_error_in_order_is_raised_with_its_tasks_name(workers: int) -> None:
    """Results before it are had; the error is the task's own and says which it was."""
    tasks = [*doubles(3), Task(name="card of a", call=fail, arguments={"text": "no room"}), *doubles(3)]
    tasks.append(Task(name="card of b", call=fail, arguments={"text": "too late"}))
    had: list[int] = []

    with Pool(workers=workers, memory_bytes=ROOMY) as pool, pytest.raises(CarriedError, match="no room") as error:
        had.extend(pool.run(tasks))

    assert had == [0, 2, 4]
    assert error.value.__notes__[0] == "in the task: card of a"


def test_an_error_that_can_not_be_carried_is_told() -> None:
    """It comes as another that holds its text, names the task, and leaves the workers to go on."""
    task = Task(name="sketch", call=fail_uncarried, arguments={"first": "this", "second": "that"})
    with Pool(workers=2, memory_bytes=ROOMY) as pool:
        with pytest.raises(TaskFailed, match="UncarriedError: this and that") as error:
            list(pool.run([task]))

        assert list(pool.run(doubles(3))) == [0, 2, 4]
    assert error.value.__notes__[0] == "in the task: sketch"
    assert "site_workers.py" in error.value.__notes__[1]


def test_in_this_process_an_error_is_itself() -> None:
    """With one worker nothing needs to be carried."""
    task = Task(name="sketch", call=fail_uncarried, arguments={"first": "this", "second": "that"})

    with Pool(workers=1, memory_bytes=ROOMY) as pool, pytest.raises(UncarriedError) as error:
        list(pool.run([task]))

    assert error.value.__notes__ == ["in the task: sketch"]


def test_a_worker_that_dies_is_told_and_replaced() -> None:
    """What was under way is named, and the next run has workers."""
    with Pool(workers=2, memory_bytes=ROOMY) as pool:
        with pytest.raises(WorkerLost, match=r"under way were: .*the end"):
            list(pool.run([Task(name="the end", call=die)]))

        assert list(pool.run(doubles(3))) == [0, 2, 4]


def test_no_workers_are_refused() -> None:
    """At least one must be there."""
    with pytest.raises(ValueError, match="workers: expected at least 1"):
        Pool(workers=0, memory_bytes=ROOMY)


def test_cores_are_counted() -> None:
    """This process may use at least one."""
    assert 1 <= count_cores() <= (os.cpu_count() or 1)


# Memory.


class Gate:
    """Where tasks report that they have begun, and wait until they are let go; closed, it lets all go with an error.

    To be closed before the pool, which waits for its tasks.
    """

    def __init__(self) -> None:
        self.key = secrets.token_bytes(16)
        self._listener = Listener(("localhost", 0), family="AF_INET", backlog=16, authkey=self.key)
        self.address = self._listener.address
        self.waiting: dict[str, Connection] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        for line in self.waiting.values():
            line.close()
        self._listener.close()

    def task(self, name: str, peak_bytes: int) -> Task[str]:
        """Return a task that tells its name here."""
        arguments = {"address": self.address, "key": self.key, "name": name}
        return Task(name=name, call=report_and_wait, arguments=arguments, peak_bytes=peak_bytes)

    def next_begun(self) -> str:
        """Wait for the next task that begins; return its name."""
        # A listener can't be waited for but by its socket.
        socket = self._listener._listener._socket  # type: ignore[attr-defined]
        assert wait([socket], LONG_S), "no task has begun"
        line = self._listener.accept()
        name = str(line.recv()[0])
        self.waiting[name] = line
        return name

    def let_go(self, name: str) -> None:
        """Let a waiting task end."""
        with self.waiting.pop(name) as line:
            line.send(f"{name} done")


def _run_beside(pool: Pool, tasks: list[Task[str]]) -> tuple[threading.Thread, list[str]]:
    results: list[str] = []
    thread = threading.Thread(target=lambda: results.extend(pool.run(tasks)), daemon=True)
    thread.start()
    return thread, results


def test_a_small_task_goes_before_a_large_one_that_has_no_room() -> None:
    """With a large one under way there is room for small ones alone; the larger one begins when it is done."""
    with Pool(workers=2, memory_bytes=100) as pool, Gate() as gate:
        sizes = {"large": 70, "larger": 80, "small": 30, "tiny": 1}
        thread, results = _run_beside(pool, [gate.task(name, size) for name, size in sizes.items()])
        assert {gate.next_begun(), gate.next_begun()} == {"large", "small"}
        gate.let_go("small")
        assert gate.next_begun() == "tiny"
        gate.let_go("tiny")
        gate.let_go("large")
        assert gate.next_begun() == "larger"
        gate.let_go("larger")
        thread.join(LONG_S)

    assert results == ["large done", "larger done", "small done", "tiny done"]


@given(st.lists(st.integers(0, 150), max_size=60), st.integers(2, 4), st.randoms(use_true_random=False))
def test_tasks_under_way_keep_within_the_budget(peaks: list[int], workers: int, order: Random) -> None:
    """Whatever is done first, the tasks under way fit or are one alone, are few, and results come in their order."""
    under_way: dict[Future[Any], int] = {}
    names: dict[Future[Any], str] = {}
    tasks = [Task(name=str(place), call=double, peak_bytes=peak) for place, peak in enumerate(peaks)]

    def begin(task: Task[Any]) -> Future[Any]:
        assert not under_way or sum(under_way.values()) + task.peak_bytes <= 100
        future: Future[Any] = Future()
        under_way[future], names[future] = task.peak_bytes, task.name
        assert len(under_way) <= 2 * workers
        return future

    def end_one(futures: Collection[Future[Any]], **how: Any) -> Any:
        if futures:
            ended = order.choice(list(under_way))
            del under_way[ended]
            ended.set_result(pool_module._Outcome(result=names[ended]))
        return concurrent.futures.wait(futures, **how)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pool_module, "wait", end_one)
        found: list[Any] = list(pool_module._Run(begin, tasks, workers=workers, memory_bytes=100).results())

    assert found == [task.name for task in tasks]


# The end.


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}


_PARENT = """
from site_workers import run_pool_and_wait
if __name__ == "__main__":
    try:
        run_pool_and_wait({address!r}, {key!r})
    except BaseException as error:
        print(type(error).__name__)
"""


@contextmanager
def _parent_of_two(folder: Path, gate: Gate) -> Iterator["subprocess.Popen[str]"]:
    """Give a process whose two workers are in the middle of a task that has no end."""
    program = folder / "parent.py"
    program.write_text(_PARENT.format(address=gate.address, key=gate.key), encoding="utf-8")
    with subprocess.Popen(
        [sys.executable, str(program)],
        env=_environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        text=True,
    ) as parent:
        try:
            assert {gate.next_begun(), gate.next_begun()} == {"one", "two"}
            yield parent
        finally:
            parent.kill()


def _ends(line: Connection) -> bool:
    """Wait for the process at the other end to end."""
    assert line.poll(LONG_S), "the worker lives on"
    with pytest.raises((EOFError, ConnectionResetError)):
        line.recv()
    return True


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a system with SIGKILL")
def test_workers_end_when_their_parent_is_killed(tmp_path: Path) -> None:
    """A parent that had no time to say so takes its workers with it: their lines to this test break."""
    with Gate() as gate, _parent_of_two(tmp_path, gate) as parent:
        parent.send_signal(signal.SIGKILL)

        assert all(map(_ends, gate.waiting.values()))


@pytest.mark.skipif(os.name == "nt", reason="signals go another way on Windows")
def test_an_interrupted_run_ends_at_once_and_quietly(tmp_path: Path) -> None:
    """Where all are interrupted together, as from a terminal, a busy worker and an idle one end without a word."""
    with Gate() as gate, _parent_of_two(tmp_path, gate) as parent:
        gate.let_go("one")
        gate.let_go("two")
        assert gate.next_begun() == "three"
        os.killpg(parent.pid, signal.SIGINT)
        out, err = parent.communicate(timeout=LONG_S)

        assert all(map(_ends, gate.waiting.values()))
    assert out.strip() in {"KeyboardInterrupt", "WorkerLost"}
    assert err == ""
