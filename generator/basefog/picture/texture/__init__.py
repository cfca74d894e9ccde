"""What grain and sharpness measure, from calibrated scans."""

from basefog.picture.texture.scan_measures import PlannedScan, measure_scans, plan_scan_work, put_into_findings
from basefog.picture.texture.scan_work import ScanFindings, ScanWork, measure_scan

__all__ = [
    "PlannedScan",
    "ScanFindings",
    "ScanWork",
    "measure_scan",
    "measure_scans",
    "plan_scan_work",
    "put_into_findings",
]
