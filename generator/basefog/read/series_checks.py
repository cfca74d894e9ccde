"""What has to hold between series.yaml, the folder's layout and the stocks."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Final

from basefog.read.calibrations import Known
from basefog.read.corrections import check_corrected_files
from basefog.read.exposures import check_exposure
from basefog.read.folder import SeriesFolder
from basefog.read.known_files import is_nearly_table, tell_nearly_table, tell_unknown
from basefog.read.models import SeriesKeys
from basefog.read.problem_list import ProblemList, did_you_mean
from basefog.read.renamed import check_former_slugs
from basefog.read.stocks import StockReading
from basefog.read.tables import suffix_of
from basefog.read.tests import check_reference
from basefog.read.validate import Checked
from basefog.records.content import Paper, Wedge
from basefog.records.vocabulary import STANDARD_REPEATABILITY

_FOLDERS: Final = ("wedges", "papers", "batches", "stocks", "questions", "pages", "editions")
_BRACKET_COLUMNS: Final = {"base", "frame", "stops"}


def check_layout(files: SeriesFolder, problems: ProblemList) -> None:
    """Tell of files and folders at the top, and among the calibrations, that nothing reads."""
    for entry in files.list():
        is_known = entry.name == "series.yaml" or (entry.is_folder and entry.name in _FOLDERS)
        if not is_known:
            tell_unknown(entry, ("series.yaml", *_FOLDERS), problems)
    for folder in ("wedges", "papers"):
        for entry in files.list(folder):
            if entry.is_folder or suffix_of(entry.name) is None:
                tell = tell_nearly_table if is_nearly_table(entry) else partial(tell_unknown, known=())
                tell(entry, problems=problems)


def check_series_keys(
    checked: Checked[SeriesKeys],
    files: SeriesFolder,
    wedges: Known[Wedge],
    papers: Known[Paper],
    problems: ProblemList,
) -> Checked[SeriesKeys]:
    """Return the keys, with those broken in which an id is there twice; tell of names that lead nowhere."""
    keys = checked.keys
    if "densitometer" not in checked.broken and keys.densitometer.repeatability is None:
        problems.remark(
            checked.place("densitometer"),
            f"the densitometer's repeatability is not stated; {STANDARD_REPEATABILITY:g} is taken for it",
            "Read one patch ten times, and state the standard deviation as `densitometer: {repeatability: ...}`.",
        )
    if keys.exposure.wedge is not None:
        check_reference(files, "wedges", keys.exposure.wedge, wedges, checked.place("exposure", "wedge"))
    if keys.enlarging.paper is not None:
        check_reference(files, "papers", keys.enlarging.paper, papers, checked.place("enlarging", "paper"))
    check_exposure(checked, problems)
    check_corrected_files(checked, files, problems)
    _check_called(checked, (*wedges.records, *wedges.broken, *papers.records, *papers.broken), problems)
    _check_moved(checked, problems)
    broken = set(checked.broken)
    for kind, ids in (("patches", [patch.id for patch in keys.patches]), ("views", [view.id for view in keys.views])):
        before = problems.count
        _check_ids(checked, kind, ids, problems)
        if problems.count > before:
            broken.add(kind)
    checked = replace(checked, broken=frozenset(broken))
    _check_named_patches(checked, problems)
    return checked


def _check_called(checked: Checked[SeriesKeys], known: Sequence[str], problems: ProblemList) -> None:
    for name in checked.keys.names:
        if name not in known:
            problems.problem(
                checked.place("names", name),
                f"names: no wedge or paper is named `{name}`{did_you_mean(name, known)}",
                "Name a file of `wedges` or `papers` without its ending.",
            )


def _check_moved(checked: Checked[SeriesKeys], problems: ProblemList) -> None:
    moved = checked.keys.moved
    for old, new in moved.items():
        if new in moved:
            what = "leads to itself" if new == old else f"leads to `{new}`, which leads elsewhere itself"
            problems.problem(checked.place("moved", old), f"moved: `{old}` {what}", "Write the address of today.")


def _check_ids(checked: Checked[SeriesKeys], kind: str, ids: Sequence[str], problems: ProblemList) -> None:
    for index, name in enumerate(ids):
        place = checked.place(kind, index, "id")
        if name in ids[:index]:
            problems.problem(place, f"{kind}: `{name}` is there twice", "Give each an id of its own.")
        if kind == "patches" and name in _BRACKET_COLUMNS:
            problems.problem(place, f"patches: `{name}` is another column of bracket.csv", "Give the patch another id.")


def _check_named_patches(checked: Checked[SeriesKeys], problems: ProblemList) -> None:
    if "patches" in checked.broken:
        return
    declared = [patch.id for patch in checked.keys.patches]
    protocol = checked.keys.protocol
    for name, patch in (("grey_patch", protocol.grey_patch), ("shadow_patch", protocol.shadow_patch)):
        if patch is not None and patch not in declared:
            problems.problem(
                checked.place("protocol", name),
                f"{name}: no patch is named `{patch}`{did_you_mean(patch, declared)}",
                "Name a patch that is declared under `patches`.",
            )


def check_stocks(
    checked: Checked[SeriesKeys], files: SeriesFolder, stocks: Sequence[StockReading], problems: ProblemList
) -> None:
    """Tell where the reference is missing, and where two stocks claim one slug."""
    slugs = tuple(reading.slug for reading in stocks)
    reference = checked.keys.reference
    if "reference" not in checked.broken and reference not in slugs:
        _tell_no_reference(checked, files, slugs)
    keys = {reading.slug: reading.keys for reading in stocks if reading.keys is not None}
    check_former_slugs(keys, slugs, "a stock", problems)


def _tell_no_reference(checked: Checked[SeriesKeys], files: SeriesFolder, slugs: tuple[str, ...]) -> None:
    files.tell_missing(f"stocks/{checked.keys.reference}", checked.place("reference"), slugs)
