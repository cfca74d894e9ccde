"""Former names, whose old addresses keep working: each leads to one place, and never away from a living one."""

from collections.abc import Collection, Iterable, Mapping
from typing import Literal

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
    claims = ((owner, one, one.keys.former_slugs) for owner, one in checked.items())
    _check_claims("former_slugs", claims, live, f"the slug of {kind}", problems)


def check_former_ids(tests: Mapping[str, Checked[TestKeys]], folders: Collection[str], problems: ProblemList) -> None:
    """Tell of former ids of a stock's tests that are the id of a test today, or claimed twice."""
    claims = ((owner, one, one.keys.former_ids) for owner, one in sorted(tests.items()))
    _check_claims("former_ids", claims, folders, "a test of this stock", problems)


def _check_claims(
    key: Literal["former_slugs", "former_ids"],
    claims: Iterable[tuple[str, Checked[StockKeys] | Checked[QuestionKeys] | Checked[TestKeys], Iterable[str]]],
    live: Collection[str],
    living: str,
    problems: ProblemList,
) -> None:
    """Tell of former names that live on, as what `living` says, or that an owner before claims already."""
    what = key.removesuffix("s").replace("_", " ")
    first: dict[str, str] = {}
    for owner, keys, names in claims:
        for index, name in enumerate(names):
            place = keys.place(key, index)
            if name in live:
                problems.problem(place, f"{key}: `{name}` is {living}", "Take it out.")
            elif name in first:
                problems.problem(place, f"{key}: `{name}` is a {what} of {first[name]} already", "Keep one of the two.")
            first.setdefault(name, owner)
