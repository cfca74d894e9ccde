"""Scans become views; findings become charts."""
