"""The record of a firm: what was told, seen and done, and what follows from it."""
