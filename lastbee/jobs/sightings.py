"""Trouble seen with one's own eyes at a visit and not dealt with there.

Whatever the figures say, such a thing is looked into before anybody leaves: one trouble at a
time is all that the model knows, and a second one may stand behind the first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.colony.course import MENDS, DeedKind, Trouble

if TYPE_CHECKING:
    from lastbee.jobs.visit import Visit

# Fewer bees than this may be strays: common practice, no source.
MORE_THAN_STRAYS = 3
# A silent cone says something from this share of full flight on: assumed.
FLYING = 0.4


def seen_and_left(visit: Visit) -> tuple[Trouble, ...]:
    """Troubles that a visit saw plainly and nothing was done about."""
    done = {DeedKind(deed.kind) for deed in visit.did}
    return tuple(t for t in _seen(visit) if not done & MENDS.get(t, {}).keys())


def _seen(visit: Visit) -> list[Trouble]:
    found = []
    elsewhere, cone, box = visit.elsewhere, visit.cone, visit.box
    if visit.cone_state in ("partly blocked", "blocked"):
        found.append(Trouble.CLOGGED)
    if elsewhere is not None and (
        (elsewhere.bees_in or 0) >= MORE_THAN_STRAYS or elsewhere.pollen_carried
    ):
        found.append(Trouble.LEAK)
    if cone is not None and (cone.bees_back_in or 0) >= MORE_THAN_STRAYS:
        found.append(Trouble.WALKED_BACK)
    if box is not None and box.is_robbed:
        found.append(Trouble.ROBBED)
    if box is not None and box.frames_of_bees == 0.0:
        found.append(Trouble.BOX_LEFT)
    return found


def found_nothing(visit: Visit, activity: float) -> bool:
    """Whether a visit looked for bees as one must before closing, and found none.

    Nobody out of a free cone in flying weather, or nobody seen inside; and no sign of life.
    """
    cone, wall = visit.cone, visit.wall
    silent = cone is not None and cone.bees_out == 0 and activity >= FLYING
    inside = wall is not None and wall.bees_seen_inside is False
    alive = wall is not None and (wall.hum_heard or wall.warm_to_hand or wall.bees_seen_inside)
    return (silent or inside) and not alive and not _seen(visit)
