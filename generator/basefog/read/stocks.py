"""The folder `stocks`: every stock, every test of it, and the files a test consists of."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from basefog.read.calibrations import Known
from basefog.read.fields import is_slug, parse_test_id
from basefog.read.folder import Entry, SeriesFolder
from basefog.read.history import plan_history
from basefog.read.known_files import tell_unknown
from basefog.read.models import ExposureKeys, SeriesKeys, StockKeys, TestKeys
from basefog.read.problem_list import ProblemList, did_you_mean
from basefog.read.prose import read_prose
from basefog.read.readings import Setup, read_bracket_readings, read_wedge_readings
from basefog.read.tables import Table, find_tables, read_table
from basefog.read.scan_list import read_scans
from basefog.read.validate import Checked
from basefog.read.yaml_files import read_keys
from basefog.records.content import (
    Batch,
    BracketReadings,
    Chapter,
    Development,
    Exposure,
    InputFile,
    Prose,
    Reading,
    Stock,
    Test,
    Video,
    Wedge,
    WedgeReadings,
)
from basefog.records.problem import Place

RESERVED_SLUGS: Final = {"schema"}
"""Slugs that would take the place of the site's own files: `data/schema/` holds the JSON Schemas."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Surroundings:
    """What the whole series gives to each of its tests. Parts of `series` that are broken were told already."""

    folder: SeriesFolder
    series: Checked[SeriesKeys]
    wedges: Known[Wedge]
    batches: Known[Batch]
    repeatability: float


@dataclass(frozen=True, kw_only=True, slots=True)
class StockReading:
    """A stock as far as it could be read, and the ids of all its test folders."""

    slug: str
    stock: Stock | None
    keys: Checked[StockKeys] | None
    test_ids: frozenset[str]


def read_stocks(around: Surroundings, problems: ProblemList) -> tuple[StockReading, ...]:
    """Return every stock of the series, by slug."""
    found: list[StockReading] = []
    for entry in around.folder.list("stocks"):
        if not entry.is_folder:
            tell_unknown(entry, ("<slug>/",), problems)
        elif not is_slug(entry.name) or entry.name in RESERVED_SLUGS:
            expected = (
                "another slug: this one is taken by the site"
                if is_slug(entry.name)
                else "a slug of a-z, 0-9 and hyphens"
            )
            problems.problem(
                Place(path=entry.path), f"found the folder '{entry.name}', expected {expected}", "Rename the folder."
            )
        else:
            found.append(_read_stock(entry, around, problems))
    return tuple(found)


def _read_stock(folder_entry: Entry, around: Surroundings, problems: ProblemList) -> StockReading:
    slug = folder_entry.name
    keys: Checked[StockKeys] | None = None
    notes: Prose | None = None
    test_folders: list[Entry] = []
    for entry in around.folder.list(folder_entry.path):
        if entry.is_folder:
            if parse_test_id(entry.name):
                test_folders.append(entry)
            else:
                problems.problem(
                    Place(path=entry.path),
                    f"found the folder '{entry.name}', expected a test such as 2026-03-14 or 2026-03-14-b",
                    "Name the folder by the day of the test.",
                )
        elif entry.name == "notes.md":
            notes = read_prose(around.folder, entry, problems)
        elif entry.name != "stock.yaml":
            tell_unknown(entry, ("stock.yaml", "notes.md"), problems)
    path = f"{folder_entry.path}/stock.yaml"
    keys = read_keys(around.folder, path, StockKeys, {"name": "?", "box_speed": "1"}, problems)
    readings = {entry.name: _read_test_keys(entry, around, problems) for entry in test_folders}
    known = {test_id: checked for test_id, checked in readings.items() if checked is not None}
    history = plan_history(known, list(readings), problems)
    if not test_folders:
        problems.remark(
            Place(path=path), "this stock has no test yet", "Add a test folder such as 2026-03-14, with a test.yaml."
        )
    tests = [
        _read_test(entry, slug, readings[entry.name], history.successors, around, problems) for entry in test_folders
    ]
    test_ids = frozenset(readings)
    if keys is None:
        return StockReading(slug=slug, stock=None, keys=None, test_ids=test_ids)
    stock = Stock(
        slug=slug,
        name=keys.keys.name,
        maker=keys.keys.maker,
        box_speed=keys.keys.box_speed,
        process=keys.keys.process,
        formats=keys.keys.formats,
        former_slugs=keys.keys.former_slugs,
        tests=tuple(test for test in tests if test is not None),
        current=history.current,
        notes=notes,
        place=Place(path=path),
    )
    return StockReading(slug=slug, stock=stock, keys=keys, test_ids=test_ids)


