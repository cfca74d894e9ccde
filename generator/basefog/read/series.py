"""The whole series: every file read, checked against the others, and joined into one record."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from basefog.read.batches import read_batches
from basefog.read.calibrations import Known, read_papers, read_wedges
from basefog.read.corrections import corrections_of
from basefog.read.exposures import exposure_of
from basefog.read.folder import DigestOf, SeriesFolder, read_digest_of_file
from basefog.read.models import ProtocolKeys, SeriesKeys
from basefog.read.pages import read_editions, read_free_pages, read_questions
from basefog.read.problem_list import ProblemList
from basefog.read.prose import Names, check_prose
from basefog.read.series_checks import check_layout, check_series_keys, check_stocks
from basefog.read.stocks import StockReading, read_stocks
from basefog.read.tests import Surroundings
from basefog.read.validate import Checked
from basefog.read.yaml_files import read_keys
from basefog.read.yaml_nodes import Node
from basefog.records.content import (
    Box,
    Densitometer,
    Edition,
    Enlarging,
    FreePage,
    InputFile,
    Paper,
    Patch,
    Protocol,
    Question,
    Series,
    View,
)
from basefog.records.problem import Place, Problem
from basefog.records.vocabulary import STANDARD_REPEATABILITY

_STAND_INS: Final = {"title": "?", "reference": "none", "protocol": {"developer": "?"}}


@dataclass(frozen=True, kw_only=True, slots=True)
class SeriesReading:
    """What reading a folder gave: the series, None as soon as one entry is a problem, and every problem and remark."""

    series: Series | None
    problems: tuple[Problem, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Parts:
    """All that a series is joined from."""

    around: Surroundings
    papers: Known[Paper]
    stocks: tuple[StockReading, ...]
    questions: tuple[Question, ...]
    pages: tuple[FreePage, ...]
    editions: tuple[Edition, ...]


def read_series(folder: Path, *, digest_of: DigestOf = read_digest_of_file) -> SeriesReading:
    """Return the series of a content folder with all problems and remarks, sorted by place.

    Files and folders that the contract does not name are not read: a remark says so, and where the name lies near one
    that the contract does name it is a problem, since it is most likely a slip. `digest_of` is asked for the digests of
    scans, which are not read for anything else.
    """
    problems = ProblemList()
    files = SeriesFolder(folder, problems, digest_of)
    parts = _read_parts(files, problems)
    found = problems.in_order()
    refused = any(problem.level == "problem" for problem in found)
    return SeriesReading(
        series=None if refused else _join(parts, found),
        problems=found,
    )


def _read_parts(files: SeriesFolder, problems: ProblemList) -> _Parts:
    check_layout(files, problems)
    checked = read_keys(files, "series.yaml", SeriesKeys, _STAND_INS, problems) or _unread_series()
    repeatability = checked.keys.densitometer.repeatability or STANDARD_REPEATABILITY
    wedges = read_wedges(files, problems)
    papers = read_papers(files, repeatability, problems)
    checked = check_series_keys(checked, files, wedges, papers, problems)
    around = Surroundings(
        folder=files,
        series=checked,
        wedges=wedges,
        batches=read_batches(files, problems),
        repeatability=repeatability,
    )
    stocks = read_stocks(around, problems)
    check_stocks(checked, files, stocks, problems)
    names = Names(
        tests_by_stock={reading.slug: reading.test_ids for reading in stocks},
        views=None if "views" in checked.broken else [view.id for view in checked.keys.views],
        unmeasured=frozenset(name for reading in stocks for name in reading.unmeasured),
    )
    for reading in stocks:
        for prose in reading.prose:
            check_prose(prose, names, problems)
    return _Parts(
        around=around,
        papers=papers,
        stocks=stocks,
        questions=read_questions(files, names, problems),
        pages=read_free_pages(files, names, problems),
        editions=read_editions(files, problems),
    )


def _unread_series() -> Checked[SeriesKeys]:
    """Return a stand-in for a series.yaml that could not be read, in which every key counts as broken."""
    keys = SeriesKeys.model_construct(title="?", reference="none", protocol=ProtocolKeys.model_construct(developer="?"))
    node = Node(value={}, place=Place(path="series.yaml"))
    return Checked(keys=keys, node=node, broken=frozenset(SeriesKeys.model_fields))


def _join(parts: _Parts, remarks: tuple[Problem, ...]) -> Series:
    keys = parts.around.series.keys
    stocks = tuple(reading.stock for reading in parts.stocks if reading.stock is not None)
    inputs: set[InputFile] = {*parts.papers.inputs.values(), *parts.around.wedges.inputs.values()}
    inputs.update(item for stock in stocks for test in stock.tests for item in test.inputs)
    return Series(
        title=keys.title,
        address=keys.address,
        author=keys.author,
        licence=keys.licence,
        language=keys.language,
        description=keys.description,
        reference=keys.reference,
        protocol=_protocol(keys.protocol),
        exposure=exposure_of(keys.exposure),
        densitometer=Densitometer(
            reads=keys.densitometer.reads,
            repeatability=parts.around.repeatability,
            repeatability_stated=keys.densitometer.repeatability is not None,
        ),
        patches=tuple(
            Patch(id=patch.id, name=patch.name or patch.id, luminous_reflectance=patch.luminous_reflectance)
            for patch in keys.patches
        ),
        views=_views(keys),
        enlarging=Enlarging(
            paper=keys.enlarging.paper,
            magnification=keys.enlarging.magnification,
            exposure_s=keys.enlarging.exposure_s,
        ),
        wedges=dict(parts.around.wedges.records),
        papers=dict(parts.papers.records),
        batches=tuple(sorted(parts.around.batches.records.values(), key=lambda batch: (batch.date, batch.id))),
        stocks=stocks,
        questions=parts.questions,
        pages=parts.pages,
        editions=parts.editions,
        inputs=tuple(sorted(inputs, key=lambda item: item.path)),
        remarks=remarks,
        names=dict(keys.names),
        optional_pages=tuple(dict.fromkeys(keys.optional_pages)),
        corrections=corrections_of(keys.corrections),
        moved=dict(keys.moved),
    )


def _protocol(keys: ProtocolKeys) -> Protocol:
    return Protocol(
        developer=keys.developer,
        subject=keys.subject,
        lighting=keys.lighting,
        temperature_c=keys.temperature_c,
        bracket_step_stops=keys.bracket_step_stops,
        grey_patch=keys.grey_patch,
        shadow_patch=keys.shadow_patch,
        development=keys.development,
    )


def _views(keys: SeriesKeys) -> tuple[View, ...]:
    views: list[View] = []
    for view in keys.views:
        x, y, w, h = view.box
        views.append(
            View(id=view.id, name=view.name or view.id, box=Box(x=x, y=y, w=w, h=h), of=view.of, shows=view.shows)
        )
    return tuple(views)
