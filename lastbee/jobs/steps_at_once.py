"""Steps of the ways that act within a day or not at all: cut-out, swarm, driving out, leaving."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from lastbee.jobs.plan import Step
from lastbee.methods import cautions

if TYPE_CHECKING:
    from lastbee.methods.circumstances import Circumstances

# Stragglers come back to the old place for two or three days (extension guidance).
STRAGGLER_DAYS = 3
# Bees left alone are looked at again after a month: common practice.
LOOK_AGAIN_DAYS = 30


def cut_out_steps(c: Circumstances, inspected: date, on: date, *, inside: bool) -> tuple[Step, ...]:
    """Permission, the day itself, the box at dusk, and the return to close for good."""
    side = "inside" if inside else "outside"
    sting, up = cautions.stings(c, brief=True), cautions.height(c, brief=True)
    both_hands = cautions.height(c, both_hands=True)
    return (
        Step(
            inspected, on,
            f"Get written permission to open the {side}, agree who puts it back, and ask whether "
            "anything was sprayed",
            "technician and client", "drawing with the opening marked",
            cautions.joined(cautions.opening(c), cautions.treated(c)),
        ),
        Step(
            on, None,
            f"Open from the {side} beyond the edge of the comb; take comb top to bottom, brood "
            "into frames, honey into tubs; box the bees and look for the queen",
            "two technicians", "suits, smoker with water, frames, tubs, vacuum for bees, sheets",
            cautions.joined(
                cautions.stings(c), both_hands, cautions.opening(c, brief=True),
                cautions.dust() if inside else "", cautions.overhead(c), cautions.heat(),
                cautions.treated(c),
            ),
        ),
        Step(
            on, None, "Leave the box at the old entrance until dusk, then move it away",
            "two technicians", "screen, straps", cautions.joined(sting, up, cautions.lifting()),
        ),
        Step(
            on + timedelta(days=1), on + timedelta(days=STRAGGLER_DAYS),
            "Return for stragglers; scrape, wash, fill the cavity and close it for good",
            "technician with a builder", "filling, mesh, sealant, primer",
            cautions.joined(
                sting, cautions.height(c, brief=True, both_hands=True), cautions.scraping(c),
                cautions.dust(), cautions.vents(),
            ),
        ),
    )  # fmt: skip


def leave_steps(c: Circumstances, inspected: date) -> tuple[Step, ...]:
    """Agree on it, and look again."""
    return (
        Step(
            inspected, None,
            "Agree in writing to leave them, and what would end that: a sting, bees indoors, "
            "work on the wall",
            "technician and client", "this plan",
            cautions.joined(cautions.stings(c), "The exit is never plugged."),
        ),
        Step(
            inspected + timedelta(days=LOOK_AGAIN_DAYS), None,
            "Look again, and before the next swarm season choose a way",
            "technician", "the same sheet",
            cautions.joined(cautions.stings(c, brief=True), cautions.height(c, brief=True)),
        ),
    )  # fmt: skip


_WHAT = {
    "swarm capture": "Take the cluster into a box the same day, before it builds; leave the box "
    "there until dusk, then move it away; close any gap that it was looking into",
    "repellent": "Drive the cluster out as the label says, box ready outside; close the gap",
    "smoke": "Move the cluster out with cool smoke, box ready outside; close the gap",
    "vacuum": "Take the bees with a gentle vacuum into a cage; close the gap",
    "eradication": "Hand over to a licensed applicator; then open, clear and close the nest",
}


def one_day_steps(way: str, c: Circumstances, on: date) -> tuple[Step, ...]:
    """The day itself, and a return."""
    extra = {
        "smoke": "Fire: no smoker near insulation, wax or dry boards, water at hand.",
        "repellent": cautions.chemicals(),
        "eradication": cautions.joined(
            cautions.chemicals(), cautions.opening(c), cautions.overhead(c)
        ),
    }.get(way, "")
    return (
        Step(
            on, None, _WHAT[way], "technician", "box, sheet, brush, mesh, sealant",
            cautions.joined(cautions.stings(c), cautions.height(c), extra, cautions.vents()),
        ),
        Step(
            on + timedelta(days=1), on + timedelta(days=STRAGGLER_DAYS),
            "Return: no bees left, gap closed, client told", "technician", "mesh, sealant",
            cautions.joined(cautions.stings(c, brief=True), cautions.height(c, brief=True)),
        ),
    )  # fmt: skip