def _read_test_keys(entry: Entry, around: Surroundings, problems: ProblemList) -> Checked[TestKeys] | None:
    stand_ins = {"exposure_index": "1", "developed": {"time_min": "1"}}
    return read_keys(around.folder, f"{entry.path}/test.yaml", TestKeys, stand_ins, problems)


def _read_test(
    folder_entry: Entry,
    slug: str,
    checked: Checked[TestKeys] | None,
    successors: Mapping[str, str],
    around: Surroundings,
    problems: ProblemList,
) -> Test | None:
    tables = find_tables(around.folder, folder_entry.path, problems)
    place = Place(path=f"{folder_entry.path}/test.yaml")
    if "wedge" not in tables and "bracket" not in tables:
        problems.problem(
            Place(path=f"{folder_entry.path}/wedge.csv"),
            "the test has no readings: neither wedge.csv nor bracket.csv is there",
            "Add the readings of the wedge, of the bracket, or both.",
        )
    exposure = _exposure(checked, around)
    wedge = _wedge(checked, exposure, around, problems)
    setup = Setup(
        exposure=exposure,
        wedge=wedge,
        patches=None if "patches" in around.series.broken else [patch.id for patch in around.series.keys.patches],
        repeatability=around.repeatability,
    )
    inputs: list[InputFile] = []
    wedge_readings: WedgeReadings | None = None
    bracket_readings: BracketReadings | None = None
    readings: tuple[Reading, ...] = ()
    if table := _table(around, tables, "wedge", "step", inputs, problems):
        wedge_readings, found = read_wedge_readings(table, setup, problems)
        readings += found
        if wedge_readings and wedge_readings.wedge in around.wedges.inputs:
            inputs.append(around.wedges.inputs[wedge_readings.wedge])
    if table := _table(around, tables, "bracket", "frame", inputs, problems):
        bracket_readings, found = read_bracket_readings(table, setup, problems)
        readings += found
        _check_bracket_protocol(around, table, problems)
    if checked is None:
        return None
    keys = checked.keys
    scans, used = read_scans(around.folder, folder_entry.path, checked, around.series, inputs, problems)
    notes = _read_test_folder(folder_entry, around, used, problems)
    _check_batch(checked, around, problems)
    protocol = around.series.keys.protocol
    test_date = parse_test_id(folder_entry.name)
    assert test_date is not None
    return Test(
        stock=slug,
        id=folder_entry.name,
        date=test_date,
        exposure_index=keys.exposure_index,
        emulsion=keys.emulsion,
        developed=Development(
            developer=keys.developed.developer or protocol.developer,
            temperature_c=protocol.temperature_c
            if keys.developed.temperature_c is None
            else keys.developed.temperature_c,
            time_min=keys.developed.time_min,
            agitation=keys.developed.agitation,
            batch=keys.developed.batch,
        ),
        replaces=keys.replaces,
        replaced_by=successors.get(folder_entry.name),
        reason=keys.reason,
        withdrawn=keys.withdrawn,
        departures=keys.departures,
        exposure=exposure,
        repeat=keys.repeat,
        development_of=keys.development_of,
        print_exposure_s=keys.print.exposure_s if keys.print else None,
        scans=scans,
        video=_video(keys),
        wedge=wedge_readings,
        bracket=bracket_readings,
        readings=readings,
        inputs=tuple(sorted(set(inputs), key=lambda item: item.path)),
        notes=notes,
        place=place,
    )


