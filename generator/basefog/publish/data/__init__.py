"""The published numbers: everything below `data/` of the site."""

from basefog.publish.data.plan import plan_data

__all__ = ["plan_data"]
