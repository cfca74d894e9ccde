"""Every figure of a series in, verdicts out: scatter, differences, how firm they are and what would settle them."""
