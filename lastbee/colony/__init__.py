"""The engine: many hidden colonies stepped a day at a time in compiled code."""
