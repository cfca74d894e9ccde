"""Findings and pictures become pages, data files and feed, and those the site folder."""
