"""What to do next: when, who, with what, and the caution at that very step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from lastbee.jobs.plan import Step
from lastbee.methods import cautions

if TYPE_CHECKING:
    from lastbee.jobs.plan import Look, Milestone
    from lastbee.methods.circumstances import Circumstances

# Look at every gap within 3 m (10 ft) of the exit; closed hives move at least 5 km (3
# miles) or the foragers return: both common practice.
REACH = "3 m (10 ft)"
MOVE_AWAY = "5 km (3 miles)"


@dataclass(frozen=True, slots=True)
class Course:
    """The dates that steps hang on; `empty` is the milestone of emptiness."""

    inspected_on: date
    cone_on: date
    empty: Milestone
    rob_out: Milestone | None
    close_on: date | None
    box: str


def steps_for(way: str | None, c: Circumstances, course: Course) -> tuple[Step, ...]:
    """Steps of the recommended way, in order; a second look where none is recommended."""
    if way is None:
        return (_talk(course),)
    if way.startswith("trap-out"):
        return _trap_out(c, course, then_open=way.endswith("open"))
    if way.startswith("cut-out"):
        return _cut_out(c, course, inside=way.endswith("inside"))
    if way == "leave":
        return _leave(c, course)
    return _one_day(way, c, course)


def look_first(look: Look, course: Course) -> Step:
    """The look to take before anything else, where too little is known."""
    what = f"Before deciding: {look.label[:1].lower()}{look.label[1:]}, and plan again"
    return Step(
        course.inspected_on, course.cone_on, what, "technician", "watch, torch, this page",
        look.caution,
    )  # fmt: skip


def check_first(labels: tuple[str, ...], c: Circumstances, course: Course) -> Step:
    """The sightings to check again before anything else, where they contradict the rest."""
    what = f"Before deciding, check again what disagrees with the rest: {'; '.join(labels)}"
    return Step(
        course.inspected_on, course.cone_on, f"{what}; correct the file and plan again",
        "technician", "this page, the client's own words",
        cautions.joined(cautions.stings(c, brief=True), cautions.height(c, brief=True)),
    )  # fmt: skip


def _talk(course: Course) -> Step:
    return Step(
        course.inspected_on, None,
        "Tell the client plainly why nothing can be started, and which fact would change that",
        "technician", "this page",
        "Nobody plugs the exit or sprays: bees driven inside are worse than bees outside.",
    )  # fmt: skip


def _trap_out(c: Circumstances, course: Course, *, then_open: bool) -> tuple[Step, ...]:
    on = course.cone_on
    sting, up = cautions.stings(c, brief=True), cautions.height(c, brief=True)
    found = [
        Step(
            on, None,
            f"Before the cone, close every gap but the exit within {REACH} in every direction, "
            "round corners and over edges, and the gaps indoors",
            "technician and helper", "mesh of 3 mm (1/8 in), sealant, flashing, tape, torch",
            cautions.joined(
                cautions.stings(c), cautions.height(c), cautions.screws(c),
                "Flues and combustion air are never closed; vents are screened, not sealed.",
            ),
        ),
        Step(
            on, None,
            "On a warm flying day set the cone: base tight to the wall, tip clear of it and "
            f"pointing up, outlet about 9.5 mm (3/8 in); set the box ({course.box}) with its "
            "entrance beside the base, in shade at the hottest hour",
            "technician and helper", "cone, plate, screws, bracket or stand, box, straps",
            cautions.joined(sting, up, "A full box is not carried on a ladder: rope or lift."),
        ),
        Step(
            on + timedelta(days=1), on + timedelta(days=2),
            "Look for bees going in anywhere but the box, and close what they have found",
            "technician", "mesh, sealant, binoculars", cautions.joined(sting, up),
        ),
    ]  # fmt: skip
    if course.box == "open brood":
        found.append(
            Step(
                on + timedelta(days=2), on + timedelta(days=4),
                "Give the box its open brood with eggs, only once the cone is seen to hold",
                "technician", "a frame of eggs and larvae from a healthy colony", sting,
            )
        )  # fmt: skip
    found.append(
        Step(
            on + timedelta(days=7), course.empty.safe or course.empty.likely,
            "Visit about once a week: count at the cone for five minutes in warm sun, clear dead "
            "bees from it, look for leaks, for a cluster on the wall, for robbing at the box",
            "technician", "watch, wire, spare cone, water", cautions.joined(sting, up),
        )
    )  # fmt: skip
    empty_on = course.empty.safe or course.empty.likely
    if empty_on is None:
        found.append(
            Step(
                on + timedelta(days=56), None,
                "If bees still come out, stop and decide again: open the cavity or leave them",
                "technician", "this plan and the counts", sting,
            )
        )  # fmt: skip
        return tuple(found)
    found.append(
        Step(
            empty_on, None,
            "Confirm that it is empty: no bee out in 15 minutes of good flying weather, no hum, "
            "no warmth",
            "technician", "watch, torch, thermal camera or hand", cautions.joined(sting, up),
        )
    )  # fmt: skip
    found += _finish(c, course, empty_on, then_open=then_open)
    return tuple(found)


def _finish(c: Circumstances, course: Course, empty_on: date, *, then_open: bool) -> list[Step]:
    """Rob out or open; move the box; close for good."""
    sting, up = cautions.stings(c, brief=True), cautions.height(c, brief=True)
    found = []
    closing = course.close_on or empty_on + timedelta(days=1)
    if then_open:
        closing = empty_on + timedelta(days=3)
        found.append(
            Step(
                empty_on + timedelta(days=1), closing,
                "Open the cavity, take out comb and honey, scrape, wash, dry and fill it",
                "technician with a builder", "tubs with lids, scrapers, filling, tools to close",
                cautions.joined(
                    sting, up, cautions.opening(c), cautions.heat(), cautions.treated(c)
                ),
            )
        )  # fmt: skip
    elif course.rob_out is not None and course.rob_out.early is not None:
        found.append(
            Step(
                course.rob_out.early, course.rob_out.safe,
                "In a dearth, take the cone off and open the exit wide, so that the box robs the "
                "old nest out; stop as soon as strange bees or wasps join",
                "technician", "tools, entrance reducer for the box",
                cautions.joined(cautions.robbing(), sting, up),
            )
        )  # fmt: skip
    found += [
        Step(
            closing, None,
            f"After dusk, all bees in: close, strap and move the box at least {MOVE_AWAY} away, to "
            "its own corner until brood and mites are checked",
            "technician and helper", "screen, straps, torch, vehicle",
            cautions.joined(sting, "Two lift; never down a ladder by hand."),
        ),
        Step(
            closing, closing + timedelta(days=1),
            "Close the exit for good and photograph every closed gap",
            "technician", "mesh, sealant, flashing, camera",
            cautions.joined(up, cautions.screws(c)),
        ),
    ]  # fmt: skip
    return found


def _cut_out(c: Circumstances, course: Course, *, inside: bool) -> tuple[Step, ...]:
    on = course.cone_on
    side = "inside" if inside else "outside"
    danger = cautions.joined(
        cautions.stings(c, brief=True), "" if inside else cautions.height(c, brief=True)
    )
    return (
        Step(
            course.inspected_on, on,
            f"Get written leave to open the {side}, and agree who puts it back",
            "technician and client", "drawing with the opening marked", cautions.opening(c),
        ),
        Step(
            on, None,
            f"Open from the {side} beyond the edge of the comb; take comb top to bottom, brood "
            "into frames, honey into tubs; box the bees and look for the queen",
            "two technicians", "suits, smoker with water, frames, tubs, vacuum for bees, sheets",
            cautions.joined(
                cautions.stings(c), "" if inside else cautions.height(c),
                cautions.opening(c, brief=True), cautions.heat(), cautions.treated(c),
            ),
        ),
        Step(
            on, None, "Leave the box at the old entrance until dusk, then move it away",
            "technician", "screen, straps", danger,
        ),
        Step(
            on + timedelta(days=1), on + timedelta(days=3),
            "Return for stragglers; scrape, wash, fill the cavity and close it for good",
            "technician with a builder", "filling, mesh, sealant, primer", danger,
        ),
    )  # fmt: skip


def _leave(c: Circumstances, course: Course) -> tuple[Step, ...]:
    return (
        Step(
            course.inspected_on, None,
            "Agree in writing to leave them, and what would end that: a sting, bees indoors, "
            "work on the wall",
            "technician and client", "this plan",
            cautions.joined(cautions.stings(c), "The exit is never plugged."),
        ),
        Step(
            course.inspected_on + timedelta(days=30), None,
            "Look again, and before the next swarm season choose a way",
            "technician", "the same sheet", cautions.height(c),
        ),
    )  # fmt: skip


def _one_day(way: str, c: Circumstances, course: Course) -> tuple[Step, ...]:
    what = {
        "swarm capture": "Take the cluster into a box the same day, before it builds; close the "
        "gap behind it",
        "repellent": "Drive the cluster out as the label says, box ready outside; close the gap",
        "smoke": "Move the cluster out with cool smoke, box ready outside; close the gap",
        "vacuum": "Take the bees with a gentle vacuum into a cage; close the gap",
        "eradication": "Hand over to a licensed applicator; then open, clear and close the nest",
    }[way]
    extra = {
        "repellent": cautions.chemicals(),
        "eradication": cautions.joined(cautions.chemicals(), cautions.opening(c)),
    }.get(way, "")
    when = course.inspected_on if way == "swarm capture" else course.cone_on
    danger = cautions.joined(cautions.stings(c), cautions.height(c), extra)
    return (
        Step(when, None, what, "technician", "box, sheet, brush, mesh, sealant", danger),
        Step(
            when + timedelta(days=1), when + timedelta(days=3),
            "Return: no bees left, gap closed, client told", "technician", "mesh, sealant", danger,
        ),
    )  # fmt: skip
