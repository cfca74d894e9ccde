"""A YAML file of the series, from its bytes to its checked keys."""

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel

from basefog.read.folder import SeriesFolder
from basefog.read.problem_list import ProblemList
from basefog.read.validate import Checked, check_keys
from basefog.read.yaml_nodes import SIZE_LIMIT, parse_yaml

Keys = TypeVar("Keys", bound=BaseModel)


def read_keys(
    folder: SeriesFolder, path: str, model: type[Keys], stand_ins: Mapping[str, Any], problems: ProblemList
) -> Checked[Keys] | None:
    """Return the checked keys of a required YAML file; problems and None where it is missing or no YAML."""
    entry = folder.find_named(path)
    file = folder.read_file(entry, SIZE_LIMIT, "a YAML file") if entry else None
    node = parse_yaml(file.data, path, problems) if file else None
    return check_keys(model, node, problems, stand_ins) if node else None
