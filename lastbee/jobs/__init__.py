"""The record of a job and the plan made from it."""
