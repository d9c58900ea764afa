"""Scenes of a trap-out with chosen contents, for tests of what reads them."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np
from nest_factory import nests

from lastbee.evidence.nest import Nest
from lastbee.evidence.scene import Scene

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

# A middling trap-out of some ten days without trouble; nothing is claimed about such.
_USUAL: dict[str, float] = {
    "wall": 300.0, "box": 6000.0, "box_start": 4200.0, "box_brood": 9000.0, "box_honey_g": 2500.0,
    "box_lays": 1.0, "box_leaves_per_day": 0.0, "leak": 0.02, "passable": 1.0,
    "flies_per_day": 0.75, "deserts_per_day": 60.0, "walks_back_per_day": 0.004,
    "wall_loss_per_day": 0.08, "is_robbed": 0.0, "strangers": 0.0, "count_bias": 1.0,
    "box_bias": 1.0, "cluster_bias": 1.0, "tip": 0.0,
}  # fmt: skip
_NEST = {field.name for field in fields(Nest)} - {"depth_dm"}


def scenes(trap_days: float = 10.0, depth_dm: float = 0.9, **given: ArrayLike) -> Scene:
    """Scenes with the given values; arrays must agree in length, the rest is usual."""
    size = np.broadcast_shapes(*(np.shape(v) for v in given.values())) or (1,)
    of_nest = {name: given.pop(name) for name in list(given) if name in _NEST}
    of_nest.setdefault("age_days", np.full(size, 45.0))
    nest = nests(depth_dm, **of_nest)
    values = {name: np.asarray(given.pop(name, usual)) for name, usual in _USUAL.items()}
    assert not given, f"no such quantity: {sorted(given)}"
    outside = {name: np.broadcast_to(v, size).astype(np.float64) for name, v in values.items()}
    inside = {field.name: getattr(nest, field.name) for field in fields(nest)}
    return Scene(**inside, **outside, trap_days=trap_days)
