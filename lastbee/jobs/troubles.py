"""Each explanation of how a trap-out runs, in the words of the trade: sign, remedy, caution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.colony.course import Trouble
from lastbee.methods import cautions

if TYPE_CHECKING:
    from lastbee.methods.circumstances import Circumstances


@dataclass(frozen=True, slots=True)
class Told:
    """How a trouble is told: its name, what it does, what puts it right, what that takes.

    `is_high` and `is_scraping` say which cautions the remedy needs.
    """

    key: str
    label: str
    does: str
    remedy: str
    bring: str
    is_high: bool = True
    is_scraping: bool = False


# Remedies are common practice, no source, unless one is named.
TOLD: dict[Trouble, Told] = {
    Trouble.NONE: Told(
        "sound",
        "Running as it should",
        "bees leave and do not come back",
        "Leave it alone until the next visit.",
        "watch",
        is_high=False,
    ),
    Trouble.LEAK: Told(
        "leak",
        "Leak: another way in",
        "foragers come home by another gap, so that the nest goes on living",
        "Watch the wall from the side on a flying day, round corners and over edges, find the gap "
        "that bees go in by and close it with mesh and sealant; look again after a day or two.",
        "mesh of 1/8 in (3 mm), sealant, binoculars, torch",
        is_scraping=True,
    ),
    Trouble.CLOGGED: Told(
        "clogged",
        "Cone clogged",
        "bees are locked in: they starve, overheat, or break out indoors",
        "Clear dead bees and drones from the cone with a wire, or set a new one of stiff 1/8 in "
        "(3 mm) cloth with an outlet of 3/8 in (9.5 mm).",
        "wire, spare cone, screws",
    ),
    Trouble.WALKED_BACK: Told(
        "walked_back",
        "Bees walk back in through the cone",
        "bees have learned the tip and go home by it",
        "Refit the cone: longer, tip out and up and well clear of wall and box, outlet narrowed to "
        "3/8 in (9.5 mm), its edge frayed so that nobody can land on it.",
        "spare cone, pliers, wire",
    ),
    Trouble.CLUSTER: Told(
        "cluster",
        "Bees hang on the wall instead of boxing",
        "shut-out bees find nothing in the box to stay for, and starve or drift",
        "At dusk brush the cluster into the box; move its entrance beside the cone; give it open "
        "brood with eggs, or a queen, where it has neither.",
        "brush, spray of water, a frame of eggs and open brood, queen in a cage",
    ),
    Trouble.ROBBED: Told(
        "robbed",
        "Box is being robbed",
        "other bees or wasps empty the box and kill its bees",
        "Narrow the entrance of the box to one bee, take away every feed and every drop spilled, "
        "and rob nothing out until it is quiet.",
        "entrance reducer, robbing screen, bucket with lid",
        is_high=False,
    ),
    Trouble.BOX_LEFT: Told(
        "box_left",
        "Box has been left",
        "bees have gone from the box: too hot, empty, or queenless",
        "Shade and air the box, give it open brood with eggs or a queen, and look where its bees "
        "have gone: back to the wall, or away.",
        "shade board, frame of eggs and open brood, queen in a cage, water",
        is_high=False,
    ),
    Trouble.QUEEN_STAYS: Told(
        "queen_stays",
        "Queen and a core of bees stay",
        "a few hundred bees stay with a laying queen, and it does not end by itself",
        "Do not wait it out: open the cavity where that is allowed, or decide anew with the "
        "client.",
        "this page",
    ),
    Trouble.SECOND_COLONY: Told(
        "second_colony",
        "A second colony at the same wall",
        "another colony, or a new swarm, flies beside the trap-out",
        "Find its own exit and inspect it as a job of its own; close nothing that it flies by.",
        "binoculars, torch, inspection sheet",
        is_high=False,
    ),
    Trouble.STALLED: Told(
        "stalled",
        "Stalled: living on its stores",
        "few take to the field while there is honey, so that it empties far too slowly",
        "Wait for better flying weather once, count again; if it is no better, open the cavity "
        "where that is allowed.",
        "watch, thermal camera or hand",
    ),
}
TROUBLE_OF_KEY = {told.key: trouble for trouble, told in TOLD.items()}


def caution_of(trouble: Trouble, c: Circumstances) -> str:
    """Cautions that belong to the remedy."""
    told = TOLD[trouble]
    if trouble == Trouble.NONE:
        return ""
    return cautions.joined(
        cautions.stings(c, brief=True),
        cautions.height(c, brief=True) if told.is_high else "",
        cautions.scraping(c) if told.is_scraping else "",
        cautions.vents() if told.is_scraping else "",
        "Bees pour out of a cone that is cleared: work suited, from a firm stand, and come down "
        "before you look again."
        if trouble == Trouble.CLOGGED
        else "",
        cautions.robbing() if trouble == Trouble.ROBBED else "",
    )
