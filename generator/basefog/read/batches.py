"""Development batches with their control strips."""

from basefog.read.calibrations import Known
from basefog.read.fields import is_slug
from basefog.read.folder import SeriesFolder
from basefog.read.known_files import tell_unknown
from basefog.read.models import BatchKeys
from basefog.read.problem_list import ProblemList
from basefog.read.yaml_files import read_keys
from basefog.records.content import Batch
from basefog.records.problem import Place


def read_batches(folder: SeriesFolder, problems: ProblemList) -> Known[Batch]:
    """Return the batches of the series by id."""
    batches: dict[str, Batch] = {}
    broken: set[str] = set()
    for entry in folder.list("batches"):
        name = entry.name.removesuffix(".yaml")
        if entry.is_folder or name == entry.name:
            tell_unknown(entry, (f"{entry.name.rpartition('.')[0]}.yaml",), problems)
            continue
        place = Place(path=entry.path)
        if not is_slug(name):
            problems.problem(
                place, f"found the name '{name}', expected a slug of a-z, 0-9 and hyphens", "Rename the file."
            )
        checked = read_keys(folder, entry.path, BatchKeys, {"date": "2000-01-01"}, problems)
        if checked is None or checked.broken:
            broken.add(name)
            continue
        keys = checked.keys
        strip = {step: density for step, density in keys.control_strip if density is not None}
        batches[name] = Batch(
            id=name,
            date=keys.date,
            developer=keys.developer,
            temperature_c=keys.temperature_c,
            control_strip=strip,
            notes=keys.notes,
            place=place,
        )
    return Known(records=batches, broken=frozenset(broken))
