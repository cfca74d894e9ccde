"""Steps: each is done once, results come in their order, whatever happens to the store and however many work."""

import multiprocessing
import shutil
import tempfile
from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import suppress
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from basefog.site import steps as steps_module
from basefog.site import store as store_module
from basefog.site.digest import DigestError, digest_of
from basefog.site.job import InputPath
from basefog.site.pool import Pool, Task
from basefog.site.steps import Step, Steps, open_steps
from basefog.site.stops import ContentChanged, FaultySite, NoRoom, PublishError
from basefog.site.store import Store
from site_workers import (
    CarriedError,
    Doubled,
    Halved,
    count_and_double,
    count_and_halve,
    double_unless_zero,
    draw,
    make_nothing,
    make_other,
    stop,
)

ELSEWHERE = "set BASEFOG_CACHE to a folder that can be, and has room"
DISK_FULL = OSError(28, "No space left on device")


class Diary:
    """A file in which steps note that they were done; its place is no input, its digest is."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def step(self, value: int, call: Any = count_and_double, result: Any = Doubled, code: str = "code") -> Step[Any]:
        """Return a step that notes its value here."""
        diary = InputPath(path=str(self.path), sha256="0" * 64)
        return Step(name=f"step {value}", call=call, inputs={"value": value, "diary": diary}, result=result, code=code)

    def steps(self, *values: int, call: Any = count_and_double, result: Any = Doubled) -> list[Step[Any]]:
        """Return a step for each of these values."""
        return [self.step(value, call, result) for value in values]

    def read(self) -> list[int]:
        """Return the values of the steps that were done since this was last asked."""
        if not self.path.exists():
            return []
        values = [int(line.split()[0]) for line in self.path.read_text(encoding="utf-8").splitlines()]
        self.path.unlink()
        return values


@pytest.fixture
def diary(tmp_path: Path) -> Diary:
    return Diary(tmp_path / "diary")


@pytest.fixture
def alone(tmp_path: Path) -> Steps:
    """Give steps that this process does by itself."""
    return Steps(Store(tmp_path / "cache"), Pool(workers=1, memory_bytes=1))


@pytest.fixture(scope="module")
def pool() -> Iterator[Pool]:
    """Two workers, that are started once for all tests of this module."""
    with Pool(workers=2, memory_bytes=10**9) as pool:
        yield pool


@pytest.fixture
def together(tmp_path: Path, pool: Pool) -> Steps:
    """Give steps that two workers do."""
    return Steps(Store(tmp_path / "cache"), pool)


def values_of(results: Iterator[Doubled]) -> list[int]:
    return [result.value for result in results]


def doubles(*values: int) -> list[int]:
    return [2 * value for value in values]


def kept_in(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


# Results, in order, made once.


@settings(max_examples=60)
@given(
    wanted=st.lists(st.integers(0, 40), unique=True),
    kept=st.sets(st.integers(0, 40)),
    few=st.integers(0, 3),
    ahead=st.integers(0, 6),
)
def test_results_come_in_the_order_of_the_steps(wanted: list[int], kept: set[int], few: int, ahead: int) -> None:
    """Whichever of them are kept, and however far is looked ahead, all come in order; those missing are done once."""
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setattr(steps_module, "_FEW", few)
        patch.setattr(steps_module, "_AHEAD", ahead)
        diary = Diary(Path(folder) / "diary")
        steps = Steps(Store(Path(folder) / "cache"), Pool(workers=1, memory_bytes=1))
        list(steps.run(diary.steps(*sorted(kept))))
        diary.read()

        assert values_of(steps.run(diary.steps(*wanted))) == doubles(*wanted)
        assert diary.read() == [value for value in wanted if value not in kept]


@pytest.mark.parametrize("ahead", [2, 256])
def test_two_processes_give_what_one_gives(
    tmp_path: Path, diary: Diary, together: Steps, monkeypatch: pytest.MonkeyPatch, ahead: int
) -> None:
    """Results, their order, and every byte that is kept are those of one process; each step is done once."""
    monkeypatch.setattr(steps_module, "_AHEAD", ahead)
    wanted = range(60)
    alone = Steps(Store(tmp_path / "alone"), Pool(workers=1, memory_bytes=1))
    for steps in (alone, together):
        list(steps.run(diary.steps(*range(0, 60, 3), call=draw)))
    diary.read()

    assert list(together.run(diary.steps(*wanted, call=draw))) == list(alone.run(diary.steps(*wanted, call=draw)))
    assert sorted(diary.read()) == sorted(2 * [value for value in wanted if value % 3])
    assert kept_in(tmp_path / "cache") == kept_in(tmp_path / "alone")


def test_a_kept_step_is_not_done_again(diary: Diary, alone: Steps) -> None:
    """What was made is had from the store, by others of that store too, even where it could not be made any more."""
    first = list(alone.run(diary.steps(1, 2)))
    gone = Diary(diary.path.parent / "no folder" / "diary")
    others = Steps(Store(alone.store.folder), Pool(workers=1, memory_bytes=1))

    assert list(others.run(gone.steps(1, 2))) == first == [Doubled(value=2), Doubled(value=4)]
    assert (alone.has_done_any, others.has_done_any) == (True, False)


def test_a_result_of_none_is_kept_like_any(diary: Diary, alone: Steps) -> None:
    """That a step gave None is a result."""
    steps = diary.steps(1, 2, call=make_nothing, result=Doubled | None)

    assert list(alone.run(steps)) == list(alone.run(steps)) == [None, None]
    assert diary.read() == [1, 2]


def test_files_are_had_from_the_store_by_their_digest(diary: Diary, alone: Steps) -> None:
    """Of a step with files the result comes, which names them, and the store has each."""
    (made,) = alone.run(diary.steps(7, call=draw))

    assert made.value == 14
    assert [alone.store.get_file(name) for name in made.files] == [b"7 sketch", b"7 card"]


def test_steps_are_taken_as_they_are_needed(diary: Diary, alone: Steps) -> None:
    """Of steps that are kept none is taken before the results in front of it were asked for."""
    list(alone.run(diary.steps(*range(10))))
    taken: list[int] = []

    def noted() -> Iterator[Step[Any]]:
        for value in range(10):
            taken.append(value)
            yield diary.step(value)

    run = alone.run(noted())

    assert [(next(run).value, len(taken)) for _ in range(10)] == [(2 * value, value + 1) for value in range(10)]


def test_few_results_wait_behind_one_that_is_made(diary: Diary, alone: Steps) -> None:
    """Behind a missing step only so many are looked up before it is done."""
    list(alone.run(diary.steps(*range(1, 1000))))
    taken: list[int] = []

    def noted() -> Iterator[Step[Any]]:
        for value in range(1000):
            taken.append(value)
            yield diary.step(value)

    assert next(alone.run(noted())).value == 0
    assert len(taken) == 257


# Keys.


def test_what_a_step_is_made_of_makes_its_key(diary: Diary, alone: Steps) -> None:
    """Another input, name of an input, code, and function each give another key."""
    plain = diary.step(1)
    renamed = Step(name="step 1", call=plain.call, inputs={"a": 1, "b": 0}, result=Doubled, code="code")
    renamed_otherwise = Step(name="step 1", call=plain.call, inputs={"a": 1, "c": 0}, result=Doubled, code="code")
    steps = [plain, diary.step(2), diary.step(1, draw), diary.step(1, code="other"), renamed, renamed_otherwise]

    assert len(set(map(alone.key_of, steps))) == len(steps)


def test_names_sizes_and_places_make_no_other_key(diary: Diary, alone: Steps) -> None:
    """What it is called, how much memory it needs, where its file lies and how inputs are ordered doesn't count."""
    plain = diary.step(1)
    elsewhere = Diary(Path("elsewhere")).step(1)
    turned = MappingProxyType(dict(reversed(list(elsewhere.inputs.items()))))
    other = Step(name="b", call=plain.call, inputs=turned, result=Doubled, code="code", peak_bytes=9)

    assert alone.key_of(other) == alone.key_of(plain)


