"""The measuring room: readings and scans' figures in, each test's quantities out. No files, no clock, no drawing."""

from basefog.measure.asked import Asked
from basefog.measure.batches import compare_batches
from basefog.measure.family import Member, measure_family
from basefog.measure.grain import SCAN_MEASURES, measure_grain_of_test, spectrum_of_test
from basefog.measure.printing import find_reference_exposure_s
from basefog.measure.series import Measure, measure_here, measure_series

__all__ = [
    "SCAN_MEASURES",
    "Asked",
    "Measure",
    "Member",
    "compare_batches",
    "find_reference_exposure_s",
    "measure_family",
    "measure_grain_of_test",
    "measure_here",
    "measure_series",
    "spectrum_of_test",
]
