"""Plans the data files: a job a test, one for the series, and one after them for what stands for all files."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path, PurePosixPath

from basefog.picture.views import ViewPlan
from basefog.publish.addresses import address_of_test_data, address_of_test_from_disk
from basefog.publish.data.archive import read_raw, render_zip
from basefog.publish.data.datapackage import render_datapackage
from basefog.publish.data.encoding import encode_json
from basefog.publish.data.from_disk import render_from_disk
from basefog.publish.data.schemas import SCHEMA_NAMES, render_schema
from basefog.publish.data.summary import (
    render_measures_json,
    render_series_json,
    render_summary_csv,
    render_summary_json,
)
from basefog.publish.data.tables import render_curve_csv, render_readings_csv
from basefog.publish.data.test_json import render_test_json
from basefog.publish.narrow import without_words
from basefog.records.content import Series, Test
from basefog.records.findings import Findings, TestFindings
from basefog.site import InputPath, Job, read_made

DATA_FOLDER = "data"
DESCRIPTOR, ARCHIVE = "datapackage.json", "series.zip"
TABLE_SUFFIXES = frozenset({".csv", ".tsv", ".txt", ".xlsx", ".ods"})
_SERIES_FILES = ("series.json", "summary.json", "summary.csv", "measures.json")

Views = Mapping[str, Sequence[ViewPlan]]
"""The planned views of each test, by `stock/test`."""


def plan_data(
    series: Series, findings: Findings, *, series_folder: Path, views: Views | None = None
) -> tuple[Job, ...]:
    """Return the jobs that make everything below `data/`, and the same for the comparison page opened from disk.

    `series_folder` is where the reading files are, which the archive holds byte for byte.
    """
    about = _without_tests(series)
    jobs = [_plan_test(about, series, test, findings, (views or {}).get(test.key, ())) for test in _tests_of(series)]
    of_series = [f"{DATA_FOLDER}/{name}" for name in _SERIES_FILES]
    of_series += [f"{DATA_FOLDER}/schema/{name}.json" for name in SCHEMA_NAMES]
    known = {"series": replace(about, stocks=tuple(map(without_words, series.stocks))), "findings": findings}
    jobs.append(Job(outputs=tuple(sorted(of_series)), make=make_series_data, inputs=known))
    prefix = f"{DATA_FOLDER}/"
    files = tuple(sorted(output for job in jobs for output in job.outputs if output.startswith(prefix)))
    whole = Job(
        outputs=(f"{DATA_FOLDER}/{DESCRIPTOR}", f"{DATA_FOLDER}/{ARCHIVE}"),
        make=make_whole,
        inputs={"series": about, "raw": collect_raw(series, series_folder)},
        after=files,
    )
    return (*jobs, whole)


def _tests_of(series: Series) -> list[Test]:
    return [test for stock in series.stocks for test in stock.tests]


def _without_tests(series: Series) -> Series:
    """Return what the data have of a series beside its tests and what is found of them."""
    return replace(series, stocks=(), questions=(), pages=(), editions=(), inputs=(), remarks=(), batches=())


def _plan_test(about: Series, series: Series, test: Test, findings: Findings, views: Sequence[ViewPlan]) -> Job:
    outputs = [address_of_test_data(test, name) for name in ("", "curve.csv", "readings.csv")]
    remarks = tuple(remark for remark in series.remarks if remark.path.startswith(f"stocks/{test.key}/"))
    inputs = {
        "series": replace(about, remarks=remarks) if remarks else about,
        "test": test,
        "found": findings.tests[test.key],
        "views": tuple(views),
    }
    return Job(outputs=(*outputs, address_of_test_from_disk(test)), make=make_test_data, inputs=inputs)


def collect_raw(series: Series, series_folder: Path) -> dict[str, InputPath]:
    """Return every table that a number of the series comes from, by its path in the series; no scans, no notes."""
    files = {file.path: file.sha256 for stock in series.stocks for test in stock.tests for file in test.inputs}
    files |= {file.path: file.sha256 for file in series.inputs}
    return {
        path: InputPath(path=str(series_folder / path), sha256=digest)
        for path, digest in sorted(files.items())
        if PurePosixPath(path).suffix.casefold() in TABLE_SUFFIXES
    }


def make_test_data(*, series: Series, test: Test, found: TestFindings, views: Sequence[ViewPlan]) -> dict[str, bytes]:
    """Return every data file of one test by its address; of the series only its own members and the test's remarks."""
    data = render_test_json(series, test, found, views)
    return {
        address_of_test_data(test): encode_json(data),
        address_of_test_data(test, "curve.csv"): render_curve_csv(found),
        address_of_test_data(test, "readings.csv"): render_readings_csv(test),
        address_of_test_from_disk(test): render_from_disk(data),
    }


def make_series_data(*, series: Series, findings: Findings) -> dict[str, bytes]:
    """Return the data files of the whole series by their addresses, but for those that stand for all files."""
    files = {
        "series.json": encode_json(render_series_json(series)),
        "summary.json": encode_json(render_summary_json(series, findings)),
        "summary.csv": render_summary_csv(series, findings),
        "measures.json": encode_json(render_measures_json(series, findings)),
    }
    files |= {f"schema/{name}.json": encode_json(render_schema(name)) for name in SCHEMA_NAMES}
    return {f"{DATA_FOLDER}/{path}": data for path, data in files.items()}


def make_whole(*, series: Series, raw: Mapping[str, InputPath], made: Mapping[str, InputPath]) -> dict[str, bytes]:
    """Return the descriptor of all data files and the archive of them and of the readings, by their addresses."""
    prefix = f"{DATA_FOLDER}/"
    files = {address.removeprefix(prefix): read_made(address, file) for address, file in sorted(made.items())}
    files[DESCRIPTOR] = encode_json(render_datapackage(series, files))
    archive = render_zip(files | read_raw(raw))
    return {prefix + DESCRIPTOR: files[DESCRIPTOR], prefix + ARCHIVE: archive}
