"""What all published data of every series keep, checked from their bytes alone."""

import csv
import io
import json
import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from jsonschema import Draft4Validator, Draft202012Validator

STANDARDS = Path(__file__).parent / "standards"
_CELLS = {"number": re.compile(r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?"), "integer": re.compile(r"[-+]?\d+")}
"""How the open Data Package standard writes numbers in tables (version 1, Table Schema): no infinity is among ours."""


def faults_of_data(files: Mapping[str, bytes]) -> list[str]:
    """Return what is wrong with the files below `data/`: by JSON Schema, by the descriptor, and by the standard."""
    faults = [
        f"{name}: {fault}" for name, data in sorted(files.items()) for fault in _faults_of_json(files, name, data)
    ]
    descriptor = json.loads(files["data/datapackage.json"])
    faults += [f"datapackage.json: {fault}" for fault in _faults_by("data-package", descriptor)]
    for resource in descriptor["resources"]:
        if resource["format"] == "csv":
            faults += [f"{resource['path']}: {fault}" for fault in _faults_by("tabular-data-resource", resource)]
            faults += [
                f"{resource['path']}:{fault}" for fault in _faults_of_table(resource, files[f"data/{resource['path']}"])
            ]
    return faults


def _faults_of_json(files: Mapping[str, bytes], name: str, data: bytes) -> Iterable[str]:
    """Judge a file by the schema that is published with it: a series' file by its name, a test's by `test.json`."""
    below = name.removeprefix("data/")
    if not name.startswith("data/") or not name.endswith(".json") or below == "datapackage.json":
        return
    if below.startswith("schema/"):
        Draft202012Validator.check_schema(json.loads(data))
        return
    schema = json.loads(files[f"data/schema/{below if '/' not in below else 'test.json'}"])
    for error in Draft202012Validator(schema).iter_errors(json.loads(data)):
        yield f"{error.json_path}: {error.message[:200]}"


def _faults_by(profile: str, document: Any) -> list[str]:
    schema = json.loads((STANDARDS / f"{profile}.json").read_bytes())
    return [error.message for error in Draft4Validator(schema).iter_errors(document)]


def _faults_of_table(resource: Mapping[str, Any], data: bytes) -> Iterable[str]:
    """Judge each cell of a table by the type of its column; an empty one is a missing value."""
    rows = csv.reader(io.StringIO(data.decode("utf-8"), newline=""))
    fields = resource["schema"]["fields"]
    if next(rows) != [field["name"] for field in fields]:
        yield "1: the header is not that of the descriptor"
    for number, row in enumerate(rows, start=2):
        if len(row) != len(fields):
            yield f"{number}: it has {len(row)} cells, expected {len(fields)}"
        for field, cell in zip(fields, row, strict=False):
            pattern = _CELLS.get(field["type"])
            if cell and pattern and not pattern.fullmatch(cell):
                yield f"{number}: {field['name']} is {cell!r}, expected a {field['type']}"
