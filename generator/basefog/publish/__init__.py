"""Findings and pictures become pages, data files and feed, and those the site folder."""

from basefog.publish.kept_pictures import KeptPictures
from basefog.publish.pages.open_words import say_repeats
from basefog.publish.pictures import check_scans, make_pictures
from basefog.publish.plan import plan_site
from basefog.publish.preview import preview_site
from basefog.publish.remarks import remarks_of
from basefog.publish.run import Progress
from basefog.publish.site import PublishReport, find_standing_site, publish_site
from basefog.publish.stops import PublishError, WrongUsage
from basefog.publish.target import check_target
from basefog.publish.unchanged import compute_origin

__all__ = [
    "KeptPictures",
    "Progress",
    "PublishError",
    "PublishReport",
    "WrongUsage",
    "check_scans",
    "check_target",
    "compute_origin",
    "find_standing_site",
    "make_pictures",
    "plan_site",
    "preview_site",
    "publish_site",
    "remarks_of",
    "say_repeats",
]
