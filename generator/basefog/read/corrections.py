"""What was put right after it had been published: in a test, in an answer, or in a file that many tests rest on."""

from collections.abc import Iterable

from basefog.read.folder import SeriesFolder
from basefog.read.models import CorrectionKeys, SeriesCorrectionKeys, SeriesKeys
from basefog.read.problem_list import ProblemList, did_you_mean
from basefog.read.validate import Checked
from basefog.records.content import Correction


def corrections_of(keys: Iterable[CorrectionKeys]) -> tuple[Correction, ...]:
    """Return corrections, oldest first, those of one day as they were typed."""
    found = [
        Correction(date=item.date, text=item.text, about=item.about if isinstance(item, SeriesCorrectionKeys) else None)
        for item in keys
    ]
    return tuple(sorted(found, key=lambda correction: correction.date))


def check_corrected_files(checked: Checked[SeriesKeys], files: SeriesFolder, problems: ProblemList) -> None:
    """Tell where a correction is about a file that is not there."""
    shared = [entry.path for folder in ("wedges", "papers", "batches") for entry in files.list(folder)]
    for index, item in enumerate(checked.keys.corrections):
        if files.find(item.about) is None:
            problems.problem(
                checked.place("corrections", index, "about"),
                f"about: the series has no file `{item.about}`{did_you_mean(item.about, shared)}",
                "Name a file by its path in the series, such as `wedges/contact-21.csv`.",
            )
