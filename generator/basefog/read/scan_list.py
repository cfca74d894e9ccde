"""The scans that a test lists, each with its calibration and its own boxes."""

import posixpath

import numpy as np

from basefog.read.calibrations import parse_code_density
from basefog.read.folder import Entry, SeriesFolder
from basefog.read.models import ScanKeys, SeriesKeys, TestKeys
from basefog.read.problem_list import ProblemList, did_you_mean
from basefog.read.scans import SUFFIXES, ScanFaultError, ScanHeader, read_scan_header
from basefog.read.tables import DENSITY_LIMIT, read_table, suffix_of
from basefog.read.validate import Checked
from basefog.records.content import Box, InputFile, Scan
from basefog.records.problem import Place

CodeDensity = tuple[tuple[float, float], ...]

FEW_POINTS = 16
LINEAR_WITHIN = 0.02
"""A scale of fewer than 16 points is remarked unless all of them lie this near one straight line, in density."""


def read_scans(
    folder: SeriesFolder,
    test_path: str,
    checked: Checked[TestKeys],
    series: Checked[SeriesKeys],
    inputs: list[InputFile],
    problems: ProblemList,
) -> tuple[tuple[Scan, ...], frozenset[str]]:
    """Return the scans of a test, in the order listed, and the paths of the files that they use."""
    scans: list[Scan] = []
    used: set[str] = set()
    for index, keys in enumerate(checked.keys.scans):
        place = checked.place("scans", index, "file")
        entry = find_named(folder, test_path, keys.file, place, problems)
        calibration = _read_calibration(folder, test_path, checked, index, inputs, used, problems)
        _check_boxes(keys, checked, index, series, problems)
        if entry is None:
            continue
        if entry.path in used:
            problems.problem(place, f"file: `{keys.file}` is listed twice", "Keep one of the two entries.")
            continue
        used.add(entry.path)
        scan = _read_scan(folder, entry, keys, place, calibration, problems)
        if scan is not None:
            scans.append(scan)
    return tuple(scans), frozenset(used)


def find_named(folder: SeriesFolder, test_path: str, name: str, place: Place, problems: ProblemList) -> Entry | None:
    """Return the file that a test names, inside the series; a problem and None where there is none."""
    path = posixpath.normpath(posixpath.join(test_path, name))
    if "\\" in name or name.startswith("/") or path.startswith("../"):
        problems.problem(
            place,
            f"file: found '{name}', expected a path inside the series",
            "Write it from the test's folder, with `/`.",
        )
        return None
    entry = folder.find(path)
    if entry is None or entry.is_folder:
        parent = posixpath.dirname(path)
        siblings = [other.path for other in folder.list(parent) if not other.is_folder]
        names = [posixpath.relpath(sibling, test_path) for sibling in siblings]
        problems.problem(
            place, f"file: there is no `{name}`{did_you_mean(name, names)}", "Correct the name, or add the file."
        )
        return None
    return entry


def _read_scan(
    folder: SeriesFolder,
    entry: Entry,
    keys: ScanKeys,
    place: Place,
    calibration: CodeDensity | None,
    problems: ProblemList,
) -> Scan | None:
    if not entry.name.lower().endswith(SUFFIXES):
        problems.problem(
            place, f"file: `{keys.file}` is no TIFF, PNG, JPEG or WebP by its name", "Name the scan itself."
        )
        return None
    try:
        header = read_scan_header(folder.absolute(entry))
    except ScanFaultError as fault:
        problems.problem(Place(path=entry.path), f"the scan {fault.message}", fault.mend)
        return None
    if not _check_codes(header, keys, calibration, place, problems):
        return None
    digest = folder.read_digest(entry)
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


def _check_codes(
    header: ScanHeader, keys: ScanKeys, calibration: CodeDensity | None, place: Place, problems: ProblemList
) -> bool:
    if header.is_float:
        if keys.code_density is None:
            problems.problem(
                place,
                "the scan is floating point and has no code_density",
                "Give its code_density, or save it in 16 bits.",
            )
            return False
        return True
    highest = 2**header.bits - 1
    wrong = [code for code, _ in calibration or () if not 0 <= code <= highest]
    if wrong:
        problems.problem(
            place,
            f"code_density: found the code {wrong[0]:g}, expected 0 to {highest} in a scan of {header.bits} bits",
            "Give the codes as the scan itself holds them.",
        )
    return not wrong


def _read_calibration(
    folder: SeriesFolder,
    test_path: str,
    checked: Checked[TestKeys],
    index: int,
    inputs: list[InputFile],
    used: set[str],
    problems: ProblemList,
) -> CodeDensity | None:
    given = checked.keys.scans[index].code_density
    place = checked.place("scans", index, "code_density")
    if given is None:
        return None
    if isinstance(given, str):
        entry = find_named(folder, test_path, given, place, problems)
        if entry is None:
            return None
        used.add(entry.path)
        if suffix_of(entry.name) is None:
            problems.problem(
                place, f"code_density: `{given}` is no table by its name", "Name a table such as code.csv."
            )
            return None
        table = read_table(folder, entry, "code", problems)
        pairs = parse_code_density(table, problems) if table else None
        if table is None or pairs is None:
            return None
        inputs.append(table.input)
    else:
        pairs = tuple(sorted(given))
    return pairs if _check_scale(pairs, place, problems) else None


def _check_scale(pairs: CodeDensity, place: Place, problems: ProblemList) -> bool:
    codes = [code for code, _ in pairs]
    densities = [density for _, density in pairs]
    if len(pairs) < 2:
        problems.problem(place, "code_density: found one pair or none, expected two or more", "Give more pairs.")
        return False
    if len(set(codes)) < len(codes):
        twice = next(code for before, code in zip(codes, codes[1:], strict=False) if code == before)
        problems.problem(place, f"code_density: the code {twice:g} is there twice", "Keep one of the two.")
        return False
    outside = [density for density in densities if not 0 <= density <= DENSITY_LIMIT]
    if outside:
        problems.problem(place, f"code_density: found the density {outside[0]:g}, expected 0 to 6", "Correct the pair.")
        return False
    steps = np.diff(densities)
    if not (np.all(steps <= 0) or np.all(steps >= 0)) or densities[0] == densities[-1]:
        problems.problem(
            place,
            "code_density: the density turns back as the code rises",
            "Correct the pairs: density falls all the way, or rises all the way.",
        )
        return False
    if len(pairs) < FEW_POINTS:
        line = np.polynomial.Polynomial.fit(codes, densities, 1)
        if float(np.max(np.abs(line(np.array(codes)) - densities))) > LINEAR_WITHIN:
            problems.remark(
                place,
                f"code_density: {len(pairs)} points, and they are not on a line; between them density is uncertain",
                f"Calibrate the scanner at {FEW_POINTS} densities or more.",
            )
    return True


def _check_boxes(
    keys: ScanKeys, checked: Checked[TestKeys], index: int, series: Checked[SeriesKeys], problems: ProblemList
) -> None:
    if "views" in series.broken:
        return
    subjects = {view.id: view.of for view in series.keys.views}
    for view in sorted(keys.views):
        place = checked.place("scans", index, "views", view)
        if view not in subjects:
            problems.problem(
                place,
                f"views: no view is named `{view}`{did_you_mean(view, subjects)}",
                "Name a view of series.yaml.",
            )
        elif subjects[view] != keys.of:
            problems.problem(
                place,
                f"views: `{view}` is cut from a {subjects[view]}, and this is a scan of a {keys.of}",
                f"Move the box to a scan of a {subjects[view]}.",
            )
