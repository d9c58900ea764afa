"""What a trap-out looks like at a visit: the nest behind the cone, the wall, the box.

A `Scene` is a `Nest` (so that warmth and sound are read off it as at an inspection) with
what can be seen outside it beside it. One value a colony, at the hour of the visit.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import Column
from lastbee.colony.layout import State
from lastbee.colony.nest import MOST_DESERTING, SUBSTEPS
from lastbee.colony.trap import BOX_HONEY_A_BEE_G
from lastbee.colony.turns import Gift
from lastbee.evidence.nest import Nest, nest_from

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.colony.founding import Colonies

# A box with fewer bees than this rears next to nothing: assumed.
LAYING_BOX_BEES = 200.0


@dataclass(frozen=True, slots=True)
class Scene(Nest):
    """A trap-out at one visit; every array has shape (n,).

    `trap_days` are the days since the cone went on. `box_start` is the bees that the box was
    set with; `box_lays` 1 where eggs are laid in it, `box_leaves_per_day` the share of its
    bees that leave for good each day, `is_robbed` 1 while others rob it. `leak` is the share
    of foragers that come home by another way, `tip` of those that have learnt to go in by
    the tip of the cone; `passable` how much of the cone's opening is
    free, 0 to 1; `flies_per_day` how often a forager sets out for good on the reference day,
    `deserts_per_day` the bees that leave a nest grown too small; `walks_back_per_day` the
    share of the bees on the wall that find the tip of a free cone, `wall_loss_per_day` the
    share of them that die; `strangers` foragers of another colony at the same wall;
    `count_bias` and `box_bias` what this technician, at this wall, sees of bees in flight
    and in the box, as a share of the truth, `cluster_bias` the wall that a cluster covers
    here, as a share of the usual.
    """

    trap_days: float
    wall: NDArray[np.float64]
    box: NDArray[np.float64]
    box_start: NDArray[np.float64]
    box_brood: NDArray[np.float64]
    box_honey_g: NDArray[np.float64]
    box_lays: NDArray[np.float64]
    box_leaves_per_day: NDArray[np.float64]
    leak: NDArray[np.float64]
    tip: NDArray[np.float64]
    passable: NDArray[np.float64]
    flies_per_day: NDArray[np.float64]
    deserts_per_day: NDArray[np.float64]
    walks_back_per_day: NDArray[np.float64]
    wall_loss_per_day: NDArray[np.float64]
    is_robbed: NDArray[np.float64]
    strangers: NDArray[np.float64]
    count_bias: NDArray[np.float64]
    box_bias: NDArray[np.float64]
    cluster_bias: NDArray[np.float64]


def scene_from(
    snapshot: NDArray[np.float64],
    colonies: Colonies,
    params_now: NDArray[np.float64],
    day: int,
    cone_day: int,
    *,
    strangers: NDArray[np.float64],
    is_robbed: NDArray[np.float64],
    count_bias: NDArray[np.float64],
    box_bias: NDArray[np.float64],
    cluster_bias: NDArray[np.float64],
    tip: NDArray[np.float64],
) -> Scene:
    """Read what a visit finds from a kernel snapshot.

    Parameters
    ----------
    snapshot
        State on the morning of the visit, shape (n, len(State)).
    colonies
        The colonies.
    params_now
        Parameters in force at the hour of the visit, shape (n, len(Column)).
    day, cone_day
        Day indices of the visit and of the cone's first day.
    strangers, is_robbed, count_bias, box_bias, cluster_bias, tip
        As in `Scene`, shape (n,).

    Returns
    -------
    The trap-outs as they look at the visit.
    """
    nest = nest_from(snapshot, colonies, day)
    since_cone = float(day - cone_day)
    box_start = params_now[:, Column.BOX_BEES]
    box, box_honey_g = snapshot[:, State.BOX], snapshot[:, State.BOX_HONEY]
    if day == cone_day:
        # The morning's state is from before the box was set.
        box, box_honey_g = box_start, BOX_HONEY_A_BEE_G * box_start
    may_lay = since_cone >= params_now[:, Column.BOX_LAYING_DELAY]
    return Scene(
        **{field.name: getattr(nest, field.name) for field in fields(nest)},
        trap_days=since_cone,
        wall=snapshot[:, State.WALL],
        box=box,
        box_start=box_start,
        box_brood=snapshot[:, State.BOX_BROOD],
        box_honey_g=box_honey_g,
        box_lays=(may_lay & (box > LAYING_BOX_BEES)).astype(np.float64),
        box_leaves_per_day=params_now[:, Column.BOX_LEAVE],
        leak=params_now[:, Column.LEAK] - tip,
        tip=tip,
        passable=params_now[:, Column.PASSABLE],
        flies_per_day=params_now[:, Column.FLY],
        deserts_per_day=_deserters(snapshot[:, State.HOUSE], nest.adults, params_now),
        walks_back_per_day=params_now[:, Column.REENTRY],
        wall_loss_per_day=params_now[:, Column.WALL_LOSS],
        is_robbed=is_robbed,
        strangers=strangers,
        count_bias=count_bias,
        box_bias=box_bias,
        cluster_bias=cluster_bias,
    )


def with_gifts(snapshot: NDArray[np.float64], given: NDArray[np.float64]) -> NDArray[np.float64]:
    """A morning's state with what was given later that day, shape (n, len(State)).

    `given` has shape (n, len(Gift)); what a box loses by a trouble is not given.
    """
    now = snapshot.copy()
    brushed = now[:, State.WALL] * np.minimum(given[:, Gift.WALL_BOXED], 1.0)
    now[:, State.WALL] -= brushed
    now[:, State.BOX] += brushed + given[:, Gift.BOX_BEES]
    now[:, State.BOX_BROOD] += given[:, Gift.BOX_BROOD]
    now[:, State.BOX_HONEY] += given[:, Gift.BOX_HONEY]
    return now


def _deserters(
    house: NDArray[np.float64], adults: NDArray[np.float64], params: NDArray[np.float64]
) -> NDArray[np.float64]:
    """House bees that give up a tiny nest on the reference day, as the engine has it."""
    half = params[:, Column.DESERT_HALF]
    share = params[:, Column.DESERT] * half / (half + adults)
    return np.asarray(np.minimum(share, SUBSTEPS * MOST_DESERTING) * house)
