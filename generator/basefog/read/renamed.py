"""Former names, whose old addresses keep working: each leads to one place, and never away from a living one."""

from collections.abc import Collection, Mapping

from basefog.read.models import QuestionKeys, StockKeys, TestKeys
from basefog.read.problem_list import ProblemList
from basefog.read.validate import Checked


def check_former_slugs(
    checked: Mapping[str, Checked[StockKeys]] | Mapping[str, Checked[QuestionKeys]],
    live: Collection[str],
    kind: str,
    problems: ProblemList,
) -> None:
    """Tell of former slugs that are the slug of something else today, or claimed twice.

    Args:
        checked: the keys of all of one kind, by slug.
        live: all slugs of that kind, also of those whose keys could not be read.
        kind: what they are called, with an article.
        problems: where faults go.
    """
    former: dict[str, str] = {}
    for owner, keys in checked.items():
        for index, slug in enumerate(keys.keys.former_slugs):
            place = keys.place("former_slugs", index)
            if slug in live:
                problems.problem(place, f"former_slugs: `{slug}` is the slug of {kind}", "Take it out.")
            elif slug in former:
                problems.problem(
                    place, f"former_slugs: `{slug}` is a former slug of {former[slug]} already", "Keep one of the two."
                )
            former.setdefault(slug, owner)


def check_former_ids(tests: Mapping[str, Checked[TestKeys]], folders: Collection[str], problems: ProblemList) -> None:
    """Tell of former ids of a stock's tests that are the id of a test today, or claimed twice."""
    former: dict[str, str] = {}
    for owner, test in sorted(tests.items()):
        for index, test_id in enumerate(test.keys.former_ids):
            place = test.place("former_ids", index)
            if test_id in folders:
                problems.problem(place, f"former_ids: `{test_id}` is a test of this stock", "Take it out.")
            elif test_id in former:
                problems.problem(
                    place,
                    f"former_ids: `{test_id}` is a former id of {former[test_id]} already",
                    "Keep one of the two.",
                )
            former.setdefault(test_id, owner)
