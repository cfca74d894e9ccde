"""The scans that a test lists, each with its calibration and its own boxes."""

import posixpath
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

import numpy as np

from basefog.read.calibrations import Pairs, parse_code_density
from basefog.read.folder import Entry, SeriesFolder
from basefog.read.models import ScanKeys, SeriesKeys, TestKeys
from basefog.read.problem_list import ProblemList, did_you_mean
from basefog.read.tables import DENSITY_LIMIT, read_table, suffix_of
from basefog.read.validate import Checked
from basefog.records.content import Box, InputFile, Scan
from basefog.records.problem import Place
from basefog.scanfiles import SUFFIXES, ScanFaultError, ScanHeader, read_scan_header

FEW_POINTS: Final = 16
LINEAR_WITHIN: Final = 0.02
"""A calibration of fewer than 16 points is remarked unless all of them lie this near one straight line, in density."""


@dataclass(kw_only=True, slots=True)
class ScanList:
    """The scans of a test in the order listed, the files that they use, and the tables among those.

    `is_whole` is False where a file that is named was not found: what else lies there may then be meant for it.
    """

    scans: list[Scan] = field(default_factory=list)
    used: set[str] = field(default_factory=set)
    inputs: list[InputFile] = field(default_factory=list)
    is_whole: bool = True


class ScanReader:
    """Reads the scans of one test."""

    def __init__(
        self, folder: SeriesFolder, checked: Checked[TestKeys], series: Checked[SeriesKeys], problems: ProblemList
    ) -> None:
        self._folder = folder
        self._checked = checked
        self._series = series
        self._problems = problems
        self._test_path = posixpath.dirname(checked.node.place.path)

    def read(self) -> ScanList:
        """Return the scans, with problems for those that can't be used."""
        found = ScanList()
        for index, keys in enumerate(self._checked.keys.scans):
            entry = self._find(keys.file, index, "file")
            calibration = self._read_calibration(index, found)
            self._check_boxes(keys, index)
            if entry is None:
                found.is_whole = False
                continue
            place = self._checked.place("scans", index, "file")
            if entry.path in found.used:
                self._problems.problem(place, f"file: `{keys.file}` is listed twice", "Keep one of the two entries.")
                continue
            found.used.add(entry.path)
            scan = self._read_scan(entry, keys, index, calibration)
            if scan is not None:
                found.scans.append(scan)
        return found

    def _find(self, name: str, index: int, key: str) -> Entry | None:
        """Return the file that a test names, inside the series; a problem and None where there is none."""
        place = self._checked.place("scans", index, key)
        path = posixpath.normpath(posixpath.join(self._test_path, name))
        if "\\" in name or name.startswith("/") or path.startswith(".."):
            self._problems.problem(
                place,
                f"{key}: found '{name}', expected a path inside the series",
                "Write it from the test's folder, with `/` between folders.",
            )
            return None
        siblings = [entry.name for entry in self._folder.list(posixpath.dirname(path)) if not entry.is_folder]
        return self._folder.find_named(path, place, tuple(siblings))

    def _read_scan(self, entry: Entry, keys: ScanKeys, index: int, calibration: Pairs | None) -> Scan | None:
        place = self._checked.place("scans", index, "file")
        if not entry.name.lower().endswith(SUFFIXES):
            self._problems.problem(
                place, f"file: `{keys.file}` is no TIFF, PNG, JPEG or WebP by its name", "Name the scan itself."
            )
            return None
        try:
            header = read_scan_header(self._folder.absolute(entry))
        except ScanFaultError as fault:
            self._problems.problem(entry.place, f"the scan {fault.message}", fault.mend)
            return None
        self._check_codes(header, keys, index, calibration)
        digest = self._folder.read_digest(entry)
        if digest is None:
            return None
        return Scan(
            path=entry.path,
            of=keys.of,
            width_px=header.width_px,
            height_px=header.height_px,
            bits=header.bits,
            pixels_per_mm=keys.pixels_per_mm,
            code_density=calibration,
            boxes={view: Box(x=x, y=y, w=w, h=h) for view, (x, y, w, h) in sorted(keys.views.items())},
            sha256=digest,
            place=place,
        )

    def _check_codes(self, header: ScanHeader, keys: ScanKeys, index: int, calibration: Pairs | None) -> None:
        if header.is_float:
            if keys.code_density is None:
                self._problems.problem(
                    self._checked.place("scans", index, "file"),
                    "the scan is floating point and has no code_density",
                    "Give its code_density, or save it in 16 bits.",
                )
            return
        highest = 2**header.bits - 1
        wrong = [code for code, _ in calibration or () if not 0 <= code <= highest]
        if wrong:
            self._problems.problem(
                self._checked.place("scans", index, "code_density"),
                f"code_density: found the code {wrong[0]:g}, expected 0 to {highest} in a scan of {header.bits} bits",
                "Give the codes as the scan itself holds them.",
            )

    def _read_calibration(self, index: int, found: ScanList) -> Pairs | None:
        given = self._checked.keys.scans[index].code_density
        place = self._checked.place("scans", index, "code_density")
        if given is None:
            return None
        if not isinstance(given, str):
            pairs = tuple(sorted(given))
            return pairs if _check_calibration(pairs, place, self._problems) else None
        entry = self._find(given, index, "code_density")
        if entry is None:
            found.is_whole = False
            return None
        found.used.add(entry.path)
        if suffix_of(entry.name) is None:
            self._problems.problem(
                place, f"code_density: `{given}` is no table by its name", "Name a table such as code.csv."
            )
            return None
        table = read_table(self._folder, entry, "code", self._problems)
        from_table = parse_code_density(table, self._problems) if table else None
        if table is None or from_table is None:
            return None
        found.inputs.append(table.input)
        return from_table if _check_calibration(from_table, table.place(), self._problems) else None

    def _check_boxes(self, keys: ScanKeys, index: int) -> None:
        if "views" in self._series.broken:
            return
        subjects = {view.id: view.of for view in self._series.keys.views}
        for view in sorted(keys.views):
            place = self._checked.place("scans", index, "views", view)
            if view not in subjects:
                self._problems.problem(
                    place,
                    f"views: no view is named `{view}`{did_you_mean(view, subjects)}",
                    "Name a view of series.yaml.",
                )
            elif subjects[view] != keys.of:
                self._problems.problem(
                    place,
                    f"views: `{view}` is cut from a {subjects[view]}, and this is a scan of a {keys.of}",
                    f"Move the box to a scan of a {subjects[view]}.",
                )


