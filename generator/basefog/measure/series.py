"""A series in, every test's own quantities out; nothing here reads a file, computes a formula, or judges.

Tests are measured by families (`family.measure_family`), each of its own readings, the reference's, and the series'
terms. What hangs on all tests is put in here: how well exposures repeat, for those that do not tell it themselves, and
the remarks that other tests and batches give rise to.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cache

from basefog.measure.asked import Asked, Terms, bare
from basefog.measure.batches import remark_on_batch
from basefog.measure.bracket_remarks import gather_places, remark_on_exchanged_patches
from basefog.measure.development import find_family
from basefog.measure.family import Member, measure_family
from basefog.measure.frames_fit import pool_shutter_scatter
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import MeasuredTest, Remark

Measure = Callable[[Sequence[Asked]], Iterable[tuple[Member, ...]]]
"""Who measures families: returns what each gave, in their order."""


def measure_here(asked: Sequence[Asked]) -> Iterable[tuple[Member, ...]]:
    """Return what every family gave, one after the other, in this process."""
    return (
        measure_family(tests=one.tests, reference=one.reference, terms=one.terms, shutter_stops=one.shutter_stops)
        for one in asked
    )


def measure_series(
    series: Series, reference_group: tuple[Test, ...], measure: Measure = measure_here
) -> dict[str, MeasuredTest]:
    """Return what every test's readings gave, by `stock/test`.

    Arguments: `reference_group`, the reference's current test and its repeats, the current one first; empty where the
    reference has no current test; `measure`, who measures the families: what it gives may have been kept.
    """
    reference, terms = tuple(bare(test) for test in reference_group), Terms.of(series)
    families = [
        Asked(tests=tuple(bare(test) for test in family), reference=reference, terms=terms, shutter_stops=None)
        for stock in series.stocks
        for family in group_families(stock)
    ]
    members = {member.measured.key: member for member in _measure_all(families, measure)}
    places = gather_places((key, member.patch_stops) for key, member in members.items())

    @cache
    def remark_on(batch: str | None) -> tuple[Remark, ...]:
        return () if batch is None else remark_on_batch(batch, series.batches)

    return {
        test.key: replace(
            member.measured,
            remarks=(
                *member.measured.remarks,
                *remark_on_exchanged_patches(test.key, member.patch_stops, places),
                *remark_on(test.developed.batch),
            ),
        )
        for stock in series.stocks
        for test in stock.tests
        for member in [members[test.key]]
    }


def group_families(stock: Stock) -> tuple[tuple[Test, ...], ...]:
    """Return all tests of a stock by families, each test in one.

    Those that vary the time of another are with it; withdrawn ones, and those that vary such a one, stand alone.
    """
    families = [find_family(stock, test) for test in stock.tests if test.development_of is None]
    grouped = {test.id for family in families for test in family}
    return (*families, *((test,) for test in stock.tests if test.id not in grouped))


def _measure_all(families: list[Asked], measure: Measure) -> list[Member]:
    """Return what every family gave, each measured with how well exposures repeat over the series where it asks.

    That is known when those have been measured that tell it. Most of them don't ask, and need no second time; which of
    them do is only seen when they are measured. Those that can't tell it and ask for certain wait.
    """
    first = [asked for asked in families if _may_tell(asked) or not _asks_for_certain(asked)]
    found = list(measure(first))
    told = [member.told_shutter for members in found for member in members if member.told_shutter is not None]
    shutter_stops = pool_shutter_scatter(told)
    done = [members for members in found if not members[0].asks_shutter]
    asking = [asked for asked, members in zip(first, found, strict=True) if members[0].asks_shutter]
    waiting = [asked for asked in families if not (_may_tell(asked) or not _asks_for_certain(asked))]
    again = measure([replace(asked, shutter_stops=shutter_stops) for asked in (*asking, *waiting)])
    return [member for members in (*done, *again) for member in members]


def _may_tell(asked: Asked) -> bool:
    """Return whether a test of the family may tell how well exposures repeat, which takes a wedge and a bracket."""
    return any(test.wedge is not None and test.bracket is not None for test in asked.tests)


def _asks_for_certain(asked: Asked) -> bool:
    """Return whether a curve of the family or of the reference can come from nothing but a bracket."""
    return any(test.wedge is None and test.bracket is not None for test in (*asked.tests, *asked.reference))
