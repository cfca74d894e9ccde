"""Jobs, cache, links, swap, lock, preview: what any site of files needs. This room knows no film.

The preview is asked for by its own name, `basefog.site.preview`: it brings a web server that no other command wants.
"""

from basefog.site.digest import digest_of_code
from basefog.site.file_index import FileIndex
from basefog.site.inputs import check_input, read_input, read_made
from basefog.site.job import InputPath, Job
from basefog.site.links import NOT_FOUND_PAGE, StateCheck
from basefog.site.publish import PublishReport, find_standing_site, publish_site, room_of
from basefog.site.run import Progress
from basefog.site.steps import Step, Steps, WithFiles, open_steps
from basefog.site.stops import KeptLost, NoRoom, PublishError, WrongUsage
from basefog.site.target import check_target
from basefog.site.unchanged import compute_origin

__all__ = [
    "NOT_FOUND_PAGE",
    "FileIndex",
    "InputPath",
    "Job",
    "KeptLost",
    "NoRoom",
    "Progress",
    "PublishError",
    "PublishReport",
    "StateCheck",
    "Step",
    "Steps",
    "WithFiles",
    "WrongUsage",
    "check_input",
    "check_target",
    "compute_origin",
    "digest_of_code",
    "find_standing_site",
    "open_steps",
    "publish_site",
    "read_input",
    "read_made",
    "room_of",
]
