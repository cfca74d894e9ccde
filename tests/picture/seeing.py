"""The scans of a series looked at in this process, nothing of it kept."""

from pathlib import Path

from basefog.picture import SeenScans
from basefog.publish import check_scans
from basefog.records.content import Series
from basefog.site import Progress
from basefog.site.steps import open_steps


def see_scans(series: Series, folder: Path, *, progress: Progress | None = None) -> SeenScans:
    """Return what the scans show; no picture is made."""
    with open_steps(None, processes=1) as steps:
        return check_scans(series, folder, steps, progress=progress)
