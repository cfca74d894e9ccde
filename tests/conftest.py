"""What holds for every test: property tests judge no wall time and try the same examples on every run."""

from hypothesis import settings

settings.register_profile("basefog", deadline=None, derandomize=True, database=None)
settings.load_profile("basefog")
