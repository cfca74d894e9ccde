"""Simulated films on one wedge that is not what its calibration says: what the judging makes of their differences."""
