"""Nests with chosen contents, for tests of what reads them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lastbee.evidence.nest import Nest

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

# A middling swarm of some five weeks; nothing here is claimed about colonies.
_USUAL: dict[str, float] = {
    "age_days": 35.0, "hypothesis": 0.0, "adults": 9000.0, "foragers": 2500.0, "drones": 60.0,
    "eggs": 1800.0, "larvae": 3200.0, "capped": 6000.0, "drone_brood": 150.0, "honey_g": 4000.0,
    "pollen_g": 400.0, "comb_dm2": 40.0, "orienting_per_day": 300.0, "trips_per_day": 6.0,
    "section_dm2": 3.3,
}  # fmt: skip


def nests(depth_dm: float = 0.9, **given: ArrayLike) -> Nest:
    """Colonies with the given values; arrays must agree in length, the rest is usual."""
    values = {name: np.asarray(given.pop(name, usual)) for name, usual in _USUAL.items()}
    assert not given, f"no such quantity: {sorted(given)}"
    size = np.broadcast_shapes(*(v.shape for v in values.values())) or (1,)
    full = {name: np.broadcast_to(v, size).astype(np.float64) for name, v in values.items()}
    full["hypothesis"] = full["hypothesis"].astype(np.int64)
    return Nest(**full, depth_dm=depth_dm)
