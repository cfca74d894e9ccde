"""What grain and sharpness measure, from calibrated scans."""

from basefog.picture.texture.scan_measures import plan_scan_work, put_into_findings
from basefog.picture.texture.scan_work import ScanFindings, ScanWork, measure_regions, regions_of_work

__all__ = [
    "ScanFindings",
    "ScanWork",
    "measure_regions",
    "plan_scan_work",
    "put_into_findings",
    "regions_of_work",
]
