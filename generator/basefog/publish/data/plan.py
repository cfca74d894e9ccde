"""Plans the data files: one job, since the descriptor and the archive stand for all of them."""

from collections.abc import Mapping, Sequence
from pathlib import Path, PurePosixPath

from basefog.picture.views import ViewPlan
from basefog.publish.addresses import address_of_test_data, address_of_test_from_disk
from basefog.publish.data.archive import read_raw, render_zip
from basefog.publish.data.datapackage import render_datapackage
from basefog.publish.data.encoding import encode_json
from basefog.publish.data.from_disk import make_from_disk
from basefog.publish.data.schemas import SCHEMA_NAMES, render_schema
from basefog.publish.data.summary import (
    render_measures_json,
    render_series_json,
    render_summary_csv,
    render_summary_json,
)
from basefog.publish.data.tables import render_curve_csv, render_readings_csv
from basefog.publish.data.test_json import render_test_json
from basefog.records.content import Series
from basefog.records.findings import Findings
from basefog.site import InputPath, Job

DATA_FOLDER = "data"
DESCRIPTOR, ARCHIVE = "datapackage.json", "series.zip"
TABLE_SUFFIXES = frozenset({".csv", ".tsv", ".txt", ".xlsx", ".ods"})
_SERIES_FILES = ("series.json", "summary.json", "summary.csv", "measures.json", DESCRIPTOR, ARCHIVE)

Views = Mapping[str, Sequence[ViewPlan]]
"""The planned views of each test, by `stock/test`."""


def plan_data(
    series: Series, findings: Findings, *, series_folder: Path, views: Views | None = None
) -> tuple[Job, ...]:
    """Return the jobs that make everything below `data/`, and the same for the comparison page opened from disk.

    `series_folder` is where the reading files are, which the archive holds byte for byte.
    """
    tests = [test for stock in series.stocks for test in stock.tests]
    outputs = [f"{DATA_FOLDER}/{name}" for name in _SERIES_FILES]
    outputs += [f"{DATA_FOLDER}/schema/{name}.json" for name in SCHEMA_NAMES]
    outputs += [address_of_test_data(test, name) for test in tests for name in ("", "curve.csv", "readings.csv")]
    known = {"series": series, "findings": findings, "views": dict(views or {})}
    return (
        Job(
            outputs=tuple(sorted(outputs)),
            make=make_data,
            inputs=known | {"raw": collect_raw(series, series_folder)},
        ),
        Job(
            outputs=tuple(sorted(address_of_test_from_disk(test) for test in tests)), make=make_from_disk, inputs=known
        ),
    )


def collect_raw(series: Series, series_folder: Path) -> dict[str, InputPath]:
    """Return every table that a number of the series comes from, by its path in the series; no scans, no notes."""
    files = {file.path: file.sha256 for stock in series.stocks for test in stock.tests for file in test.inputs}
    files |= {file.path: file.sha256 for file in series.inputs}
    return {
        path: InputPath(path=str(series_folder / path), sha256=digest)
        for path, digest in sorted(files.items())
        if PurePosixPath(path).suffix.casefold() in TABLE_SUFFIXES
    }


def make_data(*, series: Series, findings: Findings, views: Views, raw: Mapping[str, InputPath]) -> dict[str, bytes]:
    """Return every data file by its address."""
    files = render_files(series, findings, views)
    files[DESCRIPTOR] = encode_json(render_datapackage(series, files))
    archive = render_zip(files | read_raw(raw))
    return {f"{DATA_FOLDER}/{path}": data for path, data in (files | {ARCHIVE: archive}).items()}


def render_files(series: Series, findings: Findings, views: Views) -> dict[str, bytes]:
    """Return all but the descriptor and the archive, by path below the data folder."""
    files = {
        "series.json": encode_json(render_series_json(series)),
        "summary.json": encode_json(render_summary_json(series, findings)),
        "summary.csv": render_summary_csv(series, findings),
        "measures.json": encode_json(render_measures_json(series, findings)),
    }
    files |= {f"schema/{name}.json": encode_json(render_schema(name)) for name in SCHEMA_NAMES}
    for stock in series.stocks:
        for test in stock.tests:
            found = findings.of(stock.slug, test.id)
            files[f"{test.key}.json"] = encode_json(render_test_json(series, test, found, views.get(test.key, ())))
            files[f"{test.key}/curve.csv"] = render_curve_csv(found)
            files[f"{test.key}/readings.csv"] = render_readings_csv(test)
    return files
