"""Simulated brackets: what the fit of all frames makes of series whose truth is known."""
