"""The whole series: every file read, checked against the others, and joined into one record."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from basefog.read.batches import read_batches
from basefog.read.calibrations import Known, read_papers, read_wedges
from basefog.read.folder import SeriesFolder
from basefog.read.known_files import tell_unknown
from basefog.read.models import SeriesKeys
from basefog.read.pages import read_editions, read_free_pages, read_questions
from basefog.read.problem_list import ProblemList, did_you_mean
from basefog.read.prose import Names, check_prose
from basefog.read.stocks import StockReading, Surroundings, exposure_of, read_stocks, tell_no_wedge
from basefog.read.tables import suffix_of
from basefog.read.validate import Checked
from basefog.read.yaml_files import read_keys
from basefog.records.content import (
    Box,
    Densitometer,
    Enlarging,
    InputFile,
    Paper,
    Patch,
    Protocol,
    Series,
    View,
    Wedge,
)
from basefog.records.problem import Place, Problem
from basefog.records.vocabulary import STANDARD_REPEATABILITY

_KNOWN: Final = ("series.yaml", "wedges", "papers", "batches", "stocks", "questions", "pages", "editions")


@dataclass(frozen=True, kw_only=True, slots=True)
class SeriesReading:
    """What reading a folder gave: the series, None as soon as one entry is a problem, and every problem and remark."""

    series: Series | None
    problems: tuple[Problem, ...]


def read_series(folder: Path) -> SeriesReading:
    """Return the series of a content folder with all problems and remarks, sorted by place.

    Files and folders that the contract does not name are not read: a remark says so, and where the name lies near one
    that the contract does name it is a problem, since it is most likely a slip.
    """
    problems = ProblemList()
    files = SeriesFolder(folder, problems)
    _check_top(files, problems)
    wedges = read_wedges(files, problems)
    papers = read_papers(files, problems)
    batches = read_batches(files, problems)
    stand_ins = {"title": "?", "reference": "none", "protocol": {"developer": "?"}}
    checked = read_keys(files, "series.yaml", SeriesKeys, stand_ins, problems)
    read = checked is not None
    if checked is None:
        checked = _unread_series()
    else:
        _check_series(checked, wedges, papers, problems)
    repeatability = checked.keys.densitometer.repeatability or STANDARD_REPEATABILITY
    around = Surroundings(folder=files, series=checked, wedges=wedges, batches=batches, repeatability=repeatability)
    stocks = read_stocks(around, problems)
    if read:
        _check_stocks(checked, stocks, problems)
    names = _names(checked, stocks)
    _check_notes(stocks, names, problems)
    questions = read_questions(files, names, problems)
    pages = read_free_pages(files, names, problems)
    editions = read_editions(files, problems)
    found = problems.in_order()
    if any(problem.level == "problem" for problem in found):
        return SeriesReading(series=None, problems=found)
    records = tuple(reading.stock for reading in stocks if reading.stock is not None)
    inputs: set[InputFile] = {*papers.inputs.values(), *wedges.inputs.values()}
    inputs.update(item for stock in records for test in stock.tests for item in test.inputs)
    keys = checked.keys
    series = Series(
        title=keys.title,
        address=keys.address,
        author=keys.author,
        licence=keys.licence,
        language=keys.language,
        description=keys.description,
        reference=keys.reference,
        protocol=Protocol(
            developer=keys.protocol.developer,
            subject=keys.protocol.subject,
            lighting=keys.protocol.lighting,
            temperature_c=keys.protocol.temperature_c,
            bracket_step_stops=keys.protocol.bracket_step_stops,
            grey_patch=keys.protocol.grey_patch,
            shadow_patch=keys.protocol.shadow_patch,
        ),
        exposure=exposure_of(keys.exposure),
        densitometer=Densitometer(
            reads=keys.densitometer.reads,
            repeatability=repeatability,
            repeatability_stated=keys.densitometer.repeatability is not None,
        ),
        patches=tuple(
            Patch(id=patch.id, name=patch.name or patch.id, luminous_reflectance=patch.luminous_reflectance)
            for patch in keys.patches
        ),
        views=tuple(
            View(id=view.id, name=view.name or view.id, box=_box(view.box), of=view.of, shows=view.shows)
            for view in keys.views
        ),
        enlarging=Enlarging(
            paper=keys.enlarging.paper,
            magnification=keys.enlarging.magnification,
            exposure_s=keys.enlarging.exposure_s,
        ),
        wedges=dict(wedges.records),
        papers=dict(papers.records),
        batches=tuple(sorted(batches.records.values(), key=lambda batch: (batch.date, batch.id))),
        stocks=records,
        questions=questions,
        pages=pages,
        editions=editions,
        inputs=tuple(sorted(inputs, key=lambda item: item.path)),
        remarks=found,
    )
    return SeriesReading(series=series, problems=found)


def _box(sides: tuple[float, float, float, float]) -> Box:
    x, y, w, h = sides
    return Box(x=x, y=y, w=w, h=h)


def _unread_series() -> Checked[SeriesKeys]:
    """Return a stand-in for a series.yaml that could not be read, in which every key counts as broken."""
    from basefog.read.models import ProtocolKeys
    from basefog.read.yaml_nodes import Node

    keys = SeriesKeys.model_construct(title="?", reference="none", protocol=ProtocolKeys.model_construct(developer="?"))
    return Checked(
        keys=keys,
        node=Node(value={}, place=Place(path="series.yaml")),
        broken=frozenset(SeriesKeys.model_fields),
    )


def _check_top(files: SeriesFolder, problems: ProblemList) -> None:
    for entry in files.list():
        is_known = entry.name in _KNOWN and entry.is_folder == (entry.name != "series.yaml")
        if not is_known:
            tell_unknown(entry, [name for name in _KNOWN if name != entry.name], problems)
    for folder in ("wedges", "papers"):
        for entry in files.list(folder):
            if entry.is_folder or suffix_of(entry.name) is None:
                tell_unknown(entry, (f"{entry.name.rpartition('.')[0]}.csv",), problems)


def _check_series(
    checked: Checked[SeriesKeys], wedges: Known[Wedge], papers: Known[Paper], problems: ProblemList
) -> None:
    keys = checked.keys
    if "densitometer" not in checked.broken and keys.densitometer.repeatability is None:
        problems.remark(
            checked.place("densitometer"),
            f"the densitometer's repeatability is not stated; {STANDARD_REPEATABILITY:g} is taken for it",
            "Read one patch ten times, and state the standard deviation as `densitometer: {repeatability: ...}`.",
        )
    if keys.exposure.wedge is not None and keys.exposure.wedge not in wedges:
        tell_no_wedge(checked.place("exposure", "wedge"), keys.exposure.wedge, wedges, problems)
    paper = keys.enlarging.paper
    if paper is not None and paper not in papers:
        problems.problem(
            checked.place("enlarging", "paper"),
            f"paper: there is no papers/{paper}.csv{did_you_mean(paper, papers.records)}",
            "Name a paper that is there, or add its file.",
        )
    for kind, ids in (("patches", [patch.id for patch in keys.patches]), ("views", [view.id for view in keys.views])):
        for index, name in enumerate(ids):
            place = checked.place(kind, index, "id")
            if name in ids[:index]:
                problems.problem(place, f"{kind}: `{name}` is there twice", "Give each an id of its own.")
            if kind == "patches" and name in {"base", "frame", "stops"}:
                problems.problem(
                    place, f"patches: `{name}` is a column of its own in bracket.csv", "Give the patch another id."
                )
    if "patches" in checked.broken:
        return
    declared = [patch.id for patch in keys.patches]
    for name in ("grey_patch", "shadow_patch"):
        patch = getattr(keys.protocol, name)
        if patch is not None and patch not in declared:
            problems.problem(
                checked.place("protocol", name),
                f"{name}: no patch is named `{patch}`{did_you_mean(patch, declared)}",
                "Name a patch that is declared under `patches`.",
            )


def _check_stocks(checked: Checked[SeriesKeys], stocks: tuple[StockReading, ...], problems: ProblemList) -> None:
    slugs = [reading.slug for reading in stocks]
    reference = checked.keys.reference
    if "reference" not in checked.broken and reference not in slugs:
        problems.problem(
            checked.place("reference"),
            f"reference: there is no stocks/{reference}{did_you_mean(reference, slugs)}",
            "Name the folder of the reference stock.",
        )
    former: dict[str, str] = {}
    for reading in stocks:
        if reading.keys is None:
            continue
        for index, slug in enumerate(reading.keys.keys.former_slugs):
            place = reading.keys.place("former_slugs", index)
            if slug in slugs:
                problems.problem(place, f"former_slugs: `{slug}` is the slug of a stock", "Take it out.")
            elif slug in former:
                problems.problem(
                    place, f"former_slugs: `{slug}` is a former slug of {former[slug]} already", "Keep one of the two."
                )
            former.setdefault(slug, reading.slug)


def _names(checked: Checked[SeriesKeys], stocks: tuple[StockReading, ...]) -> Names:
    return Names(
        tests_by_stock={reading.slug: reading.test_ids for reading in stocks},
        broken_stocks=frozenset(),
        views=None if "views" in checked.broken else [view.id for view in checked.keys.views],
    )


def _check_notes(stocks: tuple[StockReading, ...], names: Names, problems: ProblemList) -> None:
    for reading in stocks:
        if reading.stock is None:
            continue
        for notes in (reading.stock.notes, *(test.notes for test in reading.stock.tests)):
            if notes is not None:
                check_prose(notes, names, problems)