def _check_calibration(pairs: Pairs, place: Place, problems: ProblemList) -> bool:
    """Return whether pairs, by rising code, turn every code into one density; remark on few and bent ones."""
    codes = [code for code, _ in pairs]
    densities = [density for _, density in pairs]
    twice = [code for before, code in pairwise(codes) if code == before]
    outside = [density for density in densities if not 0 <= density <= DENSITY_LIMIT]
    steps = [after - before for before, after in pairwise(densities)]
    fault = mend = None
    if len(pairs) < 2:
        fault, mend = "found fewer than two pairs", "Give more pairs."
    elif twice:
        fault, mend = f"the code {twice[0]:g} is there twice", "Keep one of the two."
    elif outside:
        fault, mend = f"found the density {outside[0]:g}, expected 0 to 6", "Correct the pair."
    elif (min(steps) < 0 < max(steps)) or densities[0] == densities[-1]:
        fault = "the density turns back as the code rises"
        mend = "Correct the pairs: density falls all the way, or rises all the way."
    if fault is not None and mend is not None:
        problems.problem(place, f"code_density: {fault}", mend)
        return False
    if len(pairs) < FEW_POINTS:
        line = np.polynomial.Polynomial.fit(codes, densities, 1)
        if float(np.max(np.abs(line(np.array(codes)) - densities))) > LINEAR_WITHIN:
            problems.remark(
                place,
                f"code_density: {len(pairs)} points that are not on a line; between them density is uncertain",
                f"Calibrate the scanner at {FEW_POINTS} densities or more.",
            )
    return True