def test_keys_do_not_hang_on_what_was_asked_before(diary: Diary, alone: Steps) -> None:
    """Digests of inputs are remembered: of hundreds that come and go, one at another's old place, none errs."""
    base = diary.step(1)

    def with_value(value: object) -> Step[Any]:
        return Step(name="", call=base.call, inputs={"value": value}, result=Doubled, code="")

    # Each value is gone when the next is made, which may then stand where it stood.
    found = [alone.key_of(with_value(f"{number:09000}")) for number in [*range(300), *range(300)]]

    assert len(set(found)) == 300
    assert found[:300] == found[300:]


def test_an_input_that_goes_into_all_is_digested_once(alone: Steps, monkeypatch: pytest.MonkeyPatch) -> None:
    """A theme that goes into hundreds of pages costs one digest, and what is remembered stays little."""
    theme = ("theme",)
    digested: list[object] = []

    def note(value: object) -> str:
        digested.append(value)
        return digest_of(value)

    monkeypatch.setattr(steps_module, "digest_of", note)
    for number in range(300):
        inputs = {"theme": theme, "page": (number, "page")}
        alone.key_of(Step(name="", call=count_and_double, inputs=inputs, result=Doubled, code=""))

    assert digested.count(theme) == 1
    assert len(alone._digests.known) == 64


