"""Scan files: what their headers say, and their pixels by regions. Importing this loads no imaging library."""

from basefog.scanfiles.blocks import average_blocks
from basefog.scanfiles.codes import ROWS_IN_CACHE, GreyArray
from basefog.scanfiles.formats import SUFFIXES, read_scan_header
from basefog.scanfiles.header import ScanFaultError, ScanHeader
from basefog.scanfiles.opened import NoScratchError, OpenedScan, open_scan
from basefog.scanfiles.regions import Region, RegionCodes

__all__ = [
    "ROWS_IN_CACHE",
    "SUFFIXES",
    "GreyArray",
    "NoScratchError",
    "OpenedScan",
    "Region",
    "RegionCodes",
    "ScanFaultError",
    "ScanHeader",
    "average_blocks",
    "open_scan",
    "read_scan_header",
]
