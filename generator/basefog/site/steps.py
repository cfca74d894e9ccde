"""Steps of work, each done once: what was made of the same inputs by the same code is kept, the rest made on all cores.

A step is a pure function of named inputs. Its key is the digest of them, of the function's name, and of the code and
libraries that it runs in, so that no result is ever out of date; the store may be deleted, damaged or shared at will.
"""

from collections import OrderedDict, deque
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from itertools import chain, islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final, Generic, TypeAlias, TypeVar

from basefog.site.digest import digest_of
from basefog.site.pool import Pool, Task, count_cores
from basefog.site.stops import NoRoom
from basefog.site.store import Report, Store

R = TypeVar("R")

MEMORY_BYTES: Final = 300_000_000
"""What the steps under way may need together, beside the processes themselves."""

_FEW: Final = 3
"""So many are done here before another process is started, which takes as long as they do."""

_AHEAD: Final = 256
"""So many results at most wait behind one that is being made."""

_REMEMBERED: Final = 64
_ELSEWHERE: Final = "set BASEFOG_CACHE to a folder that can be, and has room"


@dataclass(frozen=True, kw_only=True, slots=True)
class WithFiles(Generic[R]):
    """What a step made: its result, and files that are kept each by itself, by their sha256."""

    result: R
    files: tuple[bytes, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Step(Generic[R]):
    """One piece of work: a module-level function called as `call(**inputs)`, and how its result is kept.

    `inputs` have a digest each (`digest_of`). `result` is the hint of what comes out, which `encode` can keep. `code`
    is the digest of the code and libraries that make it (`digest_of_code`). `name` says in an error which step it was;
    `peak_bytes` is the most memory that it is expected to need.
    """

    name: str
    call: Callable[..., R | WithFiles[R]]
    inputs: Mapping[str, object]
    result: Any
    code: str
    peak_bytes: int = 0


@dataclass(kw_only=True, slots=True)
class _Digests:
    """Digests of whole inputs by identity: a theme or a reference goes into every page."""

    known: OrderedDict[int, tuple[object, str]] = field(default_factory=OrderedDict)

    def of(self, value: object) -> str:
        """Return the digest of a value, which nobody may change."""
        place = id(value)
        if place in self.known:
            self.known.move_to_end(place)
            return self.known[place][1]
        digest = digest_of(value)
        # The value is held, so that no other can come to stand at its place.
        self.known[place] = (value, digest)
        if len(self.known) > _REMEMBERED:
            self.known.popitem(last=False)
        return digest


# A step, and what was found of it: a tuple of one, since a result may be None.
_Turns: TypeAlias = deque[tuple[Step[R], tuple[R] | None]]


class Steps:
    """Does steps by a store and a pool. The store has the files that steps made, too, by their sha256.

    `has_done_any` says whether anything was missing up to now.
    """

    def __init__(self, store: Store, pool: Pool) -> None:
        self.store = store
        self._pool = pool
        self._digests = _Digests()
        self.has_done_any = False

    def key_of(self, step: Step[R]) -> str:
        """Return what a step's result is kept under. Raises DigestError where an input has none."""
        inputs = tuple((name, self._digests.of(value)) for name, value in sorted(step.inputs.items()))
        return digest_of(("step 1", step.call, step.code, inputs))

    def run(self, steps: Iterable[Step[R]], *, files_of: Callable[[R], Iterable[str]] = lambda _: ()) -> Iterator[R]:
        """Yield the result of every step, in their order; those that are missing are made on all cores.

        Steps are taken as they are needed, some ahead of the results that were asked for. `files_of` names the files
        that a result speaks of; where the store has lost one, the step is done again.
        Raises what the step raised, with a note that names it; NoRoom where files can't be kept; WorkerLost.
        """
        turns: _Turns[R] = deque()
        rest = iter(steps)
        for first in rest:
            with closing(self._do(self._missing(chain((first,), rest), turns, files_of))) as done:
                for made in done:
                    for line in made.told:
                        self.store.report(line)
                    yield _decode(turns.popleft()[0], made.kept)
                    yield from _found_next(turns)
            yield from _found_next(turns)

    def _missing(
        self, steps: Iterable[Step[R]], turns: _Turns[R], files_of: Callable[[R], Iterable[str]]
    ) -> Iterator[Task["_Made"]]:
        """Look steps up, note their turns, and yield the tasks of those that are missing.

        Ends early where no step is waited for, or so many were found behind one that they would take much memory.
        """
        for step in steps:
            key = self.key_of(step)
            found = self._find(step, key)
            if found is not None and not all(map(self.store.has_file, files_of(*found))):
                found = None
            turns.append((step, found))
            if found is None:
                self.has_done_any = True
                yield self._task_of(step, key)
            elif turns[0][1] is not None or len(turns) > _AHEAD:
                return

    def _do(self, tasks: Iterator[Task["_Made"]]) -> Generator["_Made", None, None]:
        few = list(islice(tasks, _FEW + 1))
        if len(few) > _FEW:
            yield from self._pool.run(chain(few, tasks))
            return
        with Pool(workers=1, memory_bytes=MEMORY_BYTES) as here:
            yield from here.run(few)

    def _find(self, step: Step[R], key: str) -> tuple[R] | None:
        data = self.store.get(key)
        if data is None:
            return None
        from basefog.site.codec import CodecError

        try:
            return (_decode(step, data),)
        except CodecError:
            return None

    def _task_of(self, step: Step[R], key: str) -> Task["_Made"]:
        arguments = {
            "folder": str(self.store.folder),
            "key": key,
            "call": step.call,
            "inputs": dict(step.inputs),
            "result": step.result,
        }
        return Task(name=step.name, call=_do_step, arguments=arguments, peak_bytes=step.peak_bytes)


@contextmanager
def open_steps(
    folder: Path | None, *, processes: int | None = None, report: Report = lambda _: None
) -> Iterator[Steps]:
    """Give steps that are kept in a folder, and trim it at the end, however that comes about.

    Where the folder can't be written, or None is given, a temporary one serves. `processes`: how many work at once, as
    many as there are cores where it is None. `report` is told in a line of what was damaged or could not be kept, and
    of a folder that can't be written. Raises NoRoom where not even a temporary folder can be.
    """
    with _open_store(folder, report) as store:
        pool = Pool(workers=processes or count_cores(), memory_bytes=MEMORY_BYTES)
        steps = Steps(store, pool)
        try:
            with pool:
                yield steps
        finally:
            # To look at all that is kept takes longer than a run that has nothing to do.
            if steps.has_done_any:
                store.trim()


@contextmanager
def _open_store(folder: Path | None, report: Report) -> Iterator[Store]:
    if folder is not None:
        store = Store(folder, report=report)
        why = store.why_not_writable()
        if why is None:
            yield store
            return
        report(f"the cache {folder} can't be written ({why}): nothing is kept for the next time; {_ELSEWHERE}")
    try:
        scratch = TemporaryDirectory(prefix="basefog-", ignore_cleanup_errors=True)
    except OSError as error:
        raise NoRoom(f"the system's temporary folder can't be written ({error.strerror}); {_ELSEWHERE}") from error
    with scratch as name:
        yield Store(Path(name), report=report)


def _decode(step: Step[R], data: bytes) -> R:
    from basefog.site.codec import decode  # brings numpy, which a publish with nothing to do can do without

    found: R = decode(step.result, data)
    return found


def _found_next(turns: _Turns[R]) -> Iterator[R]:
    """Yield what was found, up to the next step that has to be done."""
    while turns and (found := turns[0][1]) is not None:
        turns.popleft()
        yield from found


@dataclass(frozen=True, kw_only=True, slots=True)
class _Made:
    """What comes back of a step that was done: its result as it is kept, and what the store told meanwhile."""

    kept: bytes
    told: tuple[str, ...]


def _do_step(*, folder: str, key: str, call: Callable[..., object], inputs: Mapping[str, object], result: Any) -> _Made:
    """Do a step and keep what it made, in whatever process this is."""
    told: list[str] = []
    store = Store(Path(folder), report=told.append)
    made = call(**inputs)
    if isinstance(made, WithFiles):
        for data in made.files:
            if store.put_file(data) is None:
                raise NoRoom(*told, f"the cache {folder} can't be written; {_ELSEWHERE}")
        made = made.result
    from basefog.site.codec import encode

    kept = encode(result, made)
    store.put(key, kept)
    return _Made(kept=kept, told=tuple(told))
