"""Findings and pictures become the jobs of a site: pages, data files and feed."""

from basefog.publish.any_two import STATES
from basefog.publish.measuring import measure_by
from basefog.publish.pages.open_words import say_repeats
from basefog.publish.pictures import PicturesSeen, check_scans, make_pictures
from basefog.publish.plan import plan_site
from basefog.publish.remarks import remarks_of

__all__ = [
    "STATES",
    "PicturesSeen",
    "check_scans",
    "make_pictures",
    "measure_by",
    "plan_site",
    "remarks_of",
    "say_repeats",
]
