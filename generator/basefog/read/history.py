"""A stock's tests as a history: which one is current, what replaced what, and whether that can be.

Test ids sort as text by date, then suffix, since they are ISO dates with a letter.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from basefog.read.models import TestKeys
from basefog.read.problem_list import ProblemList
from basefog.read.renamed import check_former_ids
from basefog.read.validate import Checked

Tests = Mapping[str, Checked[TestKeys]]


@dataclass(frozen=True, kw_only=True, slots=True)
class History:
    """The current test's id, None where no test counts, and the successor of each replaced test."""

    current: str | None
    successors: Mapping[str, str]


def plan_history(tests: Tests, folders: Sequence[str], problems: ProblemList) -> History:
    """Return how the tests of a stock follow each other, with problems where they can't.

    The current test is the newest that is not withdrawn, not replaced, not `development_of` another and not under way,
    by date then suffix, unless one says `current: true`. A test whose successor was withdrawn stays replaced; a test
    under way replaces nothing until its readings are in.

    Args:
        tests: by id, those whose file could be read.
        folders: ids of all test folders, also of those whose file could not be read.
        problems: where faults go.
    """
    tests = dict(sorted(tests.items()))
    successors = _find_successors(tests, folders, problems)
    for test_id, test in tests.items():
        _check_development(test_id, tests, folders, problems)
        _check_relation(test_id, tests, problems)
        if test.keys.under_way and test.keys.withdrawn is not None:
            problems.problem(
                test.place("withdrawn"),
                "withdrawn: the test is under way, so that there is nothing to withdraw",
                "Take `under_way` or `withdrawn` out.",
            )
    check_former_ids(tests, folders, problems)
    forced = [test_id for test_id, test in tests.items() if test.keys.current]
    for test_id in forced:
        _check_forced(test_id, forced[0], tests[test_id], problems)
    counting = [test_id for test_id, test in tests.items() if test_id not in successors and _may_count(test.keys)]
    current = [*counting[-1:], *forced[:1]]
    return History(current=current[-1] if current else None, successors=successors)


def _may_count(keys: TestKeys) -> bool:
    return keys.withdrawn is None and keys.development_of is None and not keys.under_way


def _find_successors(tests: Tests, folders: Sequence[str], problems: ProblemList) -> Mapping[str, str]:
    """Return which test replaced which, with problems where that can't be."""
    claimed: dict[str, str] = {}
    for test_id, test in tests.items():
        _check_reason(test, problems)
        older = test.keys.replaces
        if older is None or not _may_replace(test_id, older, tests, folders, problems):
            continue
        if older in claimed:
            problems.problem(
                test.place("replaces"),
                f"replaces: `{older}` is replaced by {claimed[older]} already",
                f"Let this test replace {claimed[older]}, or take `replaces` out of one of them.",
            )
        claimed.setdefault(older, test_id)
    return {older: newer for older, newer in claimed.items() if not tests[newer].keys.under_way}


def _check_reason(test: Checked[TestKeys], problems: ProblemList) -> None:
    keys = test.keys
    if test.broken & {"replaces", "reason"}:
        return
    if keys.replaces is not None and keys.reason is None:
        problems.problem(
            test.place("replaces"),
            f"replaces: no reason is given why {keys.replaces} was made again",
            "Add a line such as `reason: The camera moved.`",
        )
    elif keys.reason is not None and keys.replaces is None:
        problems.problem(
            test.place("reason"),
            "reason: this test replaces none",
            "Name the test that it replaces, as in `replaces: 2026-03-14`, or take `reason` out.",
        )


def _may_replace(test_id: str, older: str, tests: Tests, folders: Sequence[str], problems: ProblemList) -> bool:
    earlier = ", ".join(folder for folder in folders if folder < test_id) or "there is none"
    place = tests[test_id].place("replaces")
    if older not in folders:
        problems.problem(place, f"replaces: this stock has no test `{older}`", f"Name an earlier test: {earlier}.")
        return False
    if older >= test_id:
        # Also what keeps tests from replacing each other in a circle.
        problems.problem(
            place, f"replaces: found `{older}`, expected a test before {test_id}", f"Name an earlier test: {earlier}."
        )
        return False
    if older in tests and tests[older].keys.under_way:
        problems.problem(
            place,
            f"replaces: `{older}` is under way, so that there is nothing to replace",
            "Take `replaces` out, or `under_way` out of the other test if its readings are in.",
        )
        return False
    return True


def _check_development(test_id: str, tests: Tests, folders: Sequence[str], problems: ProblemList) -> None:
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
    elif main in tests and tests[main].keys.under_way and not tests[test_id].keys.under_way:
        problems.problem(
            place,
            f"development_of: `{main}` is under way, so that there is nothing to vary",
            "Say `under_way: true` here too until the readings of both are in.",
        )


def _check_relation(test_id: str, tests: Tests, problems: ProblemList) -> None:
    """Remark a further test that does not say how it stands to the earlier ones."""
    test = tests[test_id]
    keys = test.keys
    if keys.replaces or keys.repeat or keys.development_of or keys.withdrawn is not None:
        return
    if test.broken & {"replaces", "repeat", "development_of", "withdrawn"}:
        return
    earlier = [other for other, one in tests.items() if other < test_id and one.keys.development_of is None]
    if earlier:
        problems.remark(
            test.place(),
            f"this stock was tested before, on {earlier[-1]}, and this test does not say how it stands to that",
            "Say `replaces` (with a `reason`), `repeat: true` or `development_of`.",
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
    if test.keys.under_way:
        problems.problem(place, "current: a test under way is never current", "Take `current` or `under_way` out.")
