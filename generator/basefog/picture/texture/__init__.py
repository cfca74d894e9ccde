"""What grain and sharpness measure, from calibrated scans."""

from basefog.picture.texture.scan_measures import gather_figures, plan_scan_work
from basefog.picture.texture.scan_work import ScanSeen, ScanWork, measure_regions, regions_of_work

__all__ = [
    "ScanSeen",
    "ScanWork",
    "gather_figures",
    "measure_regions",
    "plan_scan_work",
    "regions_of_work",
]
