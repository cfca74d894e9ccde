"""Basefog: from a folder of film-test readings to a website that shows its working."""

__version__ = "0.1.0"
