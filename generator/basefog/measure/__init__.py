"""A Series becomes Findings: pure numbers, no files, no clock, no drawing."""
