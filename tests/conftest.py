"""What holds for every test: the same examples each time, and no deadline per example."""

from __future__ import annotations

from hypothesis import settings

# Compiling on first use would break any deadline; fixed examples make a failure repeatable.
settings.register_profile("lastbee", derandomize=True, deadline=None, database=None)
settings.load_profile("lastbee")
