"""The measuring room: a series in, every test's own quantities out. Pure numbers: no files, no clock, no drawing."""

from basefog.measure.batches import compare_batches
from basefog.measure.printing import find_reference_exposure_s
from basefog.measure.series import measure_series

__all__ = ["compare_batches", "find_reference_exposure_s", "measure_series"]
