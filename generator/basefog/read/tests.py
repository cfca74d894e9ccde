"""One test: its keys, its readings, its scans and notes, joined into one record."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from basefog.read.bracket_table import read_bracket_table
from basefog.read.calibrations import Known
from basefog.read.corrections import corrections_of
from basefog.read.exposures import check_exposure, exposure_of
from basefog.read.fields import parse_test_id
from basefog.read.folder import Entry, SeriesFolder
from basefog.read.known_files import is_nearly_table, tell_nearly_table, tell_unknown
from basefog.read.models import ExposureKeys, SeriesKeys, TestKeys
from basefog.read.problem_list import ProblemList
from basefog.read.prose import read_prose
from basefog.read.readings import Setup
from basefog.read.scan_list import ScanList, ScanReader
from basefog.read.tables import SUFFIXES, Table, find_tables, read_table
from basefog.read.validate import Checked
from basefog.read.wedge_table import read_wedge_table
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
    Test,
    Video,
    Wedge,
    WedgeReadings,
)
from basefog.records.problem import Place

_STEMS: Final = ("wedge", "bracket")


@dataclass(frozen=True, kw_only=True, slots=True)
class Surroundings:
    """What the whole series gives to each of its tests. Parts of `series` that are broken were told already."""

    folder: SeriesFolder
    series: Checked[SeriesKeys]
    wedges: Known[Wedge]
    batches: Known[Batch]
    repeatability: float


class TestReader:
    """Reads one test folder: its keys first, since the stock's history is made of those, then all the rest."""

    def __init__(self, entry: Entry, around: Surroundings, problems: ProblemList) -> None:
        stand_ins = {"exposure_index": "1", "developed": {"time_min": "1"}}
        self._entry = entry
        self._around = around
        self._problems = problems
        self._readings: tuple[Reading, ...] = ()
        self._inputs: list[InputFile] = []
        self._scans: ScanList | None = None
        self.notes: Prose | None = None
        self.checked = read_keys(around.folder, f"{entry.path}/test.yaml", TestKeys, stand_ins, problems)

    def read(self, slug: str, replaced_by: str | None) -> Test | None:
        """Return the test; None where its keys could not be read at all."""
        if self.checked is not None:
            check_exposure(self.checked, self._problems)
        exposure = self._exposure()
        if self.checked is not None and self.checked.keys.under_way:
            self._check_under_way(exposure)
            self._read_notes()
            return self._record(slug, exposure, None, None)
        tables = find_tables(self._around.folder, self._entry.path, self._problems)
        if not {"wedge", "bracket"} & set(tables) and not self._holds_unread_table():
            self._problems.problem(
                Place(path=f"{self._entry.path}/wedge.csv"),
                "the test has no readings: neither wedge.csv nor bracket.csv is there",
                "Add the readings of the wedge, of the bracket, or both.",
            )
        setup = self._setup(exposure, self._find_wedge(exposure))
        wedge = self._read_wedge(tables, setup)
        bracket = self._read_bracket(tables, setup)
        self._scans = self._read_scans()
        self._read_notes()
        test = self._record(slug, exposure, wedge, bracket)
        return replace(test, replaced_by=replaced_by) if test else None

    def _setup(self, exposure: Exposure | None, wedge: Wedge | None) -> Setup:
        series = self._around.series
        return Setup(
            exposure=exposure,
            exposure_place=self._exposure_source().place("exposure"),
            wedge=wedge,
            patches=None if "patches" in series.broken else tuple(patch.id for patch in series.keys.patches),
            repeatability=self._around.repeatability,
            bracket_step_stops=None if "protocol" in series.broken else series.keys.protocol.bracket_step_stops,
        )

    def _check_under_way(self, exposure: Exposure | None) -> None:
        """Remark a test that is under way no longer: a table of it holds readings. Blank forms are no readings."""
        unsaid = ProblemList()
        setup = self._setup(exposure, self._around.wedges.records.get(exposure.wedge or "") if exposure else None)
        for stem, entry in find_tables(self._around.folder, self._entry.path, unsaid).items():
            key_column = {"wedge": "step", "bracket": "frame"}.get(stem)
            if key_column is None:
                continue
            table = read_table(self._around.folder, entry, key_column, unsaid, same_headings=stem == "wedge")
            read = read_wedge_table if stem == "wedge" else read_bracket_table
            if table is not None and read(table, setup, unsaid)[1] and self.checked is not None:
                self._problems.remark(
                    self.checked.place("under_way"),
                    f"under_way: {entry.name} holds readings, and the test is not published",
                    "Take `under_way` out when the readings are in.",
                )
                return

    def _holds_unread_table(self) -> bool:
        """Return whether readings are there that may not be used, or have a name or shape that is not read."""
        paths = [f"{self._entry.path}/{stem}{suffix}" for stem in _STEMS for suffix in SUFFIXES]
        is_refused = any(self._around.folder.was_refused(path) for path in paths)
        return is_refused or any(
            _is_table_in_wrong_shape(entry) for entry in self._around.folder.list(self._entry.path)
        )

    def _exposure(self) -> Exposure | None:
        """Return how the wedge was exposed, None where a fault in that was told."""
        if self.checked is None or "exposure" in self.checked.broken:
            return None
        if self.checked.keys.exposure is not None:
            return exposure_of(self.checked.keys.exposure)
        series = self._around.series
        return None if "exposure" in series.broken else exposure_of(series.keys.exposure)

    def _exposure_source(self) -> Checked[TestKeys] | Checked[SeriesKeys]:
        """Return the file that tells the exposure."""
        own = self.checked is not None and self.checked.keys.exposure is not None
        return self.checked if self.checked is not None and own else self._around.series

    def _find_wedge(self, exposure: Exposure | None) -> Wedge | None:
        if exposure is None or exposure.wedge is None:
            return None
        if self.checked is not None and self.checked.keys.exposure is not None:
            place = self.checked.place("exposure", "wedge")
            check_reference(self._around.folder, "wedges", exposure.wedge, self._around.wedges, place)
        return self._around.wedges.records.get(exposure.wedge)

    def _read_table(self, tables: Mapping[str, Entry], stem: str, key_column: str) -> Table | None:
        if stem not in tables:
            return None
        table = read_table(self._around.folder, tables[stem], key_column, self._problems, same_headings=stem == "wedge")
        if table is not None:
            self._inputs.append(table.input)
        return table

    def _read_wedge(self, tables: Mapping[str, Entry], setup: Setup) -> WedgeReadings | None:
        table = self._read_table(tables, "wedge", "step")
        if table is None:
            return None
        wedge, readings = read_wedge_table(table, setup, self._problems)
        self._readings += readings
        if wedge is not None and wedge.wedge is not None:
            self._inputs.append(self._around.wedges.inputs[wedge.wedge])
        return wedge

    def _read_bracket(self, tables: Mapping[str, Entry], setup: Setup) -> BracketReadings | None:
        table = self._read_table(tables, "bracket", "frame")
        if table is None:
            return None
        self._check_bracket_protocol()
        bracket, readings = read_bracket_table(table, setup, self._problems)
        self._readings += readings
        return bracket

    def _check_bracket_protocol(self) -> None:
        series = self._around.series
        if "protocol" in series.broken:
            return
        for name, example in (("bracket_step_stops", "1/3"), ("grey_patch", "grey"), ("shadow_patch", "dark")):
            if getattr(series.keys.protocol, name) is None:
                self._problems.problem(
                    series.place("protocol"),
                    f"{name} is missing, and there are bracketed frames",
                    f"Add a line such as `{name}: {example}` to `protocol`.",
                )

    def _read_scans(self) -> ScanList | None:
        """Return the scans, None where the list of them could not be read."""
        if self.checked is None or "scans" in self.checked.broken:
            return None
        found = ScanReader(self._around.folder, self.checked, self._around.series, self._problems).read()
        self._inputs += found.inputs
        return found

    def _read_notes(self) -> None:
        """Read the notes, and tell of files that nothing names."""
        scans = self._scans
        tables = {f"{stem}{suffix}" for stem in _STEMS for suffix in SUFFIXES}
        for entry in self._around.folder.list(self._entry.path):
            if entry.name == "notes.md" and not entry.is_folder:
                self.notes = read_prose(self._around.folder, entry, self._problems)
            elif entry.name == "test.yaml" or (entry.is_folder and entry.name == "scans"):
                continue
            elif _is_table_in_wrong_shape(entry):
                tell_nearly_table(entry, self._problems)
            elif entry.name not in tables and scans is not None and scans.is_whole and entry.path not in scans.used:
                tell_unknown(entry, ("scans", "wedge.csv", "bracket.csv", "notes.md"), self._problems)
        for entry in self._around.folder.list(f"{self._entry.path}/scans"):
            if scans is not None and scans.is_whole and entry.path not in scans.used:
                self._problems.remark(
                    entry.place, "no scan in test.yaml names this file", "List it under `scans`, or take it away."
                )

    def _record(
        self, slug: str, exposure: Exposure | None, wedge: WedgeReadings | None, bracket: BracketReadings | None
    ) -> Test | None:
        """Return the test, not yet knowing its successor; None where its keys could not be read."""
        test_date = parse_test_id(self._entry.name)
        if self.checked is None or test_date is None:
            return None
        keys, batch = self.checked.keys, self.checked.keys.developed.batch
        if batch is not None and not keys.under_way:
            place = self.checked.place("developed", "batch")
            check_reference(self._around.folder, "batches", batch, self._around.batches, place)
        return Test(
            stock=slug,
            id=self._entry.name,
            date=test_date,
            exposure_index=keys.exposure_index,
            emulsion=keys.emulsion,
            developed=self._development(keys),
            replaces=keys.replaces,
            replaced_by=None,
            reason=keys.reason,
            withdrawn=keys.withdrawn,
            departures=keys.departures,
            exposure=exposure or exposure_of(ExposureKeys()),
            repeat=keys.repeat,
            development_of=keys.development_of,
            print_exposure_s=keys.print.exposure_s if keys.print else None,
            scans=tuple(self._scans.scans) if self._scans else (),
            video=_video(keys),
            wedge=wedge,
            bracket=bracket,
            readings=self._readings,
            inputs=tuple(sorted(set(self._inputs), key=lambda item: item.path)),
            notes=self.notes,
            place=self.checked.node.place,
            corrections=corrections_of(keys.corrections),
            under_way=keys.under_way,
            former_ids=keys.former_ids,
        )

    def _development(self, keys: TestKeys) -> Development:
        protocol, own = self._around.series.keys.protocol, keys.developed
        return Development(
            developer=own.developer or protocol.developer,
            temperature_c=protocol.temperature_c if own.temperature_c is None else own.temperature_c,
            time_min=own.time_min,
            agitation=own.agitation,
            batch=own.batch,
        )


def check_reference(folder: SeriesFolder, kind: str, name: str, known: Known[Any], place: Place) -> None:
    """Tell where a wedge, paper or batch that is named has no file."""
    if name not in known:
        suffix = ".yaml" if kind == "batches" else ".csv"
        siblings = tuple(f"{other}{suffix}" for other in known.records)
        folder.tell_missing(f"{kind}/{name}{suffix}", place, siblings)


def _is_table_in_wrong_shape(entry: Entry) -> bool:
    return entry.name.lower().partition(".")[0] in _STEMS and is_nearly_table(entry)


def _video(keys: TestKeys) -> Video | None:
    if keys.video is None:
        return None
    chapters = (Chapter(at_s=chapter.at, title=chapter.title) for chapter in keys.video.chapters)
    return Video(
        address=keys.video.address, chapters=tuple(sorted(chapters, key=lambda chapter: (chapter.at_s, chapter.title)))
    )
