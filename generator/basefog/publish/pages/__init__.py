"""Series and findings become pages: view-models of words and addresses, which the theme's templates turn into HTML."""

from basefog.publish.pages.plan import plan_pages

__all__ = ["plan_pages"]
