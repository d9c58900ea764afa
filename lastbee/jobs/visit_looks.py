"""The looks that a visit can take, and which of them would tell most."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import REFERENCE_FLIGHT_H
from lastbee.colony.course import Trouble
from lastbee.evidence import at_cone, cues, in_box, outside
from lastbee.forecast.diagnosis import active_troubles, information_bits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.forecast.runs import Runs

# Looks are imagined at a good hour of a flying day, nine tenths of full flight.
GOOD_ACTIVITY = 0.9
COUNT_MINUTES, WATCH_MINUTES = 5.0, 10.0
# Below this many bits a look is not worth naming: assumed.
LEAST_BITS = 0.01
_UNREAD = float("nan")


@dataclass(frozen=True, slots=True)
class VisitLook:
    """Something to look at, said as a clause, and the items of evidence that it reads."""

    key: str
    label: str
    items: tuple[Item[Scene], ...]


def visit_looks() -> tuple[VisitLook, ...]:
    """Every look that needs no opening of the wall."""
    watch = (GOOD_ACTIVITY, REFERENCE_FLIGHT_H)
    return (
        VisitLook(
            "elsewhere",
            "watch the whole wall for ten minutes for bees going in anywhere but the box",
            (outside.going_in_elsewhere(_UNREAD, WATCH_MINUTES, *watch),),
        ),
        VisitLook(
            "count",
            "count bees leaving by the cone for five minutes",
            (at_cone.bees_out(_UNREAD, COUNT_MINUTES, *watch),),
        ),
        VisitLook(
            "tip",
            "watch the tip of the cone for ten minutes for bees going back in",
            (at_cone.bees_back_in(_UNREAD, WATCH_MINUTES, *watch),),
        ),
        VisitLook(
            "cone",
            "look closely into the cone, and for dead bees in and below it",
            (at_cone.cone_state(_UNREAD), at_cone.dead_bees(_UNREAD)),
        ),
        VisitLook(
            "cluster",
            "look for a cluster on the wall",
            (outside.cluster_on_wall(_UNREAD),),
        ),
        VisitLook(
            "box",
            "open the box: frames of bees, eggs",
            (in_box.frames_of_bees(_UNREAD, GOOD_ACTIVITY), in_box.eggs_in_box(_UNREAD)),
        ),
        VisitLook(
            "box door",
            "watch the entrance of the box for fighting, wax chips and strange bees",
            (in_box.robbing_at_box(_UNREAD, GOOD_ACTIVITY),),
        ),
        VisitLook(
            "wall",
            "listen at the wall and feel it with the hand",
            (cues.hum_heard(_UNREAD), cues.warm_to_hand(_UNREAD)),
        ),
    )


# The look that the trade would take for each trouble, where readings tell nothing apart.
USUAL: dict[Trouble, str] = {
    Trouble.NONE: "count",
    Trouble.LEAK: "elsewhere",
    Trouble.CLOGGED: "cone",
    Trouble.WALKED_BACK: "tip",
    Trouble.CLUSTER: "cluster",
    Trouble.ROBBED: "box door",
    Trouble.BOX_LEFT: "box",
    Trouble.QUEEN_STAYS: "wall",
    Trouble.SECOND_COLONY: "elsewhere",
    Trouble.STALLED: "wall",
}


@dataclass(frozen=True, slots=True)
class Tells:
    """What each look tells of each trouble, in bits, shape (looks, troubles)."""

    looks: tuple[VisitLook, ...]
    bits: NDArray[np.float64]

    def best_for(self, trouble: Trouble) -> VisitLook:
        """The look that would best settle whether a trouble is going on."""
        bits = self.bits[:, trouble]
        if bits.max() >= LEAST_BITS:
            return self.looks[int(bits.argmax())]
        return next(look for look in self.looks if look.key == USUAL[trouble])

    def in_order(self) -> tuple[VisitLook, ...]:
        """Looks that tell something about whether anything is wrong, the best first."""
        bits = self.bits[:, Trouble.NONE]
        order = np.argsort(-bits, kind="stable")
        return tuple(self.looks[i] for i in order if bits[i] >= LEAST_BITS)


def what_looks_tell(scene: Scene, runs: Runs, day: int, rng: np.random.Generator) -> Tells:
    """Weigh every look on a day, by what it would tell of each trouble."""
    now = active_troubles(runs, day)
    is_so = now == np.arange(len(Trouble))[:, None]
    looks = visit_looks()
    bits = np.array([information_bits(look.items, scene, is_so, rng) for look in looks])
    return Tells(looks, bits)
