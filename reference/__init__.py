"""What the engine is held against, apart from it and not installed.

The colony model written twice more, the published models that it grew out of, and figures
of comb and laying.
"""
