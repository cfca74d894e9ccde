"""A stock's tests as a history: which one is current, what replaced what, and whether that can be.

Test ids sort as text by date, then suffix, since they are ISO dates with a letter.
"""

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


def plan_history(tests: Mapping[str, Checked[TestKeys]], folders: Sequence[str], problems: ProblemList) -> History:
    """Return how the tests of a stock follow each other, with problems where they can't.

    Args:
        tests: by id, those whose file could be read.
        folders: ids of all test folders, also of those whose file could not be read.
        problems: where faults go.
    """
    successors: dict[str, str] = {}
    for test_id, test in sorted(tests.items()):
        if (older := test.keys.replaces) is not None and _may_replace(test_id, older, test, folders, problems):
            if older in successors:
                problems.problem(
                    test.place("replaces"),
                    f"replaces: `{older}` is replaced by {successors[older]} already",
                    f"Let this test replace {successors[older]}, or take `replaces` out of one of them.",
                )
            successors.setdefault(older, test_id)
        _check_development(test_id, tests, folders, problems)
    forced = [test_id for test_id, test in sorted(tests.items()) if test.keys.current]
    for test_id in forced:
        _check_forced(test_id, forced[0], tests[test_id], problems)
    counting = [
        test_id
        for test_id, test in sorted(tests.items())
        if test.keys.withdrawn is None and test.keys.development_of is None
    ]
    current = [*counting[-1:], *forced[:1]]
    return History(current=current[-1] if current else None, successors=successors)


def _may_replace(
    test_id: str, older: str, test: Checked[TestKeys], folders: Sequence[str], problems: ProblemList
) -> bool:
    earlier = ", ".join(folder for folder in folders if folder < test_id) or "there is none"
    place = test.place("replaces")
    if older not in folders:
        problems.problem(place, f"replaces: this stock has no test `{older}`", f"Name an earlier test: {earlier}.")
        return False
    if older >= test_id:
        # Also what keeps tests from replacing each other in a circle.
        problems.problem(
            place, f"replaces: found `{older}`, expected a test before {test_id}", f"Name an earlier test: {earlier}."
        )
        return False
    return True


def _check_development(
    test_id: str, tests: Mapping[str, Checked[TestKeys]], folders: Sequence[str], problems: ProblemList
) -> None:
    main = tests[test_id].keys.development_of
    if main is None:
        return
    place = tests[test_id].place("development_of")
    if main == test_id:
        problems.problem(place, "development_of: a test can't vary itself", "Name the main test.")
    elif main not in folders:
        known = ", ".join(folder for folder in folders if folder != test_id) or "there is none"
        problems.problem(place, f"development_of: this stock has no test `{main}`", f"Name another test: {known}.")
    elif main in tests and (further := tests[main].keys.development_of) is not None:
        problems.problem(
            place, f"development_of: `{main}` varies another test itself", f"Name the main test, such as {further}."
        )


def _check_forced(test_id: str, first: str, test: Checked[TestKeys], problems: ProblemList) -> None:
    place = test.place("current")
    if test_id != first:
        problems.problem(place, f"current: {first} is marked current already", "Mark one test of a stock only.")
    if test.keys.withdrawn is not None:
        problems.problem(place, "current: a withdrawn test is never current", "Take `current` or `withdrawn` out.")
    if test.keys.development_of is not None:
        problems.problem(
            place, "current: a test with `development_of` is never current", "Take `current` or `development_of` out."
        )
