"""The descriptor of all data files, by the open Data Package standard (version 1)."""

import hashlib
import re
from collections.abc import Mapping, Sequence

from basefog.publish.data.summary import ABOUT_COLUMNS, measure_columns
from basefog.publish.data.tables import CURVE_COLUMNS, READING_COLUMNS
from basefog.publish.data.values import Json
from basefog.records.content import Series
from basefog.records.vocabulary import MEASURES

_TYPES = {
    "box_speed": "number",
    "exposure_index": "number",
    "tests": "integer",
    "log_exposure": "number",
    "density": "number",
    "low": "number",
    "high": "number",
    "gradient": "number",
    "line": "integer",
}
_MEANINGS = {
    "log_exposure": "decimal logarithm of exposure: lux seconds where the test's curve says absolute, else relative",
    "density": "density, base and fog included",
    "low": "lower end of the 95 % interval of density",
    "high": "upper end of the 95 % interval of density",
    "gradient": "mean slope of density against log exposure over 0.30 about this point, less at the ends",
    "table": "wedge or bracket",
    "row": "step, frame or base",
    "column": "header of the reading's column",
    "file": "file in the series folder, below raw/ in series.zip",
    "line": "line of that file, counting from 1; a spreadsheet's row",
    "test": "the current test",
    "tests": "how many tests there are of the stock",
}


def render_datapackage(series: Series, files: Mapping[str, bytes]) -> Json:
    """Return the descriptor of `files`, which are by path below the data folder."""
    package: Json = {
        "profile": "data-package",
        "name": _package_name(series.title),
        "title": series.title,
    }
    if series.description is not None:
        package["description"] = series.description
    if series.address is not None:
        package["homepage"] = series.address
    if series.licence is not None:
        package["licenses"] = [{"name": series.licence}]
    if series.author is not None:
        package["contributors"] = [{"title": series.author, "role": "author"}]
    package["sources"] = [_source(series)]
    package["resources"] = [_resource(path, data) for path, data in sorted(files.items())]
    return package


def _source(series: Series) -> Json:
    source: Json = {"title": f"Readings of {series.title}, in series.zip below raw/"}
    return source | {"path": series.address} if series.address is not None else source


def _resource(path: str, data: bytes) -> Json:
    kind = path.rpartition(".")[2]
    resource: Json = {
        "name": _resource_name(path),
        "path": path,
        "profile": "tabular-data-resource" if kind == "csv" else "data-resource",
        "format": kind,
        "mediatype": {"csv": "text/csv", "json": "application/json"}[kind],
        "encoding": "utf-8",
        "bytes": len(data),
        "hash": f"sha256:{hashlib.sha256(data).hexdigest()}",
    }
    if kind == "csv":
        resource["schema"] = {"fields": _fields(path), "missingValues": [""]}
    return resource


def _fields(path: str) -> list[Json]:
    if path == "summary.csv":
        return [_field(name) for name in ABOUT_COLUMNS] + _measure_fields()
    columns: Sequence[str] = CURVE_COLUMNS if path.endswith("/curve.csv") else READING_COLUMNS
    return [_field(name) for name in columns]


def _field(name: str) -> Json:
    field: Json = {"name": name, "type": _TYPES.get(name, "string")}
    return field | {"description": _MEANINGS[name]} if name in _MEANINGS else field


def _measure_fields() -> list[Json]:
    fields: list[Json] = []
    for measure in MEASURES:
        value, low, high, verdict, why = measure_columns(measure.id)
        meaning = f"{measure.definition} Unit: {measure.unit}."
        fields += [
            {"name": value, "type": "number", "title": measure.name, "description": meaning},
            {"name": low, "type": "number", "description": "lower end of its 95 % interval"},
            {"name": high, "type": "number", "description": "upper end of its 95 % interval"},
            {"name": verdict, "type": "string", "description": "what it says against the reference"},
            {"name": why, "type": "string", "description": "why it is missing"},
        ]
    return fields


def _resource_name(path: str) -> str:
    """Return a name that is unique in the package, of the signs the standard allows.

    >>> _resource_name("tern-100/2026-03-14/curve.csv"), _resource_name("summary.json")
    ('tern-100.2026-03-14.curve-csv', 'summary-json')
    """
    stem, _, kind = path.rpartition(".")
    return f"{stem.replace('/', '.')}-{kind}"


def _package_name(title: str) -> str:
    name = re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-")
    return name or "series"
