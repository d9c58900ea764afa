"""One migration for each format of the firm's file, run by Alembic.

One that makes `entries` or `jobs` anew has to make their triggers anew as well.
"""
