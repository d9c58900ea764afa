"""The colony model written twice more, to hold the compiled kernel against; not installed."""
