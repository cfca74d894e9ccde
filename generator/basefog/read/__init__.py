"""The content folder becomes a Series, and the problems found in it."""

from basefog.read.series import SeriesReading, read_series

__all__ = ["SeriesReading", "read_series"]
