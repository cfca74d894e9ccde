"""Runs many pure tasks on all cores: results in the order of the tasks, whatever is done first and by how many.

Processes are spawned, on every system alike, so that a worker starts with nothing but what its task imports. What goes
to a worker and comes back is copied: a task takes and returns plain values, bytes, and small records.
"""

import multiprocessing
import os
import pickle
import signal
import threading
import traceback
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from types import TracebackType
from typing import Any, Final, Generic, Self, TypeVar

R = TypeVar("R")

_MOST_WORKERS: Final = 61
"""More than these can't be waited for at once on Windows."""

_QUEUED_A_WORKER: Final = 2
_AHEAD_A_WORKER: Final = 16


@dataclass(frozen=True, kw_only=True, slots=True)
class Task(Generic[R]):
    """One piece of work: a module-level function called as `call(**arguments)`, which reads no global state.

    `name` says in an error which task it was. `peak_bytes` is the most memory that it is expected to need.
    """

    name: str
    call: Callable[..., R]
    arguments: Mapping[str, object] = field(default_factory=dict)
    peak_bytes: int = 0


class TaskFailed(Exception):  # noqa: N818 - named for what happened
    """A task ended in an error that can't be carried from one process to another; the text tells it."""


class WorkerLost(Exception):  # noqa: N818 - named for what happened
    """A worker ended in the middle of a task: it was killed, or the system ran out of memory."""


def count_cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Pool:
    """Workers that start when they are first needed and end with the `with` block, or when this process dies.

    One worker is this process itself. `memory_bytes` is what the tasks under way may need together; one that needs more
    runs alone. One run at a time.
    """

    def __init__(self, *, workers: int, memory_bytes: int) -> None:
        if workers < 1:
            raise ValueError("workers: expected at least 1")
        self._workers = min(workers, _MOST_WORKERS)
        self._memory_bytes = memory_bytes
        self._executor: ProcessPoolExecutor | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """End the workers, once each has done what it is at."""
        executor, self._executor = self._executor, None
        if executor is not None:
            executor.shutdown(wait=True, cancel_futures=True)

    def run(self, tasks: Iterable[Task[R]]) -> Iterator[R]:
        """Yield the result of every task, in their order. The tasks are taken as they are needed, some ahead.

        Raises the error of the first task in that order that failed, whatever failed before it in time, with a note
        that names the task; TaskFailed in its stead where it can't be carried over; WorkerLost where a worker died.
        """
        if self._workers == 1:
            for task in tasks:
                yield _do_here(task)
            return
        run = _Run(self._begin, tasks, workers=self._workers, memory_bytes=self._memory_bytes)
        try:
            yield from run.results()
        except WorkerLost:
            # One that is lost takes the others with it; the next run shall find workers.
            self.close()
            raise

    def _begin(self, task: Task[R]) -> "Future[_Outcome]":
        if self._executor is None:
            self._executor = ProcessPoolExecutor(
                self._workers, mp_context=multiprocessing.get_context("spawn"), initializer=_prepare_worker
            )
        return self._executor.submit(_do_there, task.call, task.arguments)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Outcome:
    """What a worker sends back: a result, or an error and where it came from."""

    result: Any = None
    error: Exception | None = None
    trace: str = ""


class _Run(Generic[R]):
    """One run of tasks: those taken and not begun, those under way, and what is done and not yet asked for."""

    def __init__(
        self,
        begin: Callable[[Task[R]], "Future[_Outcome]"],
        tasks: Iterable[Task[R]],
        *,
        workers: int,
        memory_bytes: int,
    ) -> None:
        self._begin = begin
        self._tasks = iter(tasks)
        self._most_begun = workers * _QUEUED_A_WORKER
        self._most_ahead = workers * _AHEAD_A_WORKER
        self._memory_bytes = memory_bytes
        self._waiting: dict[int, Task[R]] = {}
        self._begun: dict[Future[_Outcome], tuple[int, Task[R]]] = {}
        self._done: dict[int, tuple[Task[R], Future[_Outcome]]] = {}
        self._taken = 0

    def results(self) -> Iterator[R]:
        turn = 0
        try:
            while True:
                self._take_tasks(turn)
                self._begin_what_fits()
                if turn in self._done:
                    yield self._result_of(*self._done.pop(turn))
                    turn += 1
                elif self._begun:
                    self._await_any()
                else:
                    return
        finally:
            # What can't be cancelled any more is waited for, so that it takes no memory from who comes next.
            wait([future for future in self._begun if not future.cancel()])

    def _take_tasks(self, turn: int) -> None:
        while self._taken - turn < self._most_ahead:
            task = next(self._tasks, None)
            if task is None:
                return
            self._waiting[self._taken] = task
            self._taken += 1

    def _begin_what_fits(self) -> None:
        """Begin tasks in their order, but let a small one go before a large one that has no room yet."""
        free = self._memory_bytes - sum(task.peak_bytes for _, task in self._begun.values())
        for place, task in list(self._waiting.items()):
            if len(self._begun) >= self._most_begun:
                return
            if task.peak_bytes <= free or not self._begun:
                try:
                    future = self._begin(task)
                except BrokenProcessPool as error:
                    raise self._lost() from error
                del self._waiting[place]
                self._begun[future] = (place, task)
                free -= task.peak_bytes

    def _await_any(self) -> None:
        for future in wait(self._begun, return_when=FIRST_COMPLETED).done:
            place, task = self._begun.pop(future)
            self._done[place] = (task, future)

    def _result_of(self, task: Task[R], future: "Future[_Outcome]") -> R:
        try:
            outcome = future.result()
        except BrokenProcessPool as error:
            raise self._lost(task) from error
        if outcome.error is not None:
            raise _named(outcome.error, task.name, outcome.trace)
        result: R = outcome.result
        return result

    def _lost(self, *tasks: Task[R]) -> WorkerLost:
        names = sorted({task.name for task in tasks} | {task.name for _, task in self._begun.values()})
        return WorkerLost(f"a worker ended before its work was done; under way were: {', '.join(names)}")


def _named(error: Exception, name: str, trace: str = "") -> Exception:
    error.add_note(f"in the task: {name}")
    if trace:
        error.add_note(trace)
    return error


def _do_here(task: Task[R]) -> R:
    try:
        return task.call(**task.arguments)
    except Exception as error:
        _named(error, task.name)
        raise


# What follows runs in a worker.


def _prepare_worker() -> None:
    """See that the worker ends when it should: at once where the run is interrupted, or its parent has died."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    # The queue of tasks never ends by itself where the parent was killed: workers hold both its ends.
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _do_there(call: Callable[..., object], arguments: Mapping[str, object]) -> _Outcome:
    try:
        return _Outcome(result=call(**arguments))
    except Exception as error:  # noqa: BLE001 - whatever it is, it is raised where the result is asked for
        trace = "".join(traceback.format_exception(error))
        return _Outcome(error=_carried(error), trace=trace)


def _carried(error: Exception) -> Exception:
    """Return an error that survives the way to the parent; one that breaks there would take all workers with it."""
    try:
        pickle.loads(pickle.dumps(error))  # noqa: S301 - what was made in this line
    except Exception:  # noqa: BLE001 - a constructor may raise anything
        return TaskFailed(f"{type(error).__name__}: {error}")
    return error
