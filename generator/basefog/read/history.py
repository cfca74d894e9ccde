"""A stock's tests as a history: which one is current, what replaced what, and whether that can be."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from basefog.read.models import TestKeys
from basefog.read.problem_list import ProblemList
from basefog.read.validate import Checked


@dataclass(frozen=True, kw_only=True, slots=True)
class History:
    """The current test's id, None where no test counts, and the successor of each replaced test."""

    current: str | None
    successors: Mapping[str, str]


def test_order(test_id: str) -> str:
    """Return what sorts test ids by date, then suffix: ISO dates and the suffix letters sort as text."""
    return test_id


def plan_history(tests: Mapping[str, Checked[TestKeys]], folders: Sequence[str], problems: ProblemList) -> History:
    """Return how the tests of a stock follow each other, with problems where they can't.

    Args:
        tests: by id, those whose file could be read.
        folders: ids of all test folders, also of those whose file could not be read.
        problems: where faults go.
    """
    successors: dict[str, str] = {}
    for test_id, test in sorted(tests.items()):
        older = test.keys.replaces
        if older is not None and "replaces" not in test.broken:
            _check_replaces(test_id, older, test, folders, successors, problems)
        _check_development(test_id, test, tests, folders, problems)
    forced = [test_id for test_id, test in sorted(tests.items()) if test.keys.current]
    for test_id in forced:
        _check_forced(test_id, forced[0], tests[test_id], problems)
    counting = [
        test_id
        for test_id, test in sorted(tests.items())
        if test.keys.withdrawn is None and test.keys.development_of is None
    ]
    return History(current=forced[0] if forced else counting[-1] if counting else None, successors=successors)


def _check_replaces(
    test_id: str,
    older: str,
    test: Checked[TestKeys],
    folders: Sequence[str],
    successors: dict[str, str],
    problems: ProblemList,
) -> None:
    place = test.place("replaces")
    if older not in folders:
        known = ", ".join(folder for folder in sorted(folders) if folder < test_id) or "there is none"
        problems.problem(place, f"replaces: this stock has no test `{older}`", f"Name an earlier test: {known}.")
    elif older >= test_id:
        problems.problem(
            place, f"replaces: found `{older}`, expected a test earlier than {test_id}", "Name an earlier test."
        )
    elif older in successors:
        problems.problem(
            place,
            f"replaces: `{older}` is replaced by {successors[older]} already",
            f"Let this test replace {successors[older]}, or take `replaces` out of one of them.",
        )
    else:
        successors[older] = test_id


def _check_development(
    test_id: str,
    test: Checked[TestKeys],
    tests: Mapping[str, Checked[TestKeys]],
    folders: Sequence[str],
    problems: ProblemList,
) -> None:
    main = test.keys.development_of
    if main is None:
        return
    place = test.place("development_of")
    if main == test_id:
        problems.problem(place, "development_of: a test can't vary itself", "Name the main test.")
    elif main not in folders:
        known = ", ".join(folder for folder in sorted(folders) if folder != test_id) or "there is none"
        problems.problem(place, f"development_of: this stock has no test `{main}`", f"Name another test: {known}.")
    elif main in tests and tests[main].keys.development_of is not None:
        problems.problem(
            place,
            f"development_of: `{main}` varies another test itself",
            f"Name the main test, {tests[main].keys.development_of}.",
        )


def _check_forced(test_id: str, first: str, test: Checked[TestKeys], problems: ProblemList) -> None:
    place = test.place("current")
    if test_id != first:
        problems.problem(place, f"current: {first} is marked current already", "Mark one test of a stock only.")
    elif test.keys.withdrawn is not None:
        problems.problem(place, "current: a withdrawn test is never current", "Take `current` or `withdrawn` out.")
    elif test.keys.development_of is not None:
        problems.problem(
            place, "current: a test with `development_of` is never current", "Take `current` or `development_of` out."
        )