def test_an_input_without_a_digest_is_refused(diary: Diary, alone: Steps) -> None:
    """A path among the inputs would keep what its file no longer holds."""
    step = Step(name="a", call=count_and_double, inputs={"value": diary.path}, result=Doubled, code="")

    with pytest.raises(DigestError, match="a path names a file"):
        list(alone.run([step]))


# The store lets down.


def only_result(folder: Path) -> Path:
    (path,) = folder.rglob("*.kept")
    return path


def test_a_damaged_result_is_made_again(tmp_path: Path, diary: Diary) -> None:
    """It is told, the step is done again, and the next run has it."""
    told: list[str] = []
    steps = Steps(Store(tmp_path / "cache", report=told.append), Pool(workers=1, memory_bytes=1))
    list(steps.run(diary.steps(1)))
    path = only_result(tmp_path / "cache")
    path.write_bytes(path.read_bytes()[:-1])

    assert [values_of(steps.run(diary.steps(1))) for _ in range(2)] == [[2], [2]]
    assert diary.read() == [1, 1]
    assert told == [f"{path.name}: an entry of the cache is damaged and is made again"]


def test_a_result_of_another_layout_is_made_again(diary: Diary, alone: Steps) -> None:
    """What is kept under the key, whole, but of another class than is asked for, is not taken for it."""
    halved = diary.step(1, count_and_halve, Halved)
    (half,) = alone.run([halved])
    (double,) = alone.run(diary.steps(1))
    kept = alone.store.get(alone.key_of(halved))
    assert kept is not None
    alone.store.put(alone.key_of(diary.step(1)), kept)

    assert (half, double) == (Halved(half=0.5), Doubled(value=2))
    assert [values_of(alone.run(diary.steps(1))) for _ in range(2)] == [[2], [2]]
    assert diary.read() == [1, 1, 1]


@pytest.mark.parametrize("place", [0, 1])
def test_a_step_is_done_again_where_one_of_its_files_is_lost(diary: Diary, alone: Steps, place: int) -> None:
    """Only those of whom a file is missing, be it the first or the last; afterwards it is there."""
    steps = diary.steps(1, 2, call=draw)
    first, second = alone.run(steps)
    alone.store.path_of_file(second.files[place]).unlink()
    diary.read()

    assert list(alone.run(steps)) == [first, second]
    assert diary.read() == []
    for expected in ([2], []):
        assert list(alone.run(steps, files_of=lambda made: made.files)) == [first, second]
        assert diary.read() == expected
    assert alone.store.has_file(second.files[place])


@pytest.mark.parametrize("count", [1, 8])
def test_what_a_worker_finds_damaged_is_told_here(tmp_path: Path, diary: Diary, pool: Pool, count: int) -> None:
    """A file that lies damaged where a step puts its own is replaced, and a line says so, whichever process saw it."""
    told: list[str] = []
    steps = Steps(Store(tmp_path / "cache", report=told.append), pool)
    made = list(steps.run(diary.steps(*range(count), call=draw)))
    damaged = steps.store.path_of_file(made[0].files[0])
    for result in (tmp_path / "cache").rglob("*.kept"):
        result.unlink()
    damaged.write_bytes(b"damaged")

    assert list(steps.run(diary.steps(*range(count), call=draw))) == made
    assert damaged.read_bytes() == b"0 sketch"
    assert told == [f"{damaged.name}: an entry of the cache is damaged and is made again"]


