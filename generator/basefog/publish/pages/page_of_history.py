"""The history of a stock: what was retested, why, what had changed, what moved and whether that is more than error."""

from dataclasses import dataclass

from basefog.publish.addresses import address_of_any_two, address_of_stock, address_of_test
from basefog.publish.pages.frame import Link, format_date
from basefog.publish.pages.measure_rows import address_of_definition
from basefog.publish.pages.names import name_test
from basefog.publish.pages.quantities import QuantityText, format_difference, format_limit, tidy
from basefog.publish.pages.sizes import say_count
from basefog.publish.pages.words import Standing, standing_of
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Comparison, Findings
from basefog.records.vocabulary import MEASURES


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """One thing that was set up otherwise than in the test before."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Move:
    """How one measure moved; `standing` is `same` where the move is no more than error."""

    name: str
    definition_address: str
    difference: QuantityText
    standing: Standing
    could_see: str


@dataclass(frozen=True, kw_only=True, slots=True)
class HistoryEntry:
    """One test of the stock. `standing` is `current`, `replaced`, `withdrawn`, `development`, `repeat` or `earlier`.

    `done` says how it was exposed and developed; `side_by_side` sets it beside the test that it is `compared_with`, in
    the browser.
    """

    id: str
    date: str
    test: Link
    standing: str
    done: str
    reason: str
    replaces: Link | None
    replaced_by: Link | None
    withdrawn: str
    changes: tuple[Change, ...]
    compared_with: Link | None
    side_by_side: Link | None
    departures: tuple[str, ...]
    moved: tuple[Move, ...]
    unmoved: tuple[Move, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class HistoryPage:
    """Template variable `view` of `history.html`; the newest entry first."""

    stock: Link
    former_names: tuple[str, ...]
    summary: str
    entries: tuple[HistoryEntry, ...]


def page_of_history(series: Series, findings: Findings, stock: Stock) -> HistoryPage:
    """Return the history of a stock."""
    entries = tuple(_entry(series, findings, stock, test) for test in reversed(stock.tests))
    return HistoryPage(
        stock=Link(label=stock.name, address=address_of_stock(stock.slug) if stock.tests else ""),
        former_names=stock.former_slugs,
        summary=_summary(stock),
        entries=entries,
    )


def changes_between(before: Test, after: Test) -> tuple[Change, ...]:
    """Return what was set up otherwise in the later of two tests."""
    pairs = [
        ("Exposure index", f"{before.exposure_index:g}", f"{after.exposure_index:g}"),
        ("Emulsion", before.emulsion, after.emulsion),
        ("Developer", before.developed.developer, after.developed.developer),
        ("Development time", f"{before.developed.time_min:g} min", f"{after.developed.time_min:g} min"),
        ("Temperature", _degrees(before), _degrees(after)),
        ("Agitation", before.developed.agitation, after.developed.agitation),
        ("Batch", before.developed.batch, after.developed.batch),
        ("Wedge", before.exposure.wedge, after.exposure.wedge),
        ("Exposure", _lux_seconds(before), _lux_seconds(after)),
        ("Steps read", _steps(before), _steps(after)),
        ("Frames read", _frames(before), _frames(after)),
        ("Print exposure", _seconds(before), _seconds(after)),
    ]
    return tuple(
        Change(what=what, before=old or "not told", after=new or "not told") for what, old, new in pairs if old != new
    )


def _entry(series: Series, findings: Findings, stock: Stock, test: Test) -> HistoryEntry:
    found = findings.tests[test.key]
    earlier = found.moved_from or test.development_of
    patches = {patch.id: patch.name for patch in series.patches}
    before = stock.test(earlier) if earlier else None
    moves = [
        _move(measure.name, address_of_definition(measure.id), found.movement[measure.id])
        for measure in MEASURES
        if measure.id in found.movement
    ]
    moves += [
        _move(f"{patches[patch]}, from grey", f"{address_of_test(test)}#{patch}", moved)
        for patch, moved in found.patch_movement.items()
    ]
    return HistoryEntry(
        id=test.id,
        date=format_date(test.date),
        test=_link(test),
        standing=_standing(stock, test),
        done=_done(test),
        reason=tidy(test.reason),
        replaces=_link(stock.test(test.replaces)) if test.replaces else None,
        replaced_by=_link(stock.test(test.replaced_by)) if test.replaced_by else None,
        withdrawn=tidy(test.withdrawn),
        changes=changes_between(before, test) if before else (),
        compared_with=_link(before) if before else None,
        side_by_side=Link(label="Both tests side by side", address=address_of_any_two(test.key, before.key))
        if before
        else None,
        departures=test.departures,
        moved=tuple(move for move in moves if move.standing in ("higher", "lower")),
        unmoved=tuple(move for move in moves if move.standing == "same"),
    )


def _move(name: str, address: str, comparison: Comparison) -> Move:
    return Move(
        name=name,
        definition_address=address,
        difference=format_difference(comparison),
        standing=standing_of(comparison),
        could_see=format_limit(comparison),
    )


def _standing(stock: Stock, test: Test) -> str:
    if test.withdrawn:
        return "withdrawn"
    if test.id == stock.current:
        return "current"
    if test.replaced_by:
        return "replaced"
    if test.development_of:
        return "development"
    return "repeat" if test.repeat else "earlier"


def _done(test: Test) -> str:
    degrees = _degrees(test)
    how = f"Exposed at EI {test.exposure_index:g}, developed for {test.developed.time_min:g} min"
    return how + (f" at {degrees}." if degrees else ".")


def _summary(stock: Stock) -> str:
    count = len(stock.tests)
    if count == 0:
        return f"{stock.name} has not been tested yet."
    tests = f"{say_count(count)} test" + ("" if count == 1 else "s")
    replaced = sum(1 for test in stock.tests if test.replaced_by)
    withdrawn = sum(1 for test in stock.tests if test.withdrawn)
    parts = [f"{stock.name} has {tests}"]
    if replaced:
        parts.append(f"{say_count(replaced)} of them replaced by a later one")
    if withdrawn:
        parts.append(f"{say_count(withdrawn)} withdrawn")
    return ", ".join(parts) + ". Every one stays readable."


def _link(test: Test) -> Link:
    return Link(label=name_test(test), address=address_of_test(test))


def _degrees(test: Test) -> str | None:
    return None if test.developed.temperature_c is None else f"{test.developed.temperature_c:g} °C"


def _lux_seconds(test: Test) -> str | None:
    return None if test.exposure.lux_s is None else f"{test.exposure.lux_s:g} lux s"


def _seconds(test: Test) -> str | None:
    return None if test.print_exposure_s is None else f"{test.print_exposure_s:g} s"


def _steps(test: Test) -> str | None:
    return None if test.wedge is None else str(len(test.wedge.steps))


def _frames(test: Test) -> str | None:
    return None if test.bracket is None else str(len(test.bracket.frames))
