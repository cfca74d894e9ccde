"""The folder `stocks`: every stock with its notes and its tests."""

from dataclasses import dataclass, field
from typing import Final

from basefog.read.fields import is_slug, parse_test_id
from basefog.read.folder import Entry
from basefog.read.history import plan_history
from basefog.read.known_files import tell_unknown
from basefog.read.models import StockKeys
from basefog.read.problem_list import ProblemList
from basefog.read.prose import read_prose
from basefog.read.tests import Surroundings, TestReader
from basefog.read.validate import Checked
from basefog.read.yaml_files import read_keys
from basefog.records.content import Prose, Stock, Test
from basefog.records.problem import Place

RESERVED_SLUGS: Final = {"schema"}
"""Slugs that would take the place of the site's own files: `data/schema/` holds the JSON Schemas."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StockReading:
    """A stock as far as it could be read: its record, its keys, the ids of all its test folders, and all its prose.

    `unmeasured` holds what can be named and has no figures: the stock itself where no test is current, and `stock/test`
    where a test is under way.
    """

    slug: str
    stock: Stock | None
    keys: Checked[StockKeys] | None
    test_ids: frozenset[str]
    prose: tuple[Prose, ...]
    unmeasured: frozenset[str]


@dataclass(kw_only=True, slots=True)
class _StockFiles:
    """What a stock's folder holds."""

    notes: Prose | None = None
    tests: list[Entry] = field(default_factory=list)


def read_stocks(around: Surroundings, problems: ProblemList) -> tuple[StockReading, ...]:
    """Return every stock of the series, by slug."""
    found: list[StockReading] = []
    for entry in around.folder.list("stocks"):
        if not entry.is_folder:
            tell_unknown(entry, (), problems)
            continue
        if not is_slug(entry.name) or entry.name in RESERVED_SLUGS:
            expected = (
                "another slug, since the site needs this one"
                if is_slug(entry.name)
                else "a slug of a-z, 0-9 and hyphens"
            )
            problems.problem(entry.place, f"found the folder '{entry.name}', expected {expected}", "Rename the folder.")
        found.append(_read_stock(entry, around, problems))
    return tuple(found)


def _read_stock(folder: Entry, around: Surroundings, problems: ProblemList) -> StockReading:
    files = _list_files(folder, around, problems)
    path = f"{folder.path}/stock.yaml"
    keys = read_keys(around.folder, path, StockKeys, {"name": "?", "box_speed": "1"}, problems)
    if not files.tests:
        _check_untested(keys, Place(path=path), problems)
    readers = {entry.name: TestReader(entry, around, problems) for entry in files.tests}
    checked = {test_id: reader.checked for test_id, reader in readers.items() if reader.checked is not None}
    before = problems.count
    history = plan_history(checked, sorted(readers), problems)
    is_known = problems.count == before and len(checked) == len(readers)
    read = [reader.read(folder.name, history.successors.get(test_id)) for test_id, reader in readers.items()]
    tests = [test for test in read if test is not None]
    prose = (files.notes, *(reader.notes for reader in readers.values()))
    stock = _stock(folder.name, keys, tests, history.current, files.notes) if keys else None
    unmeasured = {test.key for test in tests if test.under_way}
    if is_known and history.current is None:
        unmeasured.add(folder.name)
    return StockReading(
        slug=folder.name,
        stock=stock,
        keys=keys,
        test_ids=frozenset(readers),
        prose=tuple(notes for notes in prose if notes is not None),
        unmeasured=frozenset(unmeasured),
    )


def _check_untested(keys: Checked[StockKeys] | None, place: Place, problems: ProblemList) -> None:
    """Remark a stock that has no tests and does not say why."""
    if keys is not None and (keys.keys.planned or keys.keys.unobtainable or keys.broken & {"planned", "unobtainable"}):
        return
    problems.remark(
        place,
        "this stock has no test, and says neither `planned` nor `unobtainable`",
        "Add a test folder such as 2026-03-14, with a test.yaml, or a line such as `planned: true`.",
    )


def _stock(
    slug: str, checked: Checked[StockKeys], tests: list[Test], current: str | None, notes: Prose | None
) -> Stock:
    keys = checked.keys
    return Stock(
        slug=slug,
        name=keys.name,
        maker=keys.maker,
        box_speed=keys.box_speed,
        process=keys.process,
        formats=keys.formats,
        former_slugs=keys.former_slugs,
        tests=tuple(test for test in tests if not test.under_way),
        current=current,
        notes=notes,
        place=checked.node.place,
        under_way=tuple(test for test in tests if test.under_way),
        planned=keys.planned,
        unobtainable=keys.unobtainable,
    )


def _list_files(folder: Entry, around: Surroundings, problems: ProblemList) -> _StockFiles:
    files = _StockFiles()
    for entry in around.folder.list(folder.path):
        if entry.is_folder and parse_test_id(entry.name):
            files.tests.append(entry)
        elif entry.is_folder:
            problems.problem(
                entry.place,
                f"found the folder '{entry.name}', expected a test such as 2026-03-14 or 2026-03-14-b",
                "Name the folder by the day of the test.",
            )
        elif entry.name == "notes.md":
            files.notes = read_prose(around.folder, entry, problems)
        elif entry.name != "stock.yaml":
            tell_unknown(entry, ("stock.yaml", "notes.md"), problems)
    return files
