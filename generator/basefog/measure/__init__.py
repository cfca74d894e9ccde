"""The measuring room: a series in, findings out. Pure numbers: no files, no clock, no drawing."""

from basefog.measure.scan_verdicts import put_into_findings
from basefog.measure.series import measure_series

__all__ = ["measure_series", "put_into_findings"]
