"""The content folder becomes a Series, and the problems found in it."""
