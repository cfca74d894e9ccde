"""Development batches with their control strips."""

from itertools import pairwise

from basefog.read.calibrations import Known
from basefog.read.fields import is_slug
from basefog.read.folder import SeriesFolder
from basefog.read.known_files import tell_unknown
from basefog.read.models import BatchKeys
from basefog.read.problem_list import ProblemList
from basefog.read.validate import Checked
from basefog.read.yaml_files import read_keys
from basefog.records.content import Batch


def read_batches(folder: SeriesFolder, problems: ProblemList) -> Known[Batch]:
    """Return the batches of the series by id."""
    batches: dict[str, Batch] = {}
    broken: set[str] = set()
    for entry in folder.list("batches"):
        name = entry.name.removesuffix(".yaml")
        if entry.is_folder or name == entry.name:
            tell_unknown(entry, (f"{entry.name.rpartition('.')[0]}.yaml",), problems)
            continue
        if not is_slug(name):
            problems.problem(
                entry.place, f"found the name '{name}', expected a slug of a-z, 0-9 and hyphens", "Rename the file."
            )
        checked = read_keys(folder, entry.path, BatchKeys, {"date": "2000-01-01"}, problems)
        if checked is None:
            broken.add(name)
        else:
            _check_strip(checked, problems)
            batches[name] = _batch(name, checked)
    return Known(records=batches, broken=frozenset(broken))


def _batch(name: str, checked: Checked[BatchKeys]) -> Batch:
    keys = checked.keys
    return Batch(
        id=name,
        date=keys.date,
        developer=keys.developer,
        temperature_c=keys.temperature_c,
        control_strip=_strip(keys),
        notes=keys.notes,
        place=checked.node.place,
    )


def _strip(keys: BatchKeys) -> dict[str, float]:
    return {step: density for step, density in keys.control_strip if density is not None}


def _check_strip(checked: Checked[BatchKeys], problems: ProblemList) -> None:
    """Remark where a strip's densities do not rise from base to high: two of them are most likely swapped."""
    for (before, low), (step, high) in pairwise(_strip(checked.keys).items()):
        if high <= low:
            problems.remark(
                checked.place("control_strip", step),
                f"{step}: found {high:g}, expected more than {before}'s {low:g}",
                "Compare both with the strip.",
            )