def _read_test_folder(
    folder_entry: Entry, around: Surroundings, used: frozenset[str], problems: ProblemList
) -> Prose | None:
    notes: Prose | None = None
    for entry in around.folder.list(folder_entry.path):
        if entry.is_folder:
            if entry.name != "scans":
                tell_unknown(entry, ("scans/",), problems)
        elif entry.name == "notes.md":
            notes = read_prose(around.folder, entry, problems)
        elif entry.name != "test.yaml" and entry.path not in used and not entry.name.startswith(("wedge.", "bracket.")):
            tell_unknown(entry, ("test.yaml", "wedge.csv", "bracket.csv", "notes.md"), problems)
    for entry in around.folder.list(f"{folder_entry.path}/scans"):
        if entry.path not in used:
            problems.remark(
                Place(path=entry.path),
                "no scan in test.yaml names this file",
                "List it under `scans`, or take it away.",
            )
    return notes


def _table(
    around: Surroundings,
    tables: Mapping[str, Entry],
    stem: str,
    key_column: str,
    inputs: list[InputFile],
    problems: ProblemList,
) -> Table | None:
    if stem not in tables:
        return None
    table = read_table(around.folder, tables[stem], key_column, problems)
    if table is not None:
        inputs.append(table.input)
    return table


def _exposure(checked: Checked[TestKeys] | None, around: Surroundings) -> Exposure:
    keys = checked.keys.exposure if checked else None
    return exposure_of(keys or around.series.keys.exposure)


def exposure_of(keys: ExposureKeys) -> Exposure:
    """Return the record of an `exposure` key."""
    return Exposure(wedge=keys.wedge, lux_s=keys.lux_s, absolute=keys.absolute)


def _wedge(
    checked: Checked[TestKeys] | None, exposure: Exposure, around: Surroundings, problems: ProblemList
) -> Wedge | None:
    own = checked is not None and checked.keys.exposure is not None
    if exposure.wedge is None or exposure.wedge in around.wedges.broken:
        return None
    if exposure.wedge in around.wedges.records:
        return around.wedges.records[exposure.wedge]
    if own and checked is not None:
        tell_no_wedge(checked.place("exposure", "wedge"), exposure.wedge, around.wedges, problems)
    return None


def tell_no_wedge(place: Place, name: str, wedges: Known[Wedge], problems: ProblemList) -> None:
    """Add the problem of a wedge that no file calibrates."""
    problems.problem(
        place,
        f"wedge: there is no wedges/{name}.csv{did_you_mean(name, wedges.records)}",
        "Name a wedge that is there, or add its file.",
    )


def _check_batch(checked: Checked[TestKeys], around: Surroundings, problems: ProblemList) -> None:
    batch = checked.keys.developed.batch
    if batch is not None and batch not in around.batches:
        problems.problem(
            checked.place("developed", "batch"),
            f"batch: there is no batches/{batch}.yaml{did_you_mean(batch, around.batches.records)}",
            "Name a batch that is there, or add its file.",
        )


def _check_bracket_protocol(around: Surroundings, table: Table, problems: ProblemList) -> None:
    if "protocol" in around.series.broken:
        return
    protocol = around.series.keys.protocol
    for name, example in (("bracket_step_stops", "1/3"), ("grey_patch", "grey"), ("shadow_patch", "dark")):
        if getattr(protocol, name) is None:
            problems.problem(
                around.series.place("protocol"),
                f"{name} is missing, and there are bracketed frames",
                f"Add a line such as `{name}: {example}` to `protocol`.",
            )


def _video(keys: TestKeys) -> Video | None:
    if keys.video is None:
        return None
    chapters = tuple(Chapter(at_s=chapter.at, title=chapter.title) for chapter in keys.video.chapters)
    return Video(address=keys.video.address, chapters=tuple(sorted(chapters, key=lambda chapter: chapter.at_s)))