def test_a_store_that_is_deleted_between_runs_is_filled_again(diary: Diary, alone: Steps) -> None:
    """It is as at the start."""
    for _ in range(2):
        assert values_of(alone.run(diary.steps(1, 2))) == [2, 4]
        assert diary.read() == [1, 2]
        shutil.rmtree(alone.store.folder)


def test_a_result_that_can_not_be_kept_is_had_all_the_same(
    tmp_path: Path, diary: Diary, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a full disk results are made each time, and each that could not be kept is told."""
    told: list[str] = []
    steps = Steps(Store(tmp_path / "cache", report=told.append), Pool(workers=1, memory_bytes=1))
    monkeypatch.setattr(store_module, "_write_new", refuse_to_write)

    assert values_of(steps.run(diary.steps(1, 2))) == [2, 4]
    assert [line.partition(": ")[2] for line in told] == [
        "an entry of the cache can't be kept: No space left on device"
    ] * 2


def refuse_to_write(*_: object, **__: object) -> None:
    raise DISK_FULL


def test_files_that_can_not_be_kept_stop_the_run(diary: Diary, alone: Steps, monkeypatch: pytest.MonkeyPatch) -> None:
    """There is nowhere to have them from: the lines say what is wrong, where, and what to do."""
    monkeypatch.setattr(store_module, "_write_new", refuse_to_write)

    with pytest.raises(NoRoom) as error:
        list(alone.run(diary.steps(1, call=draw)))
    why, where = error.value.lines

    assert why.endswith(".file: an entry of the cache can't be kept: No space left on device")
    assert where == (
        f"the cache {alone.store.folder} can't be written; set BASEFOG_CACHE to a folder that can be, and has room"
    )
    assert kept_in(diary.path.parent) == {"diary": diary.path.read_bytes()}


# Errors.


@pytest.mark.parametrize("kind", ["alone", "together"])
def test_an_error_comes_out_with_its_name_and_loses_nothing(
    diary: Diary, kind: str, request: pytest.FixtureRequest
) -> None:
    """Results before it, kept and made, are had; the error says which step it was; what was made before stays kept."""
    steps: Steps = request.getfixturevalue(kind)
    list(steps.run(diary.steps(1, 5, call=double_unless_zero)))
    had: list[int] = []

    with pytest.raises(CarriedError, match="nothing to double") as error:
        had.extend(values_of(had_one_by_one(steps.run(diary.steps(1, 2, 3, 4, 5, 0, call=double_unless_zero)), had)))

    assert had == [2, 4, 6, 8, 10]
    assert error.value.__notes__[0] == "in the task: step 0"
    diary.read()
    assert values_of(steps.run(diary.steps(1, 2, 3, 4, 5, call=double_unless_zero))) == [2, 4, 6, 8, 10]
    assert diary.read() == []


def had_one_by_one(results: Iterator[Doubled], had: list[int]) -> Iterator[Doubled]:
    for result in results:
        had.append(result.value)
        yield result


def test_a_result_that_is_not_what_its_hint_says_is_an_error(diary: Diary, alone: Steps) -> None:
    """It is told with the name of the step, and not kept."""
    with pytest.raises(TypeError) as error:
        list(alone.run(diary.steps(1, call=make_other)))

    assert error.value.__notes__ == ["in the task: step 1"]
    assert kept_in(alone.store.folder) == {}


@pytest.mark.parametrize("kind", [FaultySite, ContentChanged, NoRoom])
def test_what_stops_a_publish_comes_whole_from_a_worker(together: Steps, kind: type[PublishError]) -> None:
    """Its class and its lines are as they were raised there, so that it is told as from here."""
    lines = ("a.html: leads nowhere", "b.html: likewise")
    inputs = {"kind": kind, "lines": lines}
    steps = [Step(name="stop", call=stop, inputs=inputs, result=int, code=str(number)) for number in range(8)]

    with pytest.raises(kind) as error:
        list(together.run(steps))

    assert type(error.value) is kind
    assert error.value.lines == lines
    assert "in the task: stop" in error.value.__notes__
    assert "site_workers.py" in error.value.__notes__[1]


# Processes.


def test_few_missing_steps_start_no_process(diary: Diary, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Up to three among many that are kept are done here; four are given to others."""
    given_away: list[str] = []

    def begin(_: Pool, task: Task[Any]) -> "Future[Any]":
        given_away.append(task.name)
        raise AssertionError("given away")

    monkeypatch.setattr(Pool, "_begin", begin)
    alone = Steps(Store(tmp_path / "cache"), Pool(workers=1, memory_bytes=1))
    list(alone.run(diary.steps(*range(10, 40))))
    diary.read()
    with Pool(workers=2, memory_bytes=10**9) as pool:
        steps = Steps(alone.store, pool)

        assert values_of(steps.run(diary.steps(1, *range(10, 30), 2, *range(30, 40), 3))) == doubles(
            1, *range(10, 30), 2, *range(30, 40), 3
        )
        assert diary.read() == [1, 2, 3]
        with pytest.raises(AssertionError, match="given away"):
            list(steps.run(diary.steps(4, *range(10, 30), 5, *range(30, 40), 6, 7)))
    assert given_away == ["step 4"]


def test_many_missing_steps_are_done_in_one_go(together: Steps, diary: Diary, monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers are kept busy from the first to the last, and not let idle every few steps."""
    run = Pool.run
    runs: list[Pool] = []

    def counted(pool: Pool, tasks: Any) -> Iterator[Any]:
        runs.append(pool)
        return run(pool, tasks)

    monkeypatch.setattr(Pool, "run", counted)

    assert values_of(together.run(diary.steps(*range(60)))) == doubles(*range(60))
    assert len(runs) == 1


def test_inputs_may_be_any_mapping(together: Steps, diary: Diary) -> None:
    """A view of a mapping, which can't be carried to a worker by itself, gets there."""
    steps = [
        Step(name="", call=one.call, inputs=MappingProxyType(one.inputs), result=Doubled, code="")
        for one in diary.steps(*range(8))
    ]

    assert values_of(together.run(steps)) == doubles(*range(8))


def test_steps_may_be_made_of_the_results_of_others(together: Steps, diary: Diary) -> None:
    """One run takes its steps from another that the same workers do; both go on together."""
    others = together.run(diary.steps(*range(40)))

    assert values_of(together.run(diary.step(100 + other.value) for other in others)) == [
        2 * (100 + 2 * value) for value in range(40)
    ]


def test_a_run_that_is_left_half_way_leaves_the_workers_free(together: Steps, diary: Diary) -> None:
    """What was not begun is not done any more, and the next run goes as ever."""
    run = together.run(diary.steps(*range(500)))
    first = next(run)
    run.close()  # type: ignore[attr-defined] # it is a generator
    done = diary.read()

    assert first.value == 0
    assert len(done) <= 1 + 32
    assert values_of(together.run(diary.steps(*range(500, 508)))) == doubles(*range(500, 508))
    assert sorted(diary.read()) == [*range(500, 508)]


def test_workers_end_with_the_block_though_a_run_is_half_way(tmp_path: Path, diary: Diary) -> None:
    """Where the block is left by an error, with a run that nobody closed, no process is left behind."""
    before = set(multiprocessing.active_children())
    with suppress(CarriedError), open_steps(tmp_path / "cache", processes=2) as steps:
        run = steps.run(diary.steps(*range(100)))
        next(run)
        began = set(multiprocessing.active_children()) - before
        raise CarriedError

    assert 1 <= len(began) <= 2
    assert set(multiprocessing.active_children()) == before
    assert run is not None


# Where they are kept.


def test_steps_are_kept_in_the_folder(tmp_path: Path, diary: Diary) -> None:
    """The next opening of it has what this one made, and nothing else lies there."""
    for expected in ([1, 2], []):
        with open_steps(tmp_path / "deep" / "cache", processes=1) as steps:
            assert steps.store.folder == tmp_path / "deep" / "cache"
            assert values_of(steps.run(diary.steps(1, 2))) == [2, 4]
        assert diary.read() == expected
    assert {Path(name).suffix for name in kept_in(tmp_path / "deep")} == {".kept"}


def test_a_folder_that_can_not_be_written_is_told_and_passed_by(tmp_path: Path, diary: Diary) -> None:
    """A temporary one serves, with files too, and goes at the end; one line says what to do."""
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    told: list[str] = []
    with open_steps(tmp_path / "taken", processes=1, report=told.append) as steps:
        folder = steps.store.folder
        (made,) = steps.run(diary.steps(1, call=draw))
        assert all(map(steps.store.has_file, made.files))

    assert not folder.exists()
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "a file"
    assert len(told) == 1
    assert told[0].startswith(f"the cache {tmp_path / 'taken'} can't be written (")
    assert told[0].endswith(
        "): nothing is kept for the next time; set BASEFOG_CACHE to a folder that can be, and has room"
    )


def test_a_full_disk_is_noticed_at_the_start(tmp_path: Path, diary: Diary, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder in which a file can be made but holds nothing serves no more than one that can't be written."""
    write = store_module._write_new
    told: list[str] = []

    def write_elsewhere(path: Path, *parts: bytes) -> None:
        if tmp_path in path.parents and any(parts):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.touch()
            raise DISK_FULL
        write(path, *parts)

    monkeypatch.setattr(store_module, "_write_new", write_elsewhere)
    with open_steps(tmp_path / "cache", processes=1, report=told.append) as steps:
        assert len(list(steps.run(diary.steps(1, call=draw)))) == 1

    assert len(told) == 1
    assert "(No space left on device)" in told[0]
    assert kept_in(tmp_path / "cache") == {}


def test_without_a_folder_a_temporary_one_serves(diary: Diary) -> None:
    """Nothing is told, and it goes at the end."""
    told: list[str] = []
    with open_steps(None, processes=1, report=told.append) as steps:
        folder = steps.store.folder
        assert [values_of(steps.run(diary.steps(1))) for _ in range(2)] == [[2], [2]]
        assert diary.read() == [1]

    assert not folder.exists()
    assert told == []


def test_the_temporary_folder_is_asked_for_where_it_is_needed_alone(
    tmp_path: Path, diary: Diary, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where there is none that can be used, a cache that can be written does without; else a line tells it."""
    monkeypatch.setattr(steps_module, "TemporaryDirectory", refuse_to_write)
    with open_steps(tmp_path / "cache", processes=1) as steps:
        assert values_of(steps.run(diary.steps(1))) == [2]

    with pytest.raises(NoRoom) as error, open_steps(None, processes=1):
        pytest.fail("there is nowhere to keep anything")
    assert error.value.lines == (f"the system's temporary folder can't be written ({DISK_FULL.strerror}); {ELSEWHERE}",)


def test_what_is_past_the_limit_goes_at_the_end(tmp_path: Path, diary: Diary, monkeypatch: pytest.MonkeyPatch) -> None:
    """All that a run made is there until its end, also one that is stopped by an error; the next makes it again."""
    monkeypatch.setattr(steps_module, "Store", partial(Store, limit_bytes=1))
    for _ in range(2):
        with suppress(CarriedError), open_steps(tmp_path / "cache", processes=1) as steps:
            for _ in range(2):
                assert values_of(steps.run(diary.steps(1, 2))) == [2, 4]
            raise CarriedError

        assert diary.read() == [1, 2]
        assert kept_in(tmp_path / "cache") == {}


def test_a_run_that_makes_nothing_looks_at_no_other_entries(
    tmp_path: Path, diary: Diary, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The store is trimmed after runs that could have filled it."""
    trimmed: list[Path] = []
    monkeypatch.setattr(Store, "trim", lambda store: trimmed.append(store.folder))
    for _ in range(2):
        with open_steps(tmp_path / "cache", processes=1) as steps:
            list(steps.run(diary.steps(1)))

    assert trimmed == [tmp_path / "cache"]


def test_as_many_work_as_are_asked_for_or_as_there_are_cores(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One where one is asked for; all cores where nothing is said."""
    monkeypatch.setattr(steps_module, "count_cores", lambda: 5)
    found = []
    for processes in (1, 3, None):
        with open_steps(tmp_path / "cache", processes=processes) as steps:
            found.append(steps._pool._workers)

    assert found == [1, 3, 5]
