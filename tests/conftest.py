"""What holds for every test: same examples each time, no deadline, at least two threads."""

from __future__ import annotations

import os

from hypothesis import settings

# Read when the engine is first imported. One core can run two threads, and a check that
# their number does not matter needs them.
_ASKED = int(os.environ.get("NUMBA_NUM_THREADS") or os.cpu_count() or 1)
os.environ["NUMBA_NUM_THREADS"] = str(max(2, _ASKED))

# Compiling on first use would break any deadline; fixed examples make a failure repeatable.
settings.register_profile("lastbee", derandomize=True, deadline=None, database=None)
settings.load_profile("lastbee")
